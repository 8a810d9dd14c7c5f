"""Where a student stands, and what comes next."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grading.core.standing import Coupon, Standing, Task, ladder, next_tasks, standing, standings

STARTED = Coupon(number=1, state="started")
LOGGED = Coupon(number=1, state="logged")
REDO = Coupon(number=1, state="judged", verdict="redo")
PASS = Coupon(number=2, state="judged", verdict="pass")
VOID = Coupon(number=2, state="void")
VOIDED = Coupon(number=2, state="judged", verdict="void")


@pytest.mark.parametrize(
    ("coupons", "decisions", "missing", "state"),
    [
        ([], [], [], "open"),
        ([], [], ["41"], "not_open"),
        ([STARTED], [], [], "working"),
        ([STARTED], [], ["41"], "working"),
        ([LOGGED], [], [], "to_be_judged"),
        ([REDO], [], [], "redo"),
        ([PASS, REDO], [], [], "passed"),
        ([REDO, VOID], [], [], "redo"),
        ([REDO, VOIDED], [], [], "redo"),
        ([VOID], [], [], "open"),
        ([], ["credited"], ["41"], "credited"),
        ([REDO], ["moved_on"], [], "moved_on"),
        ([REDO], ["moved_on", "withdrawn"], [], "redo"),
        ([REDO, PASS], ["moved_on"], [], "passed"),
    ],
)
def test_standings_on_one_task(coupons, decisions, missing, state):
    assert standing(coupons, decisions, missing).state == state


def test_redos_are_counted_and_what_is_missing_named():
    second = Coupon(number=2, state="judged", verdict="redo")
    assert standing([REDO, second]).redos == 2
    assert standing([], [], ["41", "21"]) == Standing("not_open", 0, ("41", "21"))


PLAN = (
    Task(number="41", setup_key="a", title="Puddle"),
    Task(number="42", setup_key="a", title="Stringers", needs=("41",)),
    Task(number="42", setup_key="b", title="Stringers", needs=("41",)),
    Task(number="44", setup_key="a", title="Lap", needs=("42",)),
)


def test_an_exercise_opens_when_every_setup_it_needs_is_done():
    coupons = {("41", "a"): [PASS], ("42", "a"): [PASS]}
    found = standings(PLAN, coupons, {})
    assert [found[task.key].state for task in PLAN] == ["passed", "passed", "open", "not_open"]
    assert found["44", "a"].missing == ("42",)
    found = standings(PLAN, coupons, {("42", "b"): ["moved_on"]})
    assert found["44", "a"].state == "open"


def test_what_is_needed_outside_the_plan_may_be_done_elsewhere():
    plan = (Task(number="47", setup_key="a", needs=("12",)),)
    assert standings(plan, {}, {})["47", "a"].missing == ("12",)
    assert standings(plan, {}, {}, done_elsewhere=["12"])["47", "a"].state == "open"


def test_what_was_begun_comes_before_what_is_open():
    found = standings(PLAN, {("41", "a"): [PASS], ("42", "b"): [REDO]}, {})
    assert [task.key for task in next_tasks(PLAN, found)] == [("42", "b"), ("42", "a")]


def test_the_ladder_has_one_step_an_exercise():
    found = standings(PLAN, {("41", "a"): [PASS], ("42", "b"): [REDO]}, {("42", "a"): ["credited"]})
    steps = ladder(PLAN, found)
    assert [(step.number, step.state, step.done, step.of) for step in steps] == [
        ("41", "passed", 1, 1),
        ("42", "redo", 1, 2),
        ("44", "not_open", 0, 1),
    ]
    assert steps[2].missing == ("42",)


COUPONS = st.lists(st.sampled_from((STARTED, LOGGED, REDO, PASS, VOID)), max_size=3)


@given(st.fixed_dictionaries({task.key: COUPONS for task in PLAN}))
def test_nothing_open_is_missing_anything(coupons):
    found = standings(PLAN, coupons, {})
    for one in found.values():
        assert bool(one.missing) is (one.state == "not_open")
    assert all(not found[task.key].is_done for task in next_tasks(PLAN, found))


@given(st.fixed_dictionaries({task.key: COUPONS for task in PLAN}))
def test_one_more_pass_closes_nothing(coupons):
    before = standings(PLAN, coupons, {})
    after = standings(PLAN, coupons | {("41", "a"): [PASS]}, {})
    for key, one in before.items():
        assert not (one.state != "not_open" and after[key].state == "not_open")
