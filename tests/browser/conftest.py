"""A real Chromium on a live server; a script error or policy breach fails the test."""

import os
import shutil
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
from tests.conftest import requires

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

# An unsent form is tried again after 5 s, then after 10 s: playwright's own 5 s are a coin toss.
expect.set_options(timeout=25_000)


# Playwright's sync API keeps an event loop in the thread, which makes the ORM refuse to work and
# cannot be stopped and started between tests of one package; hence scope and environment.
@pytest.fixture(scope="package")
def browser() -> Iterator[Browser]:
    requires("browser")
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
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


def serious_faults(page: Page) -> list[str]:
    """Return what axe finds on the page that is serious or critical (WCAG 2.2 AA)."""
    found = Axe().run(page).response["violations"]
    return [
        f"{one['id']}: {one['help']}: {one['nodes'][0]['html'][:120]}"
        for one in found
        if one["impact"] in {"serious", "critical"}
    ]
