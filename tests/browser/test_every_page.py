"""Every page, looked at by whoever it is for: axe, the console, and no sideways scroll."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page

from tests import site
from tests.browser.conftest import PHONE, faults_at_every_width
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
IN_THE_DARK = {  # the pages looked at most, and those of every colour there is
    "grading:today", "grading:own_sheet", "grading:log", "grading:attempt", "grading:record",
    "grading:session", "grading:day_sheet", "grading:grade", "grading:progress",
    "curriculum:plan", "curriculum:sheet", "curriculum:setup_edit", "curriculum:usage",
    "inventory:to_order", "inventory:forecast_steps", "inventory:requisition", "inventory:item",
    "inventory:cutting", "inventory:cutting_new", "inventory:cutting_plan",
    "inventory:cutting_done", "inventory:cutting_what_if",
}  # fmt: skip
AT_ONCE = 15  # pages in a test, so that no worker is left alone with a long one


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


def parts() -> list[tuple[str, list[str]]]:
    """Return all pages in parts, each with its viewer."""
    return [
        (viewer, names[first : first + AT_ONCE])
        for viewer in FOR
        for names in [pages(viewer)]
        for first in range(0, len(names), AT_ONCE)
    ]


def faults_of(page: Page, path: str, dark: bool) -> list[str]:
    answer = page.goto(path)
    wrong = [] if answer and answer.ok else [f"answers {answer and answer.status}"]
    return wrong + faults_at_every_width(page, dark=dark)


@pytest.fixture
def whole(transactional_db: None) -> World:
    return build()


@pytest.mark.parametrize(
    ("viewer", "names"), parts(), ids=lambda one: one if isinstance(one, str) else one[0]
)
def test_every_page_fits_and_axe_finds_nothing_serious(
    open_as: Any, whole: World, viewer: str, names: list[str]
) -> None:
    page = open_as(getattr(whole, viewer), viewport=PHONE)
    errors: list[str] = []
    page.on("console", lambda said: errors.append(said.text) if said.type == "error" else None)
    found = [
        f"{name}: {fault}"
        for name in names
        for fault in faults_of(page, site.address(whole, name), name in IN_THE_DARK)
    ]
    assert (found, errors) == ([], [])


@pytest.mark.parametrize("path", ["/sign-in/", "/nowhere/"])
def test_the_pages_before_sign_in_hold_too(open_as: Any, whole: World, path: str) -> None:
    page = open_as(None, viewport=PHONE)
    page.goto(path)
    assert faults_at_every_width(page) == []


def test_every_page_is_looked_at() -> None:
    looked = {name for _viewer, names in parts() for name in names}
    takes = site.methods()
    showing = {name for name, row in ACCESS.items() if 200 in row[1:] and "GET" in takes[name]}
    assert looked == showing - NO_PAGE
    assert looked >= IN_THE_DARK
