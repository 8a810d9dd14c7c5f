"""A real Chromium on a live server; a script error or policy breach fails the test."""

import os
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Page,
    expect,
    sync_playwright,
)

from shared.people.models import User
from tests.conftest import CHROMIUM, requires

TABLET = {"width": 800, "height": 1280}
DESKTOP = {"width": 1440, "height": 900}
PHONE = {"width": 390, "height": 844}
FLAGS = [
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
Open = Callable[..., Page]
AXE = Axe().axe_script

# An unsent form is tried again after 5 s, then after 10 s: playwright's own 5 s are a coin toss.
expect.set_options(timeout=25_000)


# Playwright's sync API keeps an event loop in the thread, which makes the ORM refuse to work and
# cannot be stopped and started between tests of one package; hence scope and environment.
@pytest.fixture(scope="package")
def browser() -> Iterator[Browser]:
    requires("browser")
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield chromium
        chromium.close()
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture
def open_as(browser: Browser, live_server: Any) -> Iterator[Open]:
    """Return `open_as(user, viewport=TABLET)`: a page of a fresh browser, signed in as `user`."""
    contexts: list[BrowserContext] = []
    faults: list[str] = []

    def watch(message: ConsoleMessage) -> None:
        if "Content Security Policy" in message.text:
            faults.append(message.text)

    def open_page(user: User | None = None, viewport: dict[str, int] = TABLET, **kw: Any) -> Page:
        context = browser.new_context(viewport=viewport, base_url=live_server.url, **kw)  # type: ignore[arg-type]
        contexts.append(context)
        context.set_default_timeout(15_000)
        if user is not None:
            client = Client()
            client.force_login(user, backend="shared.people.backends.PasswordBackend")
            cookie = client.cookies["sessionid"].value
            context.add_cookies([{"name": "sessionid", "value": cookie, "url": live_server.url}])
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", watch)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert faults == []


# Of what is visible now and was not when the page was first looked at, the outermost elements.
FRESH = """whole => {
  const shown = [...document.body.querySelectorAll("*")].filter(one => one.checkVisibility());
  const seen = whole ? new Set() : window.seenByAxe;
  window.seenByAxe = new Set(shown);
  const fresh = shown.filter(one => !seen.has(one));
  window.forAxe = fresh.filter(one => !fresh.includes(one.parentElement));
  return forAxe.length;
}"""
RUN = """async ([whole, rules]) => {
  const options = {resultTypes: ["violations"], ...(rules.length ? {runOnly: rules} : {})};
  const found = await axe.run(whole ? document : {include: forAxe}, options);
  return found.violations
    .filter(one => ["serious", "critical"].includes(one.impact))
    .map(one => `${one.id}: ${one.help}: ${one.nodes[0].html.slice(0, 120)}`);
}"""


def serious_faults(page: Page, *rules: str, whole: bool = True) -> list[str]:
    """Return what axe finds on the page that is serious or critical (WCAG 2.2 AA).

    With `rules` only these are tried; with `whole=False` only on what came into view since.
    """
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE)
    if not page.evaluate(FRESH, whole):
        return []
    found: list[str] = page.evaluate(RUN, [whole, rules])
    return found


def faults_at_every_width(page: Page, dark: bool = True) -> list[str]:
    """Return what scrolls sideways on a phone, a tablet or a desk, and what axe finds there.

    Axe looks once, on the phone, and then only at what wider screens show besides: of the rest
    nothing but the place changes. In the dark nothing but the colours does.
    """
    before = page.viewport_size or PHONE
    found = []
    for view in (PHONE, TABLET, DESKTOP):
        page.set_viewport_size(view)
        across = page.evaluate("document.documentElement.scrollWidth")
        if across > view["width"]:
            found.append(f"is {across} px across on {view['width']}")
        found += serious_faults(page, whole=view is PHONE)
    if dark:
        page.emulate_media(color_scheme="dark", reduced_motion="reduce")  # in one step
        found += [f"in the dark {fault}" for fault in serious_faults(page, "color-contrast")]
        page.emulate_media(color_scheme="light", reduced_motion="no-preference")
    page.set_viewport_size(before)
    return found
