"""The session: who is here, where, on what, what waits; hold points; the day sheet and its PDF."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from curriculum.models import Attendance, Booth, Place, Session
from curriculum.services.assign import still_needed
from curriculum.services.places import fill_places
from grading.models import HoldTap, PracticeLook
from grading.services.day import load_day
from grading.services.day_sheet import day_sheet_context
from shared.people.models import Role
from tests.curriculum.core.setups import joint
from tests.factories import UserFactory
from tests.grading.scene import Shop, booths, exercise, put, shop, tee
from tests.grading.test_today_page import browser, text


@pytest.fixture
def made(db: Any) -> Shop:
    made = shop(3)
    booths(made, 4)
    return made


@pytest.fixture
def teacher(made: Shop) -> Client:
    return browser(made.instructor)


def url(name: str, made: Shop) -> str:
    return reverse(f"grading:{name}", args=[made.session.pk])


def key() -> dict[str, str]:
    return {"submission_key": str(uuid4())}


def test_the_first_line_says_what_waits(made: Shop, teacher: Client) -> None:
    made.coupon(made.given[0])
    made.coupon(made.given[1], "logged")
    Place.objects.filter(student=made.students[2]).delete()
    page = text(teacher.get(url("session", made)))
    assert "1 hold point waits, 1 coupon to judge, 1 without a booth" in page
    assert "3 of 3 here, 4 booths" in page


def test_when_nothing_waits_it_says_so(made: Shop, teacher: Client) -> None:
    assert "everybody has work and a booth" in text(teacher.get(url("session", made)))


def test_who_can_weld_gets_a_booth_before_who_waits_for_a_verdict(db: Any) -> None:
    made = shop(2)
    made.coupon(made.given[0], "logged")
    Booth.objects.create(campus=made.campus, name="1", row=1, column=1, processes=["SMAW"])
    fill_places(session=made.session, by=made.instructor)
    assert [place.student for place in Place.objects.all()] == [made.students[1]]


def test_the_floor_has_each_booth_at_its_place_with_who_stands_there(
    made: Shop, teacher: Client
) -> None:
    Booth.objects.create(
        campus=made.campus, name="9", row=3, column=2, processes=["OFW"], is_down=True
    )
    floor = teacher.get(url("session", made)).context["floor"]
    names = [
        [(place[0].name, [row.student for row in place[1]]) if place else None for place in line]
        for line in floor
    ]
    one, two, three = made.students
    assert names == [
        [("1", [one]), ("2", [two]), ("3", [three]), ("4", [])],
        [None, ("9", []), None, None],
    ]
    assert "machine down" in text(teacher.get(url("session", made)))


def test_who_has_work_and_no_booth_is_named_with_why(made: Shop, teacher: Client) -> None:
    Place.objects.filter(student=made.students[0]).delete()
    row = teacher.get(url("session", made)).context["day"].without_booth[0]
    assert (row.student, row.why_no_booth) == (made.students[0], "Booth 1 is free.")
    Booth.objects.filter(name__in=["1", "4"]).update(is_down=True)
    page = text(teacher.get(url("session", made)))
    assert "Every booth that does SMAW is full. Down: 1, 4." in page


def test_who_is_away_stands_in_no_booth_and_not_on_the_day_sheet(
    made: Shop, teacher: Client
) -> None:
    Attendance.objects.create(session=made.session, student=made.students[0], present=False)
    day = load_day(made.session)
    assert [row.student for row in day.here] == made.students[1:]
    assert [row.student for row in day_sheet_context(day)["rows"]] == made.students[1:]
    page = text(teacher.get(url("day_sheet", made)))
    assert f"Said to be away: {made.students[0]}" in page


def test_a_leaver_and_a_late_starter_are_not_in_the_session(made: Shop) -> None:
    one, two, three = made.students
    made.shop_class.enrolments.filter(student=one).update(left=made.session.date)
    made.shop_class.enrolments.filter(student=two).update(
        joined=made.session.date + timedelta(days=1)
    )
    assert [row.student for row in load_day(made.session).rows] == [three]


def test_a_student_is_on_what_is_being_welded_else_on_what_was_given_for_the_day(
    made: Shop,
) -> None:
    put(made.campus, exercise("24", title="Lap"))
    put(made.campus, exercise("25", title="Pad"))
    student = made.students[0]
    second, third = made.assign(student, "24"), made.assign(student, "25")
    assert load_day(made.session).rows[0].work.assignment == made.given[0]
    third.session = made.session
    third.save()
    work = load_day(made.session).rows[0].work
    assert (work.assignment, work.others, work.state) == (third, 2, "open")
    made.coupon(second)
    assert load_day(made.session).rows[0].work.assignment == second


def test_a_tap_says_that_a_hold_point_was_seen_and_a_second_takes_it_back(
    made: Shop, teacher: Client
) -> None:
    attempt = made.coupon(made.given[0])
    tap = reverse("grading:hold_tap", args=[attempt.pk])
    back = url("session", made)
    for _again in range(2):
        answer = teacher.post(tap, {**key(), "position": "0", "next": back})
        assert answer["Location"] == back
    assert HoldTap.objects.get().by == made.instructor
    assert load_day(made.session).holds[0].work.waiting_hold.text == "root pass"
    teacher.post(tap, {**key(), "position": "0", "on": "no"})
    assert not HoldTap.objects.exists()


@pytest.mark.parametrize("position", ["", "2", "-1", "x", "²", "99999999999999999999"])
def test_a_hold_point_that_is_not_there_is_refused(
    made: Shop, teacher: Client, position: str
) -> None:
    attempt = made.coupon(made.given[0])
    tap = reverse("grading:hold_tap", args=[attempt.pk])
    assert teacher.post(tap, {**key(), "position": position}).status_code == 422
    assert teacher.post(tap, {**key(), "position": "0", "on": "maybe"}).status_code == 422
    assert not HoldTap.objects.exists()


def test_a_tap_leads_to_no_foreign_page(made: Shop, teacher: Client) -> None:
    attempt = made.coupon(made.given[0])
    tap = reverse("grading:hold_tap", args=[attempt.pk])
    answer = teacher.post(tap, {**key(), "position": "0", "next": "https://else.invalid/"})
    assert answer["Location"] == reverse("grading:next_session")


def test_a_look_at_practice_comes_back_to_the_session(made: Shop, teacher: Client) -> None:
    look = reverse("grading:practice_look", args=[made.given[0].pk])
    answer = teacher.post(look, {**key(), "next": url("session", made)})
    assert answer["Location"] == url("session", made)
    assert PracticeLook.objects.get().session == made.session


def test_next_session_is_todays_else_the_coming_one_of_ones_own_class(
    made: Shop, teacher: Client
) -> None:
    later = Session.objects.create(
        shop_class=made.shop_class,
        date=made.session.date + timedelta(days=7),
        start="18:00",
        end="21:00",
        net_minutes=130,
    )
    go = reverse("grading:next_session")
    assert teacher.get(go)["Location"] == url("session", made)
    Session.objects.filter(pk=made.session.pk).update(state="lost")
    assert teacher.get(go)["Location"] == reverse("grading:session", args=[later.pk])
    stranger = UserFactory(home_campus=made.campus, roles=[Role.INSTRUCTOR])
    assert "You teach no class" in text(browser(stranger).get(go))


@pytest.mark.parametrize("name", ["session", "day_sheet", "day_sheet_pdf"])
def test_a_session_is_open_to_its_instructors_and_the_manager_alone(
    made: Shop, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("shared.paper.render_pdf", lambda *_args, **_kw: b"%PDF")
    other = shop(1, name="Other class", campus=made.campus)
    expected = {
        made.students[0]: 403,
        other.instructor: 404,
        UserFactory(home_campus=made.campus, roles=[Role.CLERK]): 403,
        UserFactory(home_campus=made.campus, roles=[Role.MANAGER]): 200,
        made.instructor: 200,
    }
    found = {who: browser(who).get(url(name, made)).status_code for who in expected}
    assert found == expected


def test_another_class_taps_no_hold_point_and_a_student_none_at_all(made: Shop) -> None:
    attempt = made.coupon(made.given[0])
    other = shop(1, name="Other class", campus=made.campus)
    tap = reverse("grading:hold_tap", args=[attempt.pk])
    sent = {"position": "0"}
    assert browser(other.instructor).post(tap, {**key(), **sent}).status_code == 404
    assert browser(made.students[0]).post(tap, {**key(), **sent}).status_code == 403
    assert not HoldTap.objects.exists()


@pytest.mark.parametrize("name", ["session", "day_sheet"])
@pytest.mark.django_db
def test_twenty_students_take_as_many_queries_as_three(name: str) -> None:
    def queries(students: int) -> int:
        made = shop(students, name=f"Class of {students}")
        for given in made.given[1:]:
            made.coupon(given, "logged" if given.pk % 2 else "redo")
        made.coupon(made.given[0])
        client = browser(made.instructor)
        client.get(url(name, made))  # notes once a minute that the session is in use
        with CaptureQueriesContext(connection) as counted:
            assert client.get(url(name, made)).status_code == 200
        return len(counted)

    assert queries(3) == queries(20) <= 45


# -- the day sheet ----------------------------------------------------------------------------


def test_the_day_sheet_adds_equal_blanks_up_and_rounds_rods_up(made: Shop) -> None:
    sheet = day_sheet_context(load_day(made.session))
    ((count, piece, metal),) = sheet["cut"]
    assert (count, piece.name, metal) == (6, "plate", "A36")
    rods = sheet["rows"][0].work.lay_out
    assert [(one.kind, one.count >= 1, isinstance(one.count, int)) for one in rods] == [
        ("electrode", True, True)
    ]
    assert [one.marks for one in sheet["welded"]] == [tuple(row.work.mark for row in sheet["rows"])]


def test_a_coupon_that_waits_for_its_verdict_takes_no_blanks(made: Shop) -> None:
    made.coupon(made.given[0], "logged")
    ((count, _piece, _metal),) = day_sheet_context(load_day(made.session))["cut"]
    assert count == 4


def test_cautions_are_those_of_the_processes_in_use_electric_shock_first(made: Shop) -> None:
    sheet = day_sheet_context(load_day(made.session))
    assert "shock" in sheet["cautions"][0].heading.lower()
    assert all(one.source for one in sheet["cautions"])
    assert len({one.key for one in sheet["cautions"]}) == len(sheet["cautions"])
    assert list(sheet["shades"]) == ["SMAW"]


def test_electric_shock_stands_first_beside_a_flame_too(db: Any) -> None:
    flame = replace(
        tee(), current=None, electrode=None, polarity="", joint=joint("bead", bead_width="1/4 in")
    )
    made = shop(
        2,
        exercises=(
            exercise("10", title="Flame", process="OFW", iso4063="311", setups=(flame,)),
            exercise("23"),
        ),
    )
    made.given[1].delete()
    made.assign(made.students[1], "23")
    sheet = day_sheet_context(load_day(made.session))
    assert list(sheet["shades"]) == ["OFW", "SMAW"]
    assert sheet["cautions"][0].key == "electric-shock"
    made.students[1].assignments.update(state="withdrawn")
    sheet = day_sheet_context(load_day(made.session))
    assert "electric-shock" not in [one.key for one in sheet["cautions"]]


@pytest.mark.pdf
@pytest.mark.parametrize(("paper", "box"), [("A4", (595.28, 841.89)), ("Letter", (612, 792))])
@pytest.mark.django_db
def test_the_pdf_has_every_name_and_mark_and_nothing_runs_off_the_paper(
    paper: str, box: tuple[float, float]
) -> None:
    from pypdf import PdfReader

    contents = (exercise(), exercise("24", title="Lap joint, horizontal"))
    made = shop(18, exercises=contents)
    made.campus.paper = paper
    made.campus.invented = True
    made.campus.save()
    booths(made, 12)
    started = made.coupon(made.given[0])
    answer = browser(made.instructor).get(url("day_sheet_pdf", made))
    assert answer["Content-Type"] == "application/pdf"
    pages = PdfReader(io.BytesIO(answer.content)).pages
    whole = " ".join(" ".join(page.extract_text().split()) for page in pages)
    for row in load_day(made.session).rows:
        assert row.student.name in whole
        assert row.work.mark in re.sub(r"\s", "", whole)
    assert started.mark in re.sub(r"\s", "", whole)
    for figure in ("root pass", "36 plate", "E7018", "never below", "Invented data"):
        assert figure in whole or figure.replace(" ", "") in whole.replace(" ", "")
    for number, page in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in " ".join(page.extract_text().split())
        width, height = float(page.mediabox.width), float(page.mediabox.height)
        assert (width, height) == pytest.approx(box, abs=0.1)
        _within(page, width, height)


def _within(page: Any, width: float, height: float) -> None:
    """Each piece of text begins inside the margins and ends there, as far as its letters tell."""
    outside: list[str] = []

    def look(words: str, cm: Any, tm: Any, font: Any, size: float) -> None:
        if not words.strip():
            return
        scale = abs(tm[0] * cm[0]) or 1.0
        left = tm[4] * cm[0] + tm[5] * cm[2] + cm[4]
        up = tm[4] * cm[1] + tm[5] * cm[3] + cm[5]
        reach = left + len(words.strip()) * size * scale * 0.42
        if not (left >= 20 and reach <= width - 10 and 20 <= up <= height - 20):
            outside.append(f"{words.strip()!r} from {left:.0f} to {reach:.0f} at {up:.0f}")

    page.extract_text(visitor_text=look)
    assert outside == []


def test_on_screen_the_day_sheet_says_the_same_and_leads_to_the_pdf(
    made: Shop, teacher: Client
) -> None:
    page = text(teacher.get(url("day_sheet", made)))
    assert url("day_sheet_pdf", made) in page
    for row in load_day(made.session).rows:
        assert f"<b>{row.student}</b>" in page
        assert row.work.mark in page
    assert "120" in page  # what is dialled in stands there for a substitute
    assert "alone a redo" in page


# -- who is ready -------------------------------------------------------------------------------


def test_assigning_learns_from_results_who_is_ready(db: Any) -> None:
    made = shop(2, exercises=(exercise("23"), replace(exercise("24"), prerequisites=("23",))))
    made.coupon(made.given[0], "pass")
    needing = made.versions["24"].exercise
    one, two = made.students
    assert {
        pk: list(needs)
        for pk, needs in still_needed(made.shop_class, made.students, needing).items()
    } == {one.pk: [], two.pk: ["23"]}
