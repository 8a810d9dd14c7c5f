"""Today, the sheet, handing in, one's own coupon and record, as a student meets them."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from threading import Barrier
from typing import Any
from uuid import uuid4

import pytest
from django.core.signing import get_cookie_signer
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from curriculum.models import Assignment, Session, Signoff
from curriculum.services import publish, save_draft
from grading.models import Attempt, Reading
from grading.services import tap_hold
from shared.people.middleware import PIN_KEY
from shared.people.models import Role, User
from shared.people.tablets import _SALT, COOKIE
from shared.units import parse_range
from tests.factories import TabletFactory, UserFactory
from tests.grading.scene import Shop, booths, exercise, put, shop

BACKEND = "shared.people.backends.PasswordBackend"
TODAY = "/today/"
PARALLEL = 20


def browser(who: User) -> Client:
    client = Client()
    client.force_login(who, BACKEND)
    return client


def key() -> dict[str, str]:
    return {"submission_key": str(uuid4())}


@pytest.fixture
def made(db: Any) -> Shop:
    made = shop(2)
    booths(made, 2)
    return made


@pytest.fixture
def mine(made: Shop) -> Client:
    return browser(made.students[0])


def text(response: Any) -> str:
    return " ".join(response.content.decode().split())


def test_today_shows_the_exercise_its_five_settings_the_booth_and_the_next_mark(
    made: Shop, mine: Client
) -> None:
    page = text(mine.get(TODAY))
    student = made.students[0]
    mark = f"{student.enrolments.get().code}23A"
    assert f"<h1>{student}</h1>" in page
    assert f'<span class="stamp">{mark}</span>' in page
    assert "<dt>Booth</dt><dd>1</dd>" in page
    assert 'data-figure="dial.current" value="120.0"' in page
    assert 'data-figure="dial.electrode" value="0.003175"' in page
    assert page.count('data-figure="dial.') <= 5
    assert 'role="img"' in page  # the joint is drawn
    assert "never below" in page  # the shade stands there
    for point in ("Tack-up", "Root pass"):
        assert point in page
    assert f"Start coupon {mark}" in page


def test_starting_a_coupon_shows_how_far_it_is(made: Shop, mine: Client) -> None:
    given = made.given[0]
    url = reverse("grading:attempt_start", args=[given.pk])
    sent = key()
    first = mine.post(url, sent)
    assert first.status_code == 302
    assert mine.post(url, sent)["Location"] == first["Location"]  # a second tap
    assert mine.post(url, key()).status_code == 302  # another tablet
    attempt = Attempt.objects.get()
    tap_hold(attempt=attempt, position=0, by=made.instructor, now=made.now)
    response = mine.get(TODAY)
    states = [(step.word, step.state, step.is_current) for step in response.context["steps"]]
    assert states == [
        ("Practise", "done", False),
        ("tack-up", "done", False),
        ("root pass", "hold", True),
        ("Hand in", "not_done", False),
    ]
    assert f"Hand in {attempt.mark}" in text(response)


def test_a_closed_assignment_and_somebody_elses_start_nothing(made: Shop, mine: Client) -> None:
    other = reverse("grading:attempt_start", args=[made.given[1].pk])
    assert mine.post(other, key()).status_code == 404
    Assignment.objects.update(state="withdrawn")
    own = reverse("grading:attempt_start", args=[made.given[0].pk])
    assert mine.post(own, key())["Location"] == TODAY
    assert not Attempt.objects.exists()


def test_the_last_verdict_stands_there_with_why_and_cure(made: Shop, mine: Client) -> None:
    attempt = made.coupon(
        made.given[0], "redo", why="Leg: 1/4 in, wanted 5/16 in to 3/8 in.", cure="Slow down."
    )
    page = text(mine.get(TODAY))
    assert f"Last coupon, {attempt.mark}: redo" in page
    assert "Leg: 1/4 in, wanted 5/16 in to 3/8 in." in page
    assert "Slow down." in page
    assert f"Start coupon {attempt.mark[:-1]}B" in page


def test_what_comes_next_says_what_it_still_needs(db: Any) -> None:
    made = shop(
        1,
        exercises=(
            exercise("23"),
            exercise("24", title="Lap"),
            replace(exercise("25", title="Vertical up"), prerequisites=("23", "24")),
        ),
    )
    mine = browser(made.students[0])
    made.shop_class.plan_entries.filter(exercise__number="24").update(position=9)
    page = text(mine.get(TODAY))
    assert "Next: exercise 25, Vertical up" in page
    assert "Opens when 23 is passed. Still needs: 24." in page


def test_of_several_one_is_chosen_and_the_one_being_welded_comes_by_itself(made: Shop) -> None:
    student = made.students[0]
    put(made.campus, exercise("24", title="Lap joint"))
    second = made.assign(student, "24")
    mine = browser(student)
    page = text(mine.get(TODAY))
    assert "2 exercises are open: choose one" in page
    chosen = text(mine.get(TODAY, {"assignment": second.pk}))
    assert "Lap joint" in chosen
    assert "What else you have open" in chosen
    made.coupon(second)
    assert "Hand in" in text(mine.get(TODAY))


def test_with_nothing_open_today_says_so_and_what_could_be_next(made: Shop, mine: Client) -> None:
    Assignment.objects.update(state="withdrawn")
    page = text(mine.get(TODAY))
    assert "Nothing is assigned to you." in page
    assert "<b>23</b> Tee, three passes" in page


def test_a_missing_sign_off_stands_before_everything_else(db: Any) -> None:
    made = shop(1, exercises=(exercise(signoffs=("arc welding",)),))
    mine = browser(made.students[0])
    assert "Sign-off missing: arc welding" in text(mine.get(TODAY))
    Signoff.objects.create(
        campus=made.campus, student=made.students[0], name="arc welding",
        given_by=made.instructor, given_on=made.session.date,
    )  # fmt: skip
    assert "Sign-off missing" not in text(mine.get(TODAY))


def test_sheet_and_today_stay_with_the_version_the_coupon_was_begun_under(
    made: Shop, mine: Client
) -> None:
    made.coupon(made.given[0])
    put(made.campus, exercise(title="Tee, newer", hold_points=("newer point",)))
    sheet = reverse("grading:own_sheet", args=[made.given[0].pk])
    for page in (text(mine.get(TODAY)), text(mine.get(sheet))):
        assert "version 1" in page
        assert "newer point" not in page
        assert "Newer point" not in page
    other = browser(made.students[1])
    assert "Newer point" in text(other.get(TODAY))


def test_a_draft_shows_its_settings_to_no_student(made: Shop, mine: Client) -> None:
    save_draft(campus=made.campus, content=exercise("30", title="Secret draft"), by=None)
    made.assign(made.students[0], "30")
    page = text(mine.get(TODAY, {"assignment": made.given[-1].pk}))
    assert "No published sheet" in page
    assert "Secret draft" not in page
    assert mine.get(reverse("grading:own_sheet", args=[made.given[-1].pk])).status_code == 302


# -- handing in -----------------------------------------------------------------------------------


def fields(attempt: Attempt, **own: str) -> dict[str, str]:
    names = {row.name: f"own_{row.pk}" for row in attempt.setup.version.criteria.all()}
    return {names[name]: value for name, value in own.items()}


def test_an_empty_form_hands_the_coupon_in(made: Shop, mine: Client) -> None:
    attempt = made.coupon(made.given[0])
    response = mine.post(reverse("grading:log", args=[attempt.pk]), key())
    assert response["Location"] == reverse("grading:attempt", args=[attempt.pk])
    attempt.refresh_from_db()
    assert attempt.state == "logged"
    assert attempt.logged_at is not None
    assert not Reading.objects.exists()


def test_bare_numbers_are_in_the_unit_beside_the_field(made: Shop, mine: Client) -> None:
    attempt = made.coupon(made.given[0])
    page = text(mine.get(reverse("grading:log", args=[attempt.pk])))
    assert f'data-keep="{made.students[0].pk}-log-{attempt.pk}"' in page
    assert '<span class="unit">A</span>' in page
    sent = {
        **key(),
        "used_current": "125",
        "used_voltage": "22-24",
        "used_travel_speed": "6",
        "used_rods": "3-1/2",
        "used_practice_pieces": "2",
        "own_note": "ran cold",
        **fields(
            attempt, leg="11/32", profile="yes", fused="95", looks="3", pores="0", bend="1/16"
        ),
    }
    assert mine.post(reverse("grading:log", args=[attempt.pk]), sent).status_code == 302
    attempt.refresh_from_db()
    assert attempt.used_current == parse_range("125 A", "current")
    assert attempt.used_voltage.low == 22
    assert attempt.used_travel_speed.low == pytest.approx(6 * 0.0254 / 60)
    assert (attempt.used_rods, attempt.used_practice_pieces) == (3.5, 2)
    found = {row.criterion.name: row for row in attempt.readings.select_related("criterion")}
    assert all(row.own and row.by == made.students[0] for row in found.values())
    assert found["leg"].value == pytest.approx(11 / 32 * 0.0254)
    assert found["profile"].passed is True
    assert (found["fused"].value, found["looks"].value, found["pores"].value) == (0.95, 3, 0)
    assert found["bend"].detail == {"openings": [pytest.approx(0.0254 / 16)]}


def test_what_is_refused_keeps_all_that_was_typed_and_stores_nothing(
    made: Shop, mine: Client
) -> None:
    attempt = made.coupon(made.given[0])
    url = reverse("grading:log", args=[attempt.pk])
    sent = {
        **key(),
        "used_current": "a lot",
        "used_rods": "-2",
        "own_note": "kept & safe",
        **fields(attempt, leg="wide", pores="2.5"),
    }
    response = mine.post(url, sent)
    assert response.status_code == 422
    page = text(response)
    for typed in ("a lot", "wide", "2.5", "kept &amp; safe"):
        assert typed in page
    assert set(response.context["form"].errors) == {
        "used_current",
        "used_rods",
        *fields(attempt, leg="", pores=""),
    }
    attempt.refresh_from_db()
    assert (attempt.state, attempt.own_note) == ("started", "")
    sent |= {"used_current": "120 A", "used_rods": "2", **fields(attempt, leg="8 mm", pores="2")}
    assert mine.post(url, sent).status_code == 302  # put right, with the same key


def test_htmx_gets_the_form_alone_and_is_led_on_after_a_success(made: Shop, mine: Client) -> None:
    attempt = made.coupon(made.given[0])
    url = reverse("grading:log", args=[attempt.pk])
    bad = mine.post(url, {**key(), "used_current": "?"}, headers={"HX-Request": "true"})
    assert bad.status_code == 422
    assert bad.content.decode().lstrip().startswith("<form")
    good = mine.post(url, key(), headers={"HX-Request": "true"})
    assert good.headers["HX-Redirect"] == reverse("grading:attempt", args=[attempt.pk])


def test_a_form_sent_again_after_a_lost_answer_counts_once(made: Shop, mine: Client) -> None:
    attempt = made.coupon(made.given[0])
    url, sent = reverse("grading:log", args=[attempt.pk]), {**key(), "used_rods": "4"}
    sent |= fields(attempt, leg="11/32")
    first = mine.post(url, sent)
    Attempt.objects.update(state="judged")  # judged before the line was back
    again = mine.post(url, sent)
    assert again["Location"] == first["Location"]
    assert Reading.objects.count() == 1
    other = mine.post(url, {**sent, **key(), "used_rods": "9"})  # a second tablet, a new key
    assert other.status_code == 302
    assert Attempt.objects.get().used_rods == 4
    assert Reading.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_twenty_identical_posts_at_once_hand_in_one_coupon() -> None:
    made = shop(1)
    attempt = made.coupon(made.given[0])
    cookie = browser(made.students[0]).cookies["sessionid"].value
    url, sent = reverse("grading:log", args=[attempt.pk]), {**key(), "used_rods": "4"}
    sent |= fields(attempt, leg="11/32", pores="0")
    barrier = Barrier(PARALLEL)

    def send(_n: int) -> tuple[int, str | None]:
        try:
            client = Client()
            client.cookies["sessionid"] = cookie
            barrier.wait()
            answer = client.post(url, sent)
            return answer.status_code, answer.get("Location")
        finally:
            connection.close()

    with ThreadPoolExecutor(PARALLEL) as pool:
        answers = set(pool.map(send, range(PARALLEL)))
    assert answers == {(302, reverse("grading:attempt", args=[attempt.pk]))}
    assert Reading.objects.count() == 2
    assert Attempt.objects.get().state == "logged"


@pytest.mark.django_db(transaction=True)
def test_twenty_taps_at_once_start_one_coupon() -> None:
    made = shop(1)
    cookie = browser(made.students[0]).cookies["sessionid"].value
    url = reverse("grading:attempt_start", args=[made.given[0].pk])
    barrier = Barrier(PARALLEL)

    def send(_n: int) -> int:
        try:
            client = Client()
            client.cookies["sessionid"] = cookie
            barrier.wait()
            return client.post(url, key()).status_code  # each with a key of its own
        finally:
            connection.close()

    with ThreadPoolExecutor(PARALLEL) as pool:
        assert set(pool.map(send, range(PARALLEL))) == {302}
    assert Attempt.objects.count() == 1


# -- one's own coupon and record ------------------------------------------------------------------


def test_the_coupons_page_shows_both_sides_and_what_came_of_it(made: Shop, mine: Client) -> None:
    attempt = made.coupon(made.given[0], "redo", why="Leg: 1/4 in.", cure="Slow down.")
    leg = attempt.setup.version.criteria.get(name="leg")
    for own, inch in ((True, 11 / 32), (False, 1 / 4)):
        Reading.objects.create(
            attempt=attempt, criterion=leg, own=own, value=inch * 0.0254, by=made.instructor,
            at=made.now,
        )  # fmt: skip
    response = mine.get(reverse("grading:attempt", args=[attempt.pk]))
    line = response.context["lines"][0]
    assert (line.own.figure, line.theirs.figure, line.state) == ("11/32 in", "1/4 in", "stop")
    assert "Slow down." in text(response)
    made.students[0].units = "metric"
    made.students[0].save()
    line = mine.get(reverse("grading:attempt", args=[attempt.pk])).context["lines"][0]
    # 11/32 in is 8.73125 mm, 1/4 in is 6.35 mm (25.4 mm to the inch)
    assert (line.own.figure, line.theirs.figure) == ("8.73 mm", "6.35 mm")


def test_what_is_wanted_stands_at_the_field_of_ones_own_reading(made: Shop, mine: Client) -> None:
    attempt = made.coupon(made.given[0])
    form = mine.get(reverse("grading:log", args=[attempt.pk])).context["form"]
    wanted = {str(one.label): one.help_text for one, _unit in form.own_fields()}
    assert wanted["Leg"] == "Wanted: 5/16–3/8 in"
    assert wanted["Pores"] == "Wanted: at most 2"


def test_after_handing_in_an_untapped_hold_point_asks_for_nobody(made: Shop, mine: Client) -> None:
    made.coupon(made.given[0])
    assert "stop: instructor looks" in text(mine.get(reverse("grading:today")))
    Attempt.objects.update(state="logged")
    page = text(mine.get(reverse("grading:today")))
    assert "not looked at" in page
    assert "stop: instructor looks" not in page


def test_a_coupon_is_seen_by_its_student_and_its_instructors_alone(made: Shop) -> None:
    attempt = made.coupon(made.given[0], "logged")
    url = reverse("grading:attempt", args=[attempt.pk])
    other = shop(1, name="Other class", campus=made.campus)
    manager = UserFactory(home_campus=made.campus, roles=[Role.MANAGER])
    clerk = UserFactory(home_campus=made.campus, roles=[Role.CLERK])
    expected = {
        made.students[0]: 200,
        made.instructor: 200,
        manager: 200,
        made.students[1]: 404,
        other.instructor: 404,
        clerk: 403,
    }
    assert {who: browser(who).get(url).status_code for who in expected} == expected


def test_with_a_pin_on_a_shared_tablet_a_teacher_sees_no_coupon_of_the_class(made: Shop) -> None:
    attempt = made.coupon(made.given[0], "logged")
    made.instructor.memberships.create(campus=made.campus, role=Role.STUDENT)
    tablet = TabletFactory(campus=made.campus, enrolled_by=made.instructor)
    client = Client()
    client.force_login(made.instructor, "shared.people.backends.PinBackend")
    session = client.session
    session[PIN_KEY] = tablet.pk
    session.save()
    client.cookies[COOKIE] = get_cookie_signer(salt=COOKIE + _SALT).sign(tablet.name)
    assert client.get(TODAY).status_code == 200
    assert client.get(reverse("grading:attempt", args=[attempt.pk])).status_code == 404


@pytest.mark.parametrize("name", ["today", "own_record"])
def test_only_students_have_these_pages(made: Shop, name: str) -> None:
    clerk = UserFactory(home_campus=made.campus, roles=[Role.CLERK])
    url = reverse(f"grading:{name}")
    assert [browser(who).get(url).status_code for who in (made.instructor, clerk)] == [403, 403]
    assert Client().get(url).status_code == 302


def test_the_record_names_every_coupon_and_the_hours(made: Shop, mine: Client) -> None:
    student = made.students[0]
    made.coupon(made.given[0], "redo")
    made.coupon(made.given[0], "pass")
    session = Session.objects.get()
    session.attendances.create(student=student, present=True)
    response = mine.get(reverse("grading:own_record"))
    part = response.context["parts"][0]
    assert [(step.number, step.setup_key) for step in (one.task.task for one in part["path"])] == [
        ("23", "3-8in")
    ]
    assert [coupon.state for coupon in part["path"][0].coupons] == ["redo", "pass"]
    assert (part["done"], part["hours"].attended) == (1, 1)
    assert part["hours"].hours == pytest.approx(130 / 60)


def test_a_coupon_beside_the_plan_stands_in_the_record_too(made: Shop, mine: Client) -> None:
    put(made.campus, exercise("99"))
    attempt = made.coupon(made.assign(made.students[0], "99"), "logged")
    part = mine.get(reverse("grading:own_record")).context["parts"][0]
    assert [one.attempt for one in part["beside"]] == [attempt]


@pytest.mark.parametrize("name", ["today", "own_record"])
def test_many_coupons_take_as_many_queries_as_few(made: Shop, mine: Client, name: str) -> None:
    def queries(coupons: int) -> int:
        while Attempt.objects.count() < coupons:
            made.coupon(made.given[0], "redo")
        mine.get(TODAY)  # notes once a minute that the session is in use
        with CaptureQueriesContext(connection) as counted:
            assert mine.get(reverse(f"grading:{name}")).status_code == 200
        return len(counted)

    assert queries(3) == queries(20) <= 46


def test_publishing_by_hand_is_what_a_student_welds_next(made: Shop, mine: Client) -> None:
    draft = save_draft(campus=made.campus, content=exercise(title="Corrected"), by=None)
    assert "Corrected" not in text(mine.get(TODAY))
    publish(version=draft, reviewed_by="R. Example", reviewed_on=made.session.date, by=None)
    assert "Corrected" in text(mine.get(TODAY))
