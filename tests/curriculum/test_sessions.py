"""Sessions: a weekly pattern, one by one, lost once and found again."""

from datetime import time, timedelta

import pytest
from django.urls import reverse

from curriculum.models import Attendance, Closure, Session
from curriculum.services import classes
from shared.people.models import AuditEntry, Role
from tests.curriculum.term import (
    begins,
    make_class,
    make_term,
    plan,
    published,
    send,
    signed_in,
)
from tests.factories import CampusFactory, UserFactory

pytestmark = pytest.mark.django_db
PLANNED, THEORY, LOST = "planned", "theory", "lost"


@pytest.fixture
def term(db):
    return make_term(sessions=4)


def say(term, place, state):
    session = Session.objects.get(pk=term.sessions[place].pk)
    return classes.set_session_state(session=session, state=state, by=term.instructor)


@pytest.fixture
def planned(term):
    """Four exercises, one a session."""
    exercises = [published(term.campus, str(number)) for number in (1, 2, 3, 4)]
    plan(term, *exercises, targets=(0, 1, 2, 3))
    return term


# Lost sessions


def test_a_lost_session_moves_what_follows_and_names_what_falls_off(planned):
    moved = say(planned, 1, LOST)
    assert begins(planned) == [("1", 0), ("2", 2), ("3", 3), ("4", None)]
    assert [entry.exercise.number for entry in moved.past_the_end] == ["4"]


def test_a_session_is_lost_once_however_often_it_is_said(planned):
    say(planned, 1, LOST)
    after = begins(planned)
    assert say(planned, 1, LOST).changes == ()
    assert say(planned, 1, THEORY).changes == ()
    assert begins(planned) == after


def test_two_lost_sessions_move_twice(planned):
    say(planned, 0, LOST)
    say(planned, 1, THEORY)
    assert begins(planned) == [("1", 2), ("2", 3), ("3", None), ("4", None)]


def test_planned_after_all_puts_everything_back(planned):
    before = begins(planned)
    say(planned, 1, LOST)
    say(planned, 1, THEORY)
    say(planned, 1, PLANNED)
    assert begins(planned) == before
    say(planned, 1, LOST)
    say(planned, 1, PLANNED)
    assert begins(planned) == before


def test_what_somebody_moved_since_stays_where_they_put_it(planned):
    say(planned, 1, LOST)
    row = planned.shop_class.plan_entries.get(exercise__number="3")
    row.target_session = planned.sessions[2]
    row.save()
    say(planned, 1, PLANNED)
    assert begins(planned) == [("1", 0), ("2", 1), ("3", 2), ("4", 3)]
    row.refresh_from_db()
    assert row.target_session == planned.sessions[2]


def test_the_tap_says_what_moved_and_leads_back(planned):
    client = signed_in(planned.instructor)
    session = planned.sessions[1]
    answer = send(client, "session_state", session.pk, state=LOST, next="/session/")
    assert answer["Location"] == "/session/"
    session.refresh_from_db()
    assert session.state == LOST
    page = client.get(reverse("curriculum:sessions", args=[planned.shop_class.pk]))
    said = " ".join(page.content.decode().split())
    assert "4 sessions, 1 lost, 0 theory only" in said
    assert "begin on another day: 2 (" in said
    assert "No session is left for 4." in said
    entry = AuditEntry.objects.get(action="session.state")
    assert (entry.detail["before"], entry.detail["after"]) == (PLANNED, LOST)


def test_a_way_back_that_is_not_ours_is_not_taken(planned):
    client = signed_in(planned.instructor)
    pk = planned.sessions[0].pk
    answer = send(client, "session_state", pk, state=LOST, next="https://elsewhere.example/")
    assert answer["Location"] == reverse("curriculum:sessions", args=[planned.shop_class.pk])


def test_a_state_that_is_none_changes_nothing(planned):
    answer = send(signed_in(planned.instructor), "session_state", planned.sessions[0].pk, state="x")
    assert answer.status_code == 422
    assert say(planned, 0, PLANNED).changes == ()


# Patterns


def pattern(term, **changed):
    first = term.campus.today() + timedelta(days=200)
    first -= timedelta(days=first.weekday())
    fields = {
        "start": first.isoformat(),
        "end": (first + timedelta(days=13)).isoformat(),
        "weekdays": ["0", "2"],
        "starts_at": "18:00",
        "ends_at": "21:00",
        "net_minutes": "130",
    }
    return first, fields | changed


def test_a_pattern_is_shown_first_and_leaves_closed_days_out(term):
    monday, fields = pattern(term)
    Closure.objects.create(campus=term.campus, date=monday + timedelta(days=2), label="staff")
    client = signed_in(term.instructor)
    url = reverse("curriculum:sessions", args=[term.shop_class.pk])
    page = client.get(url, fields)
    preview = page.context["preview"]
    assert [slot.date for slot in preview.new] == [
        monday,
        monday + timedelta(days=7),
        monday + timedelta(days=9),
    ]
    assert [row.label for row in preview.closed] == ["staff"]
    assert term.shop_class.sessions.count() == 4
    assert send(client, "sessions_make", term.shop_class.pk, **fields).status_code == 302
    assert term.shop_class.sessions.count() == 7
    made = term.shop_class.sessions.get(date=monday)
    assert (made.start, made.end, made.net_minutes) == (time(18), time(21), 130)
    assert send(client, "sessions_make", term.shop_class.pk, **fields).status_code == 302
    assert term.shop_class.sessions.count() == 7


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"net_minutes": "500"}, "at most 180"),
        ({"ends_at": "17:00"}, "ends after it starts"),
        ({"end": "2020-01-01"}, "last day is before the first"),
        ({"start": "soon"}, "Enter a valid date"),
        ({"weekdays": []}, "This field is required"),
    ],
)
def test_a_bad_pattern_says_why_and_makes_nothing(term, changed, sentence):
    _first, fields = pattern(term, **changed)
    client = signed_in(term.instructor)
    answer = send(client, "sessions_make", term.shop_class.pk, **fields)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert term.shop_class.sessions.count() == 4


# One by one


def one(day, **changed):
    fields = {
        "date": day.isoformat(),
        "start": "08:00",
        "end": "11:00",
        "net_minutes": "120",
        "note": "make-up",
    }
    return fields | changed


def test_a_session_is_added_changed_and_taken_out(term):
    client = signed_in(term.instructor)
    day = term.campus.today() + timedelta(days=3)
    assert send(client, "session_new", term.shop_class.pk, **one(day)).status_code == 302
    made = term.shop_class.sessions.get(date=day)
    answer = send(client, "session_edit", made.pk, **one(day, net_minutes="100"))
    assert answer.status_code == 302
    made.refresh_from_db()
    assert made.net_minutes == 100
    assert send(client, "session_remove", made.pk).status_code == 302
    assert not Session.objects.filter(pk=made.pk).exists()


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"net_minutes": "200"}, "The session is 180 minutes long"),
        ({"end": "07:00"}, "A session ends after it starts"),
        ({"start": "18:00", "end": "21:00"}, "at this date and time already"),
    ],
)
def test_a_bad_session_is_said_at_its_field(term, changed, sentence):
    client = signed_in(term.instructor)
    fields = one(term.campus.today(), **changed)
    answer = send(client, "session_new", term.shop_class.pk, **fields)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert term.shop_class.sessions.count() == 4


def test_a_session_with_history_stays(planned):
    Attendance.objects.create(
        session=planned.sessions[0], student=planned.students[0], present=True
    )
    client = signed_in(planned.instructor)
    send(client, "session_remove", planned.sessions[0].pk)
    assert planned.shop_class.sessions.count() == 4
    send(client, "session_remove", planned.sessions[1].pk)
    assert planned.shop_class.sessions.count() == 3
    assert begins(planned)[1:] == [("2", 2), ("3", 3), ("4", None)]


# Who may


def test_other_classes_are_not_found_and_other_roles_refused(term):
    other = make_class(CampusFactory(), name="Morning", sessions=1)
    client = signed_in(term.instructor)
    for page, pk in (
        ("session_state", other.sessions.get().pk),
        ("session_edit", other.sessions.get().pk),
        ("session_remove", other.sessions.get().pk),
        ("sessions_make", other.pk),
        ("session_new", other.pk),
    ):
        assert send(client, page, pk, state=LOST).status_code == 404
    clerk = signed_in(UserFactory(roles=[Role.CLERK]))
    url = reverse("curriculum:sessions", args=[term.shop_class.pk])
    page = clerk.get(url)
    assert page.status_code == 200
    assert "Theory only" not in page.content.decode()
    assert send(clerk, "session_state", term.sessions[0].pk, state=LOST).status_code == 403
    student = signed_in(term.students[0])
    assert student.get(url).status_code == 403
    assert not Session.objects.filter(state=LOST).exists()


def test_the_list_costs_the_same_for_three_and_for_twenty(term, django_assert_max_num_queries):
    url = reverse("curriculum:sessions", args=[term.shop_class.pk])
    client = signed_in(term.instructor)
    client.get(url)
    with django_assert_max_num_queries(30) as few:
        client.get(url)
    count = len(few)
    _monday, fields = pattern(term, weekdays=["0", "1", "2", "3", "4"])
    send(client, "sessions_make", term.shop_class.pk, **fields)
    client.get(url)
    with django_assert_max_num_queries(count):
        client.get(url)
