"""The day's booths: by capability, longest waiting first, pairs when short, hand-made kept."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curriculum.core.day import Booth, Student, assign


def booth(name, *processes, is_down=False):
    return Booth(name=name, processes=frozenset(processes), is_down=is_down)


def student(name, process="GTAW", waited=0, too_small=()):
    return Student(
        id=name, name=name, process=process, waited=waited, too_small=frozenset(too_small)
    )


def test_a_booth_that_does_everything_is_kept_for_who_needs_it():
    day = assign(
        [student("a", "GTAW"), student("b", "SMAW")],
        [booth("1", "GTAW", "SMAW"), booth("2", "GTAW")],
    )
    assert day.places == {"a": "2", "b": "1"}
    assert day.without == ()


def test_who_waited_longest_is_served_first():
    day = assign([student("a"), student("b", waited=2)], [booth("1", "GTAW")], pairs=False)
    assert day.places == {"b": "1"}
    assert [one.student.id for one in day.without] == ["a"]
    assert day.without[0].why == "Every booth that does GTAW is full."


def test_pairs_only_when_booths_are_short():
    booths = [booth("1", "GTAW"), booth("2", "GTAW")]
    assert assign([student("a"), student("b")], booths).pairs == ()
    day = assign([student("a"), student("b"), student("c")], booths)
    assert len(day.pairs) == 1
    assert day.without == ()


def test_nobody_stands_three_in_a_booth():
    day = assign([student(name) for name in "abc"], [booth("1", "GTAW")])
    assert len(day.places) == 2
    assert [one.student.id for one in day.without] == ["c"]


def test_a_machine_that_is_down_is_named():
    day = assign([student("a", "OFW")], [booth("1", "GTAW"), booth("9", "OFW", is_down=True)])
    assert day.without[0].why == "Every booth that does OFW is down: 9."


def test_a_process_without_a_booth_is_named():
    assert assign([student("a", "OFW")], [booth("1", "GTAW")]).without[0].why == (
        "No booth does OFW."
    )


def test_what_was_set_by_hand_stays_and_the_rest_goes_around_it():
    booths = [booth("1", "GTAW"), booth("2", "GTAW")]
    day = assign([student("a", waited=9), student("b")], booths, kept={"b": "1"})
    assert day.places == {"b": "1", "a": "2"}
    assert day.warnings == ()


def test_a_hand_made_place_in_a_booth_that_is_down_stays_with_a_warning():
    booths = [booth("1", "GTAW", is_down=True), booth("2", "SMAW")]
    day = assign([student("a"), student("b")], booths, kept={"a": "1", "b": "2"})
    assert day.places == {"a": "1", "b": "2"}
    assert day.warnings == (
        "a was put in 1 by hand, but 1 is down.",
        "b was put in 2 by hand, which does not do GTAW.",
    )


def test_nobody_is_put_where_the_machine_is_too_small():
    booths = [booth("1", "GTAW"), booth("2", "GTAW")]
    day = assign([student("a", too_small="1"), student("b", too_small="1")], booths)
    assert day.places == {"a": "2", "b": "2"}
    day = assign([student("a"), student("b", too_small="1")], booths)
    assert day.places == {"a": "1", "b": "2"}
    day = assign([student("a", too_small="12")], booths)
    assert day.places == {}
    assert day.without[0].why == "No machine for GTAW gives what the setup asks: 1, 2."


def test_why_nobody_can_weld_names_every_booth_down_full_or_too_small():
    booths = [booth("1", "GTAW", is_down=True), booth("2", "GTAW"), booth("3", "GTAW")]
    day = assign([student("a", too_small="23")], booths)
    assert day.without[0].why == (
        "No booth that does GTAW can be used. Down: 1. Machine too small for the setup: 2, 3."
    )
    day = assign([student("b"), student("a", too_small="2")], booths, kept={"b": "3"}, pairs=False)
    assert day.without[0].why == (
        "Every booth that does GTAW is full. Down: 1. Machine too small for the setup: 2."
    )


def test_a_hand_made_place_at_a_machine_that_is_too_small_stays_with_a_warning():
    day = assign([student("a", too_small="1")], [booth("1", "GTAW")], kept={"a": "1"})
    assert day.places == {"a": "1"}
    assert day.warnings == ("a was put in 1 by hand, whose machine is too small for the setup.",)


def test_two_booths_of_one_name_are_refused():
    with pytest.raises(ValueError, match="own name"):
        assign([], [booth("1", "GTAW"), booth("1", "SMAW")])


PROCESSES = ("GTAW", "SMAW", "OFW")


@given(
    st.lists(st.tuples(st.sampled_from(PROCESSES), st.sets(st.integers(0, 3))), max_size=4),
    st.lists(st.sets(st.sampled_from(PROCESSES)), max_size=4),
)
def test_as_many_as_possible_have_a_booth_alone(work, able):
    students = [
        student(str(i), process, too_small=map(str, small))
        for i, (process, small) in enumerate(work)
    ]

    def fits(i, seat):
        process, small = work[i]
        return process in able[seat] and seat not in small

    booths = [booth(str(i), *processes) for i, processes in enumerate(able)]
    day = assign(students, booths, pairs=False)
    assert len(set(day.places.values())) == len(day.places)
    assert all(fits(int(i), int(name)) for i, name in day.places.items())
    # every way to hand out the booths, tried one by one
    seats = [*range(len(booths)), *([None] * len(students))]
    best = max(
        sum(seat is not None and fits(i, seat) for i, seat in enumerate(order))
        for order in itertools.permutations(seats, len(students))
    )
    assert len(day.places) == best
