"""The demo: whole, invented, the same when it is loaded again, and kept away from real shops."""

import json
from datetime import date, timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import transaction
from django.db.models import Sum
from django.db.models.functions import Coalesce
from django.utils import timezone

from curriculum.core.setup_check import check
from curriculum.core.usage import usage
from curriculum.demo.classes import BOOTHS, EVENING, session_days
from curriculum.demo.library import REVIEWER, contents
from curriculum.demo.people import PIN, STUDENTS
from curriculum.models import (
    Assignment,
    Attendance,
    Booth,
    Enrolment,
    ExerciseVersion,
    Place,
    Session,
    ShopClass,
)
from curriculum.services import to_spec
from curriculum.services.signoffs import missing_signoffs
from grading.core.verdict import Reading as Taken
from grading.core.verdict import judge
from grading.models import Attempt, Decision, Verdict
from grading.services.attempts import start_attempt
from grading.services.standing import next_for
from inventory.models import OpenPack, ReceiptLine, Requisition, StockItem
from shared.people.models import Campus, Role, Tablet, User
from shared.people.pins import check_new_pin, try_pin
from shared.people.tablets import enrol

TODAY = date(2026, 3, 12)  # a Thursday


def run(*, today=TODAY):
    """Call the command as from a terminal; return its answer and what went to stderr."""
    out, err = StringIO(), StringIO()
    call_command("demo", no_serve=True, json=True, today=today, stdout=out, stderr=err)
    return json.loads(out.getvalue()), err.getvalue()


@pytest.fixture(scope="module")
def loaded(django_db_setup, django_db_blocker):
    """The demo loaded once for this module, in a transaction that is rolled back at its end."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield run()
        transaction.set_rollback(True)


@pytest.fixture
def answer(loaded, db):
    return loaded[0]


# The library as a file


@pytest.fixture(scope="module")
def setups():
    return [(exercise, setup) for exercise in contents() for setup in exercise.setups]


def test_the_library_spans_the_processes_with_setups_of_several_thicknesses():
    exercises = contents()
    assert len(exercises) >= 16
    assert {"GTAW", "SMAW", "GMAW", "OFW"} <= {one.process for one in exercises}
    several = [one for one in exercises if len({s.thickness.value for s in one.setups}) > 1]
    assert len(several) >= 4
    assert {one.reviewed_by for one in exercises} == {REVIEWER}


def test_no_setup_is_outside_and_each_says_what_an_attempt_takes(setups):
    for exercise, setup in setups:
        outside = [f.message for f in check(exercise, setup) if f.level == "outside"]
        assert not outside, f"{exercise.number}/{setup.key}"
        assert usage(exercise, setup).items, f"{exercise.number}/{setup.key}"


def test_no_tungsten_holds_thorium(setups):
    types = {setup.electrode.type for _exercise, setup in setups if setup.electrode}
    assert not {one for one in types if "Th" in one}


def test_the_facts_that_tests_check_against_are_not_the_demos_own(setups):
    for exercise, setup in setups:
        assert setup.thickness.typed not in ("16 ga", "11 ga")
        if exercise.process == "GTAW":
            assert setup.electrode.diameter.typed != "1/8 in"


@pytest.mark.parametrize("ahead", range(7))
def test_ten_of_28_sessions_lie_before_any_day_of_the_week(ahead):
    today = TODAY + timedelta(days=ahead)
    days, closed = session_days(today)
    assert len(days) == len(set(days)) == 28
    assert days == sorted(days)
    assert sum(day < today for day in days) == 10
    assert not set(days) & set(closed)
    assert (days[10] - today).days <= 4


# Loading


def test_the_answer_has_class_and_rows(answer):
    assert answer["contract"] == "demo/1"
    assert answer["class"] == EVENING
    assert answer["created"]["curriculum.Exercise"] == len(contents())


def test_the_forecast_is_the_commands_with_one_need_that_matches_no_item(answer):
    out = StringIO()
    call_command("forecast", EVENING, json=True, as_of=TODAY, stdout=out)
    assert answer["forecast"] == json.loads(out.getvalue())
    assert [need["item"] for need in answer["forecast"]["unmatched"]] == ["gas:90 ar/10 co2"]
    items = {item["name"]: item for item in answer["forecast"]["items"]}
    assert items["Grinding disc 4-1/2 in"]["late"]
    assert items["Electrode E7018 1/8 in"]["on_order"] > 0
    assert any(item["total"]["likely"] > 0 and item["packs"] == 0 for item in items.values())
    assert len(answer["forecast"]["finish"]) == 18


def test_progress_goes_to_stderr_and_one_object_to_stdout(loaded):
    lines = loaded[1].splitlines()
    assert "Five weeks of results" in lines
    assert lines[-1].startswith("Ready after")


def test_a_second_run_changes_nothing_even_on_another_day(answer):
    again, err = run(today=TODAY + timedelta(days=30))
    assert again == answer
    assert "Five weeks of results" not in err
    assert f"loaded around {TODAY}" in err


# What is there


def test_everything_belongs_to_one_campus_that_is_marked_as_invented(answer):
    campus = Campus.objects.get()
    assert campus.invented
    assert not User.objects.exclude(home_campus=campus).exists()


def test_an_evening_class_of_18_in_mid_term_with_12_booths(answer):
    evening = ShopClass.objects.get(name=EVENING)
    assert evening.enrolments.count() == 18
    assert evening.sessions.count() == 28
    assert evening.sessions.filter(date__lt=TODAY).count() == 10
    assert evening.sessions.filter(date__lt=TODAY, state=Session.State.LOST).count() == 1
    assert {(s.end.hour - s.start.hour, s.net_minutes) for s in evening.sessions.all()} == {
        (3, 130)
    }
    assert Booth.objects.count() == sum(len(row) - 1 for row in BOOTHS) == 12
    assert len({one.code for one in STUDENTS}) == len({one.last for one in STUDENTS}) == 24


def test_the_plan_needs_nothing_that_stands_behind_it(answer):
    evening = ShopClass.objects.get(name=EVENING)
    numbers = [row.exercise.number for row in evening.plan_entries.select_related("exercise")]
    needs = {one.number: one.prerequisites for one in contents()}
    for place, number in enumerate(numbers):
        assert set(needs[number]) <= set(numbers[:place])
    targets = [row.target_session.date for row in evening.plan_entries.all()]
    assert targets == sorted(targets)


def test_students_sign_in_with_their_pin_and_staff_with_the_password(answer):
    check_new_pin(PIN)
    campus, manager = Campus.objects.get(), User.objects.get(username="manager")
    tablet, _token = enrol(campus=campus, name="Bench", by=manager)
    student = Enrolment.objects.filter(shop_class__name=EVENING).last().student
    assert try_pin(person=student, tablet=tablet, pin=PIN)
    assert not try_pin(person=student, tablet=Tablet.objects.get(), pin="9317")
    roles = {
        user.username: user.roles
        for user in User.objects.exclude(username=None)
        if user.check_password("invented-harbour")
    }
    assert roles["clerk"] == {Role.CLERK}
    assert roles["student"] == {Role.STUDENT}
    assert {"instructor", "instructor2", "manager"} <= roles.keys()


def test_nobody_welded_who_was_away_or_had_not_joined(answer):
    for attempt in Attempt.objects.select_related("session"):
        there = Attendance.objects.filter(session=attempt.session, student=attempt.student)
        assert there.get().present
        assert attempt.session.date < TODAY


def test_verdicts_are_what_the_rubric_says_of_the_readings_or_have_a_reason(answer):
    versions = {row.pk: to_spec(row) for row in ExerciseVersion.objects.with_content()}
    attempts = Attempt.objects.for_grading().filter(state=Attempt.State.JUDGED)
    kinds = set()
    for attempt in attempts.prefetch_related("readings__criterion"):
        taken = {
            row.criterion.name: Taken(value=row.value, passed=row.passed, detail=row.detail)
            for row in attempt.readings.all()
            if not row.own
        }
        criteria = versions[attempt.setup.version_id].criteria
        result = judge(criteria, taken, thickness=attempt.setup.thickness.value)
        given = attempt.verdicts.get()
        assert given.computed == result.verdict
        assert given.kind == given.computed or given.reason
        kinds.add((given.kind, given.computed))
    assert kinds == {("pass", "pass"), ("redo", "redo"), ("pass", "redo"), ("redo", "pass")}


def test_a_term_has_seen_everything_that_can_come_of_a_coupon(answer):
    evening = Attempt.objects.filter(shop_class__name=EVENING)
    assert evening.filter(state=Attempt.State.LOGGED).count() >= 3
    assert evening.filter(state=Attempt.State.STARTED).exists()
    assert Verdict.objects.filter(kind=Verdict.Kind.VOID).exists()
    assert {row.kind for row in Decision.objects.all()} >= {"credited", "moved_on"}
    passed = evening.filter(verdicts__kind="pass").values("assignment")
    assert not Assignment.objects.filter(pk__in=passed, state="open").exists()


def test_what_is_open_is_what_comes_next_in_the_plan(answer):
    evening = ShopClass.objects.get(name=EVENING)
    for enrolment in evening.enrolments.select_related("student"):
        given = Assignment.objects.open().filter(shop_class=evening, student=enrolment.student)
        to_weld = given.exclude(attempts__state=Attempt.State.LOGGED)
        ready = [one.key for one in next_for(enrolment.student, evening)]
        for key in to_weld.values_list("exercise_id", "setup_key"):
            assert key == ready[0]
        assert to_weld.count() == 1 or given.count() == 1


def test_the_next_coupon_goes_on_where_the_demo_stopped(answer):
    evening = ShopClass.objects.get(name=EVENING)
    idle = Assignment.objects.open().filter(shop_class=evening)
    idle = idle.exclude(attempts__state__in=["started", "logged"])
    for assignment in idle.filter(attempts__isnull=False).distinct():
        last = assignment.attempts.latest("number")
        coupon = start_attempt(
            assignment=assignment, by=assignment.student, now=timezone.now(), session=last.session
        )
        assert coupon.number == last.number + 1
        assert coupon.mark[:-1] == last.mark[:-1]
        assert coupon.mark > last.mark


def test_results_keep_the_version_they_were_welded_by(answer):
    corrected = ExerciseVersion.objects.get(exercise__number="203", version=2)
    assert corrected.state == ExerciseVersion.State.PUBLISHED
    assert not Attempt.objects.filter(setup__version=corrected).exists()
    assert Attempt.objects.filter(setup__version__exercise=corrected.exercise).exists()
    assert ExerciseVersion.objects.filter(state="draft", exercise__number="404").exists()


def test_nobody_was_given_what_they_have_no_sign_off_for(answer):
    for assignment in Assignment.objects.select_related("student", "shop_class"):
        version = assignment.exercise.newest_published()
        lacks = missing_signoffs(assignment.shop_class, [assignment.student], version)
        assert not any(lacks.values())


def test_booths_of_the_next_session_can_do_what_is_open(answer):
    places = Place.objects.filter(session__shop_class__name=EVENING).select_related("booth")
    assert {place.session.date for place in places} == {TODAY}
    for place in places:
        given = Assignment.objects.open().filter(student=place.student)
        processes = {one.exercise.newest_published().process for one in given}
        assert processes & set(place.booth.processes)


def test_the_shelf_is_the_sum_of_its_movements_and_one_is_short(answer):
    items = StockItem.objects.annotate(moved=Coalesce(Sum("movements__quantity"), 0))
    assert items.count() >= 22
    assert all(item.on_hand == item.moved for item in items)
    assert [item.kind for item in items if item.book_short] == ["abrasive"]
    kinds = {kind for item in items for kind in item.movements.values_list("kind", flat=True)}
    assert kinds >= {"receive", "cut", "open", "exchange", "issue", "count", "reverse"}


def test_an_order_has_come_in_parts_one_of_them_wrong(answer):
    order = Requisition.objects.get()
    assert order.state == Requisition.State.APPROVED
    came = ReceiptLine.objects.filter(line__requisition=order)
    assert {row.outcome for row in came} == {"right", "wrong"}
    assert all(row.packs < row.line.packs for row in came)
    assert all(line.expected > TODAY for line in order.lines.all())


def test_no_two_packs_of_an_item_are_opened_at_one_instant(answer):
    opened = list(OpenPack.objects.values_list("item", "opened_at"))
    assert len(opened) > len({item for item, _at in opened})
    assert len(set(opened)) == len(opened)
