"""What changed between two versions, in words."""

from dataclasses import replace

from hypothesis import HealthCheck, given, settings

from curriculum.core.compare import Difference, differences
from curriculum.core.spec import Criterion, Exercise, Joint, Pass, Setup
from shared.units import parse_measure, parse_range
from tests import strategies

SETUP = Setup(
    key="14ga",
    base_metal="low-carbon steel sheet",
    thickness=parse_measure("14 ga", "length", material="steel"),
    joint=Joint(kind="lap fillet", leg=parse_range("5/64 in", "length")),
    current=parse_range("65-85 A", "current"),
    passes=(Pass(technique="lay wire"),),
)
LAP = Exercise(
    number="44",
    title="Lap",
    process="GTAW",
    first_pass=0.45,
    minutes=30.0,
    setups=(SETUP,),
    criteria=(Criterion(name="undercut", kind="judged", unit="yes/no"),),
)


def test_a_setting_is_found_by_its_setup():
    changed = replace(LAP, setups=(replace(SETUP, current=parse_range("60-80 A", "current")),))
    assert differences(LAP, changed) == [Difference("setup 14ga, current", "65-85 A", "60-80 A")]


def test_a_number_of_the_joint_and_a_pass():
    setup = replace(
        SETUP,
        joint=replace(SETUP.joint, leg=parse_range("3/32 in", "length")),
        passes=(Pass(technique="dip"),),
    )
    assert differences(LAP, replace(LAP, setups=(setup,))) == [
        Difference("setup 14ga, joint, leg", "5/64 in", "3/32 in"),
        Difference("setup 14ga, pass 1, technique", "lay wire", "dip"),
    ]


def test_what_is_added_and_what_is_taken_away():
    more = replace(LAP, criteria=(*LAP.criteria, Criterion(name="pores", kind="counted")))
    [added] = differences(LAP, more)
    assert (added.where, added.old) == ("criterion pores", "")
    assert "kind counted" in added.new
    [gone] = differences(more, LAP)
    assert (gone.where, gone.new) == ("criterion pores", "")


def test_steps_go_by_their_place():
    old, new = replace(LAP, steps=("Tack.", "Weld.")), replace(LAP, steps=("Tack.", "Weld hot."))
    assert differences(old, new) == [Difference("steps 2", "Weld.", "Weld hot.")]


def test_another_order_of_the_criteria_is_said_once():
    two = (*LAP.criteria, Criterion(name="pores", kind="counted"))
    assert differences(replace(LAP, criteria=two), replace(LAP, criteria=two[::-1])) == [
        Difference("order of criteria", "undercut, pores", "pores, undercut")
    ]


def test_another_spelling_of_the_same_figure_is_no_difference():
    setup = replace(SETUP, current=parse_range("65 to 85 A", "current"))
    assert setup.current.typed != SETUP.current.typed
    assert differences(LAP, replace(LAP, setups=(setup,))) == []


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(strategies.exercises(), strategies.exercises())
def test_differences_are_of_what_differs(one, other):
    assert differences(one, one) == []
    found = differences(one, other)
    assert all(change.old != change.new for change in found if change.where == "title")
    assert ("title" in {change.where for change in found}) == (one.title != other.title)
