"""Every page, looked at by whoever it is for: axe, the console, and no sideways scroll."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page

from tests import site
from tests.browser.conftest import DESKTOP, PHONE, TABLET, serious_faults
from tests.test_access import ACCESS, VIEWERS
from tests.world import World, build

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
NO_PAGE = {  # downloads, and what is fetched into a page
    "curriculum:sheet_pdf", "grading:day_sheet_pdf", "grading:record_pdf", "inventory:order_csv",
    "inventory:requisitions_csv", "inventory:requisition_pdf", "inventory:requisition_csv",
    "inventory:items_csv", "inventory:item_forecast", "inventory:class_consumables",
    "inventory:acetylene_draw", "inventory:cutting_pdf", "inventory:cutting_state",
    "inventory:attempt_cost", "inventory:session_blanks",
}  # fmt: skip
FOR = ("student", "instructor", "clerk", "manager")  # whoever of them comes first may see a page
IN_THE_DARK = {"grading:today", "grading:grade", "curriculum:plan", "inventory:to_order"}


def pages(viewer: str) -> list[str]:
    """Return the pages whose first viewer of `FOR` this is."""
    found = []
    for name, row in ACCESS.items():
        takes = site.methods()[name]
        if name in NO_PAGE or (takes and "GET" not in takes):
            continue
        able = [one for one in FOR if row[VIEWERS.index(one)] == 200]
        if able[:1] == [viewer]:
            found.append(name)
    return found


def faults_of(page: Page, path: str) -> list[str]:
    answer = page.goto(path)
    wrong = [] if answer and answer.ok else [f"answers {answer and answer.status}"]
    width = page.viewport_size["width"] if page.viewport_size else 0
    across = page.evaluate("document.documentElement.scrollWidth")
    if across > width:
        wrong.append(f"is {across} px across on {width}")
    return wrong if width == PHONE["width"] else wrong + serious_faults(page)


@pytest.fixture
def whole(transactional_db: None) -> World:
    return build()


def walk(page: Page, world: World, names: list[str]) -> list[str]:
    return [
        f"{name}: {fault}" for name in names for fault in faults_of(page, site.address(world, name))
    ]


@pytest.mark.parametrize("viewer", FOR)
@pytest.mark.parametrize("viewport", [PHONE, TABLET, DESKTOP], ids=["phone", "tablet", "desktop"])
def test_every_page_fits_and_axe_finds_nothing_serious(
    open_as: Any, whole: World, viewer: str, viewport: dict[str, int]
) -> None:
    page = open_as(getattr(whole, viewer), viewport=viewport)
    errors: list[str] = []
    page.on("console", lambda said: errors.append(said.text) if said.type == "error" else None)
    assert walk(page, whole, pages(viewer)) == []
    assert errors == []


@pytest.mark.parametrize("viewer", FOR)
def test_the_pages_looked_at_most_hold_in_the_dark(open_as: Any, whole: World, viewer: str) -> None:
    page = open_as(getattr(whole, viewer), viewport=TABLET, color_scheme="dark")
    assert walk(page, whole, [name for name in pages(viewer) if name in IN_THE_DARK]) == []


@pytest.mark.parametrize("path", ["/sign-in/", "/nowhere/"])
def test_the_pages_before_sign_in_hold_too(open_as: Any, whole: World, path: str) -> None:
    page = open_as(None, viewport=PHONE)
    page.goto(path)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert serious_faults(page) == []


def test_every_page_is_looked_at() -> None:
    looked = {name for viewer in FOR for name in pages(viewer)}
    takes = site.methods()
    showing = {name for name, row in ACCESS.items() if 200 in row[1:] and "GET" in takes[name]}
    assert looked == showing - NO_PAGE
