"""The forecast of real classes: what rows make of a case, and that it follows every change."""

import json
from dataclasses import replace
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from curriculum.models import Booth, Closure, Enrolment, PlanEntry, Session, ShopClass
from curriculum.services import publish, save_draft
from grading.models import Attempt, Decision, Verdict
from inventory.models import Movement, Requisition, StockItem, Supplier
from inventory.services import (
    class_forecast_case,
    class_named,
    forecast_basis,
    move,
    open_pack,
    receive_packs,
    reckon,
    running_classes,
)
from inventory.services.forecast import first_coupons
from inventory.services.requisitions import Came, Wanted, approve, make_requisition, receive
from shared.management.base import Refused
from tests.factories import CampusFactory, PackFactory, StockItemFactory, UserFactory
from tests.grading import scene
from tests.inventory.buying import buying, coming

pytestmark = pytest.mark.django_db

TASK = "23/3-8in"
PLATE, ROD = "sheet:steel:9500", "electrode:E7018:3200"


@pytest.fixture
def made():
    return buying()


def case_of(made):
    return class_forecast_case(made.shop.shop_class, made.today)


def basis_of(made):
    return forecast_basis([made.shop.shop_class], made.today)


def item(case, key):
    return next(one for one in case.items if one.id == key)


# What goes into the case


def test_the_plan_becomes_tasks_with_what_one_attempt_takes(made):
    (task,) = case_of(made).tasks
    assert (task.id, task.minutes, task.practice_minutes) == (TASK, 30, 20)
    assert (task.first_pass, task.weight, task.redo_odds, task.cap) == (0.5, 8, 1.5, 6)
    uses = {use.item: use for use in task.uses}
    # two plates of 3 × 6 in, a kerf of 1/16 in both ways, 5 % of the sheet its edges and offcuts
    kerf = 1 / 16
    plates = 2 * (3 + kerf) * (6 + kerf) * 0.0254**2
    assert uses[PLATE].quantity == pytest.approx(plates * 1.05, rel=1e-9)
    assert (uses[PLATE].cv, uses[ROD].cv) == (0, 0.15)
    # 7 % of the electrodes are spoiled in 3 weeks of a term's 15, 2 % in the rest: 3 %
    assert uses[ROD].quantity == pytest.approx(0.13793 * 0.93 / 0.97, rel=1e-4)


def test_coming_sessions_alone_count_with_the_booths_that_are_up(made):
    state = Session.State
    lost, theory = made.shop.shop_class.sessions.order_by("-date")[:2]
    Session.objects.filter(pk=lost.pk).update(state=state.LOST)
    Session.objects.filter(pk=theory.pk).update(state=state.THEORY)
    Booth.objects.filter(pk=Booth.objects.first().pk).update(is_down=True)
    found = case_of(made).sessions
    assert [one.day for one in found] == [made.today + timedelta(weeks=n) for n in (1, 2)]
    assert {(one.minutes, one.booths) for one in found} == {(130, 2)}


def test_students_bring_their_dates_and_attendance_and_leavers_are_gone(made):
    first, second, third = Enrolment.objects.order_by("pk")
    Enrolment.objects.filter(pk=first.pk).update(attendance=0.6)
    Enrolment.objects.filter(pk=second.pk).update(
        joined=made.today + timedelta(5), left=made.today + timedelta(20)
    )
    Enrolment.objects.filter(pk=third.pk).update(left=made.today)
    found = {one.id: one for one in case_of(made).students}
    assert set(found) == {first.code, second.code}
    assert found[first.code].attendance == 0.6
    assert found[second.code].attendance == 0.9
    assert found[second.code].until == made.today + timedelta(20)


def test_standings_decide_what_is_still_to_be_welded(made):
    redo, logged, passed = made.shop.given
    made.shop.coupon(redo, "redo")
    made.shop.coupon(logged, "logged")
    made.shop.coupon(passed, "pass")
    students = sorted(case_of(made).students, key=lambda one: one.id)
    by_pk = dict(Enrolment.objects.values_list("student_id", "code"))
    found = {one.id: one for one in students}
    assert found[by_pk[redo.student_id]].attempts == {TASK: 1}
    assert found[by_pk[logged.student_id]].awaiting == {TASK}
    assert found[by_pk[passed.student_id]].passed == {TASK}


def test_credited_and_moved_on_are_no_first_coupon_but_done(made):
    given = made.shop.given[0]
    Decision.objects.create(
        shop_class=made.shop.shop_class,
        student=given.student,
        exercise=given.exercise,
        setup_key=given.setup_key,
        kind=Decision.Kind.CREDITED,
        reason="prior skill",
        by=made.shop.instructor,
        at=made.shop.now,
    )
    assert sum(TASK in one.passed for one in case_of(made).students) == 1
    assert first_coupons(made.shop.campus) == {}


def test_first_coupons_of_the_campus_count_once_a_student_without_void_ones(made):
    one, two, three = made.shop.given
    made.shop.coupon(one, "void")
    made.shop.coupon(one, "redo")  # the first that counts
    made.shop.coupon(one, "pass")
    made.shop.coupon(two, "pass")
    made.shop.coupon(three, "logged")
    other = scene.shop(1, name="Morning class", campus=made.shop.campus)
    other.coupon(other.given[0], "pass")
    Enrolment.objects.filter(student=two.student).update(left=made.today - timedelta(1))
    foreign = scene.shop(1, name="Far class", campus=CampusFactory(name="South"))
    foreign.coupon(foreign.given[0], "redo")
    task = next(task for task in case_of(made).tasks if task.id == TASK)
    assert (task.passes, task.fails) == (2, 1)


def test_coupons_of_an_older_version_count(made):
    made.shop.coupon(made.shop.given[0], "pass")
    newer = save_draft(
        campus=made.shop.campus, content=scene.exercise(minutes=45), by=made.shop.instructor
    )
    publish(version=newer, reviewed_by="R. Example", reviewed_on=made.today, by=None)
    (task,) = case_of(made).tasks
    assert (task.minutes, task.passes) == (45, 1)
    assert sum(TASK in one.passed for one in case_of(made).students) == 1


def test_the_last_verdict_of_a_coupon_counts(made):
    attempt = made.shop.coupon(made.shop.given[0], "redo")
    Verdict.objects.create(attempt=attempt, kind="pass", by=made.shop.instructor, at=made.shop.now)
    (counts,) = first_coupons(made.shop.campus).values()
    assert counts == (1, 0)


def test_a_shelf_stands_in_the_units_of_the_command_with_pack_and_days(made):
    supplier = Supplier.objects.create(
        campus=made.shop.campus, name="Pretend Yard", delivery_weekdays=[1, 4]
    )
    pack = made.packs["electrode"]
    pack.supplier, pack.lead_days, pack.approval_days = supplier, 7, 3
    pack.save()
    made.stock("electrode", 2, "in")
    Closure.objects.create(campus=made.shop.campus, date=made.today + timedelta(3))
    case = case_of(made)
    found = item(case, ROD)
    # two cans of 10 lb: 20 × 0.45359237 kg, to the milligram of the ledger
    assert (found.on_hand, found.pack, found.unit) == (9.071848, 4.535924, "kg")
    assert (found.lead_days, found.approval_days, str(found.price)) == (7, 3, "42")
    assert found.delivery_weekdays == (1, 4)
    assert (found.factor, found.bias_cv) == (1.8, 0.1)
    assert case.closed == (made.today + timedelta(3),)


def test_what_is_in_quarantine_is_not_there(made):
    made.stock("sheet", 1, "in")
    StockItem.objects.filter(spec_key=PLATE).update(quarantined=True)
    assert item(case_of(made), PLATE).on_hand == 0


def test_open_orders_come_on_their_day_less_what_has_come(made):
    order = make_requisition(
        campus=made.shop.campus, wanted=[Wanted(made.packs["electrode"], 4)], by=made.clerk
    )
    assert item(case_of(made), ROD).on_order == ()  # nobody has approved it
    approve(requisition=order, by=made.manager, now=made.shop.now)
    line = order.lines.get()
    (receipt,) = item(case_of(made), ROD).on_order
    assert (receipt.day, receipt.quantity) == (line.expected, pytest.approx(4 * 4.535924))
    receive(
        requisition=order,
        came=[Came(line=line, right=1, wrong=1)],
        by=made.clerk,
        on=made.today,
    )
    found = item(case_of(made), ROD)
    assert found.on_order[0].quantity == pytest.approx(3 * 4.535924)
    assert found.on_hand == 4.535924


def test_what_matches_no_item_is_named_with_what_wants_it(made):
    basis = basis_of(made)
    found = reckon(basis)
    (need,) = found.unmatched
    assert (need.item, need.tasks) == ("abrasive:grinding disc", (TASK,))
    assert basis.needs[need.item].name == "grinding disc"
    assert [str(task) for task in basis.task_names(need.tasks)] == [TASK]


def test_what_is_out_of_use_matches_nothing(made):
    StockItem.objects.filter(spec_key=ROD).update(is_active=False)
    assert {need.item for need in reckon(basis_of(made)).unmatched} >= {ROD}


def test_an_exercise_without_a_published_version_is_named_as_a_problem(made):
    draft = save_draft(
        campus=made.shop.campus, content=scene.exercise("24"), by=made.shop.instructor
    )
    PlanEntry.objects.create(shop_class=made.shop.shop_class, exercise=draft.exercise, position=1)
    (problem,) = basis_of(made).problems
    assert (problem.where, "published" in problem.message) == ("24", True)


def test_a_setup_that_the_newest_version_lost_is_named_as_a_problem(made):
    PlanEntry.objects.update(required_setups=["3-8in", "gone"])
    basis = basis_of(made)
    assert [problem.where for problem in basis.problems] == ["23/gone"]
    assert [task.id for task in basis.case.tasks] == [TASK]


def test_a_setup_that_says_too_little_is_named_and_its_time_still_counts(made):
    mute = replace(scene.tee("mute"), weld_length=None)
    newer = save_draft(
        campus=made.shop.campus,
        content=scene.exercise(setups=(scene.tee(), mute)),
        by=made.shop.instructor,
    )
    publish(version=newer, reviewed_by="R. Example", reviewed_on=made.today, by=None)
    basis = basis_of(made)
    assert [problem.where for problem in basis.problems] == ["23/mute"]
    assert [(task.id, bool(task.uses)) for task in basis.case.tasks] == [
        (TASK, True),
        ("23/mute", False),
    ]


# That it follows every change


def ample(made, key=PLATE):
    return reckon(basis_of(made)).item(key).total.ample


def test_a_logged_result_changes_the_figure_at_once(made):
    before = ample(made)
    attempt = made.shop.coupon(made.shop.given[0], "logged")
    logged = ample(made)
    attempt.state = Attempt.State.JUDGED
    attempt.save()
    Verdict.objects.create(attempt=attempt, kind="pass", by=made.shop.instructor, at=made.shop.now)
    assert before > logged > ample(made)


def test_a_plan_entry_taken_out_changes_the_figure_at_once(made):
    assert ample(made) > 0
    PlanEntry.objects.all().delete()
    assert ample(made) == 0


def test_a_plan_entry_moved_changes_the_weeks_at_once():
    made = buying(exercises=(scene.exercise("23"), scene.exercise("24", minutes=60)))
    first = [task.id for task in case_of(made).tasks]
    PlanEntry.objects.filter(exercise__number="23").update(position=5)
    assert [task.id for task in case_of(made).tasks] == first[::-1]


def test_a_movement_of_stock_changes_what_to_order_at_once(made):
    before = reckon(basis_of(made)).item(PLATE).order
    made.stock("sheet", 3, "in")
    assert (before.packs, reckon(basis_of(made)).item(PLATE).order.packs) == (1, 0)
    move(
        item=made.item("sheet"),
        kind=Movement.Kind.CUT,
        quantity=-3 * made.packs["sheet"].size,
        key="cut",
        by=made.clerk,
    )
    assert reckon(basis_of(made)).item(PLATE).order.packs == 1


def test_the_same_case_is_reckoned_once(made):
    assert reckon(basis_of(made)) is reckon(basis_of(made))
    assert reckon(basis_of(made), seed=5) is not reckon(basis_of(made))


# Several classes, and the command


def test_classes_of_a_campus_buy_together(made):
    other = scene.shop(2, name="Morning class", campus=made.shop.campus)
    coming(other)
    alone = [
        reckon(forecast_basis([one], made.today)).item(PLATE).total
        for one in (made.shop.shop_class, other.shop_class)
    ]
    classes = running_classes(made.shop.campus, made.today)
    joint = forecast_basis(classes, made.today)
    total = reckon(joint).item(PLATE).total
    tolerance = 5 * sum(one.se_mean for one in alone)
    assert total.mean == pytest.approx(sum(one.mean for one in alone), abs=tolerance)
    assert len(joint.case.tasks) == 2
    assert {task.difficulty for task in joint.case.tasks} == {TASK}
    assert len({one.id for one in joint.case.students}) == 5


def test_classes_that_are_over_or_elsewhere_do_not_buy(made):
    over = scene.shop(1, name="Old class", campus=made.shop.campus)
    ShopClass.objects.filter(pk=over.shop_class.pk).update(ends=made.today - timedelta(1))
    far = scene.shop(1, name="Far class", campus=CampusFactory(name="South"))
    assert running_classes(made.shop.campus, made.today) == [made.shop.shop_class]
    with pytest.raises(ValueError, match="one campus"):
        forecast_basis([made.shop.shop_class, far.shop_class], made.today)


def test_a_campus_without_a_class_has_a_shelf_and_nothing_to_order(made):
    found = reckon(forecast_basis([], made.today, campus=made.shop.campus))
    assert {one.order.packs for one in found.items} == {0}
    assert found.sessions == ()


@pytest.mark.parametrize("students", [3, 20])
def test_the_queries_of_a_class_do_not_grow_with_its_rows(students):
    made = buying(students, exercises=(scene.exercise("23"),))
    for n in range(students):
        pack = PackFactory(item=StockItemFactory(campus=made.shop.campus))
        receive_key = f"in{n}"
        made.packs[receive_key] = pack
        made.stock(receive_key, 1, receive_key)
        made.shop.coupon(made.shop.given[n], "redo")
    basis_of(made)
    with CaptureQueriesContext(connection) as queries:
        basis_of(made)
    assert len(queries) == 26


def command(*args):
    out = StringIO()
    call_command("forecast", *args, "--json", stdout=out)
    return json.loads(out.getvalue())


def test_the_command_answers_for_a_class_by_name_with_the_same_figures(made):
    answer = command("evening CLASS")
    found = reckon(basis_of(made))
    assert answer["contract"] == "forecast/1"
    assert answer["class"] == "Evening class"
    by_item = {one["item"]: one for one in answer["items"]}
    assert by_item[PLATE]["total"]["ample"] == found.item(PLATE).total.ample
    assert by_item[PLATE]["name"] == "Plate 3/8 in"
    assert [one["item"] for one in answer["unmatched"]] == ["abrasive:grinding disc"]
    assert len(answer["finish"]) == 3


def test_the_command_names_the_classes_where_it_knows_none(made):
    with pytest.raises(Refused, match="Evening class, North"):
        call_command("forecast", "Nobody's class")


def test_a_name_at_two_campuses_needs_the_campus(made):
    far = scene.shop(1, name="Evening class", campus=CampusFactory(name="South"))
    with pytest.raises(LookupError, match="Several"):
        class_named("Evening class")
    assert class_named("Evening class, South") == far.shop_class


def test_an_erased_student_welds_no_more(made):
    gone = made.shop.students[0]
    gone.erased_at = made.shop.now
    gone.save()
    assert len(case_of(made).students) == 2


def test_a_cancelled_order_brings_nothing(made):
    order = make_requisition(
        campus=made.shop.campus, wanted=[Wanted(made.packs["electrode"], 4)], by=made.clerk
    )
    approve(requisition=order, by=made.manager, now=made.shop.now)
    Requisition.objects.update(state=Requisition.State.CANCELLED)
    assert item(case_of(made), ROD).on_order == ()


def test_who_teaches_nothing_changes_nothing(made):
    before = basis_of(made).digest
    UserFactory(home_campus=made.shop.campus)
    assert basis_of(made).digest == before


def test_what_is_left_in_an_open_pack_counts_as_there(made):
    pack = PackFactory(item=StockItemFactory(campus=made.shop.campus))
    item = pack.item
    receive_packs(pack=pack, packs=2, key="in", by=made.clerk)

    def on_hand():
        return next(one.on_hand for one in case_of(made).items if one.id == item.spec_key)

    both = on_hand()
    open_pack(pack=pack, key="out", by=made.clerk)
    item.refresh_from_db()
    assert item.on_hand == pack.size  # one pack is off the shelf
    assert on_hand() == both  # and full still
