"""The day that must work, in Chromium, from an empty database with one shop manager in it.

Everything after the manager is done on the pages, each person in a browser of their own: library,
people, class, plan, forecast, requisition, delivery, tablet, coupon, verdict, and the forecast that
shifts. The exercises are those of `tests/world/exercises.toml`.
"""

from __future__ import annotations

import io
import re
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.core.management import call_command
from playwright.sync_api import Page, expect

from curriculum.models import Assignment, Enrolment, PlanEntry
from grading.models import Attempt, Reading, Verdict
from inventory.models import Movement, Requisition, StockItem
from shared.people.models import Campus
from tests.browser.conftest import DESKTOP, TABLET, faults_at_every_width
from tests.factories import PASSWORD
from tests.world import LIBRARY

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
ROSTER = "number;name;group\nS-1;Sol Reyes;A\nS-2;Bea Thorn;A\nS-3;Cy Moss;B\n"
CLASS = "Evening class"


def fill(page: Page, **typed: str) -> None:
    """Type into the fields of these names; a select takes the value of its choice."""
    for name, value in typed.items():
        field = page.locator(f"main [name='{name}']").first
        if field.evaluate("one => one.tagName") == "SELECT":
            field.select_option(value)
        else:
            field.fill(value)


def press(page: Page, name: str) -> None:
    """Press a button of the page's own part, twice where it asks to be pressed again."""
    button = page.locator("main").get_by_role("button", name=name).first
    again = button.get_attribute("data-confirm")
    button.click()
    if again:
        page.locator("main").get_by_role("button", name=again).first.click()


def answer(page: Page) -> Any:
    return expect(page.get_by_role("status").first)


def sign_in(open_as: Any, username: str, viewport: dict[str, int] = DESKTOP) -> Page:
    page = open_as(None, viewport=viewport)
    page.goto("/")
    fill(page, username=username, password=PASSWORD)
    press(page, "Sign in")
    expect(page.get_by_role("button", name="Sign out")).to_be_visible()
    return page


def figure(page: Page, name: str) -> float:
    """Return the value of a computed figure on the page."""
    return float(page.locator(f"data[data-figure='{name}']").first.get_attribute("value") or "nan")


# The steps


def the_manager_sets_the_shop_up(page: Page) -> None:
    for name, username, role in (
        ("Ines Vale", "ines", "instructor"),
        ("Colm Pell", "colm", "clerk"),
    ):
        page.goto("/people/add/")
        fill(page, name=name, username=username, password=PASSWORD)
        page.locator(f"input[name=roles][value={role}]").check()
        press(page, "Add")
        answer(page).to_contain_text(f"{name} was added.")
    page.goto("/library/import/")
    fill(page, text=LIBRARY.read_text(encoding="utf-8"))
    press(page, "Look at it")
    press(page, "Load")
    answer(page).to_contain_text("Loaded: 5 new")
    for column in ("1", "2", "3"):
        page.goto("/booths/new/")
        fill(page, name=column, row="1", column=column)
        for process in ("SMAW", "GTAW"):
            page.locator(f"input[name=processes][value={process}]").check()
        press(page, "Save")


def the_manager_makes_the_class(page: Page) -> str:
    """Class, sessions from a weekly pattern, instructor and roster; return the class's path."""
    today = Campus.objects.get().today()
    ends = today + timedelta(weeks=9)
    page.goto("/classes/new/")
    fill(page, name=CLASS, starts=today.isoformat(), ends=ends.isoformat())
    press(page, "Save")
    fill(
        page,
        start=today.isoformat(),
        end=ends.isoformat(),
        starts_at="00:00",
        ends_at="23:59",
        net_minutes="130",
    )
    page.locator(f"input[name=weekdays][value='{today.weekday()}']").check()
    press(page, "Show what it makes")
    press(page, "Make them")
    answer(page).to_contain_text("10 sessions")
    path = re.sub(r"sessions/.*", "", page.evaluate("location.pathname"))
    page.goto(f"{path}edit/")
    page.get_by_label("Ines Vale").check()
    press(page, "Save the instructors")
    page.goto(f"{path}roster/")
    fill(page, text=ROSTER)
    press(page, "Check it")
    press(page, "Load it")
    answer(page).to_contain_text("Roster: 3 added")
    return str(path)


def the_instructor_plans_the_term(page: Page, path: str) -> None:
    page.goto(f"{path}plan/?q=")
    for number in ("11", "12"):
        page.get_by_role("button", name=f"Add {number}", exact=True).click()
        expect(page.locator("#plan table").get_by_role("link", name=number)).to_be_visible()
    press(page, "Even out the load")
    first, second = PlanEntry.objects.order_by("position")
    assert (first.exercise.number, second.exercise.number) == ("11", "12")
    page.goto(f"{path}plan/?entry={second.pk}")
    page.locator("#up").click()
    expect(page.locator("#plan").get_by_role("alert")).to_contain_text("11")
    assert list(PlanEntry.objects.order_by("position")) == [first, second]
    targets = [entry.target_session.date for entry in PlanEntry.objects.order_by("position")]
    assert targets == sorted(targets)
    expect(page.get_by_role("heading", level=1)).to_contain_text("Term plan")


def the_clerk_fills_the_shelf_list(page: Page) -> None:
    items = (
        ({"kind": "electrode", "name": "Electrode E7018 1/8 in", "thing": "E7018",
          "diameter": "1/8 in", "piece": "32.4 g"},
         {"name": "can, 10 lb", "content": "10 lb", "price": "42.00"}),
        ({"kind": "bar", "name": "Flat bar 1/4 × 4 in", "metal": "steel", "thickness": "1/4 in",
          "width": "4 in"},
         {"name": "bar, 20 ft", "content": "20 ft", "price": "58.00"}),
    )  # fmt: skip
    for item, pack in items:
        page.goto("/stock/new/")
        fill(page, **item)
        press(page, "Save")
        page.goto(f"/stock/{StockItem.objects.get(name=item['name']).pk}/pack/")
        fill(page, **pack)
        press(page, "Save")
        expect(page.locator("main")).to_contain_text(pack["name"])


def the_clerk_writes_a_requisition(page: Page) -> Requisition:
    page.goto("/order/")
    rod = StockItem.objects.get(kind="electrode").spec_key
    likely, ample = (figure(page, f"forecast.{rod}.{name}") for name in ("likely", "ample"))
    assert 0 < likely <= ample
    expect(page.locator("main")).to_contain_text("Matches no stock item")
    press(page, "Make requisition")
    made = Requisition.objects.get()
    expect(page.get_by_role("heading", level=1)).to_contain_text(str(made))
    assert {line.item.kind for line in made.lines.all()} == {"electrode", "bar"}
    fill(page, account="7-310 consumables")
    press(page, "Save")
    total = sum((line.cost for line in made.lines.all()), Decimal(0))
    assert figure(page, "requisition.total") == float(total)
    return made


def the_plate_arrives_in_part(page: Page, made: Requisition) -> None:
    page.goto(f"/requisitions/{made.pk}/")
    bar = made.lines.get(item__kind="bar")
    fill(page, **{f"line-{bar.pk}-right": "1"})
    press(page, "Put on the shelf")
    expect(page.get_by_role("heading", level=1)).to_contain_text("one line is still to come")
    bar.item.refresh_from_db()
    assert bar.item.on_hand == bar.pack.size
    assert Movement.objects.get().quantity == bar.pack.size
    made.refresh_from_db()
    assert made.state == Requisition.State.APPROVED


def the_pins(page: Page) -> dict[str, str]:
    """Give everybody a PIN, and read them off the page that shows them this once."""
    page.goto("/people/pins/")
    press(page, "PIN")
    rows = page.locator("main tbody tr")
    return {
        rows.nth(n).locator("th").inner_text(): rows.nth(n).locator("td").inner_text()
        for n in range(rows.count())
    }


def the_instructor_assigns(page: Page, path: str) -> None:
    page.goto(f"{path}signoffs/")
    for name in ("Sol Reyes", "Bea Thorn", "Cy Moss"):
        page.get_by_role("button", name=f"{name}: arc welding, give").click()
        expect(page.get_by_role("button", name=f"{name}: arc welding, held")).to_be_visible()
    page.goto(f"{path}assign/?exercise={PlanEntry.objects.get(exercise__number='11').exercise_id}")
    page.locator("input[name=to][value=class]").check()
    press(page, "Assign")
    answer(page).to_contain_text("3 assignments made.")
    page.goto("/session/")
    press(page, "booths")
    answer(page).to_contain_text("3 students have a booth.")


def the_student_signs_in(tablet: Page, name: str, pin: str) -> None:
    tablet.goto("/")
    tablet.get_by_role("link", name=name).click()
    for digit in pin:
        tablet.locator(f"button[data-pin='{digit}']").click()
    press(tablet, "Sign in")
    tablet.wait_for_url("**/today/**")
    expect(tablet.get_by_role("heading", level=1)).to_have_text(name)


def the_student_logs_a_coupon_on_a_lost_line(tablet: Page) -> Attempt:
    expect(tablet.locator("main")).to_contain_text("125")
    tablet.get_by_role("link", name="Whole sheet").click()
    expect(tablet.locator("main")).to_contain_text("Run a bead along each.")
    tablet.go_back()
    tablet.get_by_role("button", name="Start coupon").click()
    attempt = Attempt.objects.get()
    expect(tablet.locator("body")).to_contain_text(attempt.mark)
    tablet.get_by_role("link", name="Hand in").click()
    fill(tablet, used_current="125", used_rods="3", own_note="arc a bit long")
    tablet.context.set_offline(True)
    tablet.get_by_role("button", name="Hand in").click()
    expect(tablet.locator("#unsent")).to_be_visible()
    attempt.refresh_from_db()
    assert attempt.state == Attempt.State.STARTED
    tablet.context.set_offline(False)
    tablet.wait_for_url(f"**/attempts/{attempt.pk}/")
    attempt.refresh_from_db()
    assert (attempt.state, attempt.used_rods) == (Attempt.State.LOGGED, 3)
    assert Attempt.objects.count() == 1
    return attempt


def the_instructor_judges(page: Page, path: str, attempt: Attempt) -> None:
    page.goto(f"{path}queue/")
    page.get_by_role("link", name=attempt.mark).first.click()
    width, holes, ripples = attempt.setup.version.criteria.all()
    page.locator(f"#c{width.pk}").fill("11/32")
    page.locator(f"#c{holes.pk}").fill("0")
    page.locator(f"label[for='c{ripples.pk}-3']").click()
    expect(page.locator("#forming")).to_contain_text("Pass")
    page.get_by_role("button", name="Confirm pass").click()
    expect(page.locator(".done")).to_contain_text(attempt.mark)
    verdict = Verdict.objects.get()
    assert (verdict.kind, verdict.computed) == ("pass", "pass")
    assert Reading.objects.filter(attempt=attempt, own=False).count() == 3
    page.locator(".done").get_by_role("button", name="12 Lap on sheet, 14ga").click()
    expect(page.locator("body")).to_contain_text("Sol Reyes has 12 14ga now.")


def test_the_day_that_must_work(open_as: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{PASSWORD}\n"))
    call_command(
        "create_manager", "mara", name="Mara Quill", campus="Day campus", password_stdin=True,
        stdout=io.StringIO(),
    )  # fmt: skip

    # 1. The manager sets up shop and class; the instructor plans.
    manager = sign_in(open_as, "mara")
    the_manager_sets_the_shop_up(manager)
    path = the_manager_makes_the_class(manager)
    assert Enrolment.objects.values("code").distinct().count() == 3
    instructor = sign_in(open_as, "ines")
    the_instructor_plans_the_term(instructor, path)

    # 2. and 3. The clerk forecasts and buys; a part of it arrives.
    clerk = sign_in(open_as, "colm")
    the_clerk_fills_the_shelf_list(clerk)
    made = the_clerk_writes_a_requisition(clerk)
    manager.goto(f"/requisitions/{made.pk}/")
    press(manager, "Approve and order")
    made.refresh_from_db()
    assert made.state == Requisition.State.APPROVED
    the_plate_arrives_in_part(clerk, made)

    # 4. Session day: a tablet, a PIN, a sheet, a coupon logged where the line is poor.
    pins = the_pins(instructor)
    the_instructor_assigns(instructor, path)
    tablet = sign_in(open_as, "mara", viewport=TABLET)
    tablet.goto("/tablets/")
    fill(tablet, name="Booths 1 to 3")
    press(tablet, "Enrol this device")
    expect(tablet.get_by_role("heading", name=CLASS)).to_be_visible()
    the_student_signs_in(tablet, "Sol Reyes", pins["Sol Reyes"])
    assert faults_at_every_width(tablet) == []
    rod = StockItem.objects.get(kind="electrode")
    clerk.goto("/order/")
    before = figure(clerk, f"forecast.{rod.spec_key}.likely")
    attempt = the_student_logs_a_coupon_on_a_lost_line(tablet)

    # 5. The instructor measures and confirms; the student sees it, and what is next.
    the_instructor_judges(instructor, path, attempt)
    tablet.goto(f"/attempts/{attempt.pk}/")
    expect(tablet.get_by_role("heading", level=1)).to_contain_text("Pass")
    tablet.goto("/today/")
    expect(tablet.locator("body")).to_contain_text("Lap on sheet")
    assert Assignment.objects.get(student=attempt.student, state="open").setup_key == "14ga"
    tablet.get_by_role("button", name="Not me").click()
    expect(tablet.get_by_role("heading", name=CLASS)).to_be_visible()

    # 6. The forecast of the rest of the term has shifted.
    clerk.goto("/order/")
    assert figure(clerk, f"forecast.{rod.spec_key}.likely") < before
