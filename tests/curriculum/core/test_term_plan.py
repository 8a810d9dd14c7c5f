"""The term plan: order, load against hand-worked weeks, lost sessions, the suggested spread."""

from dataclasses import replace
from datetime import date, time, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curriculum.core.booth_load import booth_minutes, expected_attempts, load, suggest_targets
from curriculum.core.term_plan import (
    Booth,
    Entry,
    IllegalMove,
    SessionSlot,
    Targets,
    move,
    order_faults,
    sessions_from_pattern,
    set_target,
    shift_after_lost,
    target_faults,
)

MONDAY = date(2026, 1, 5)


def with_targets(plan, found):
    return tuple(replace(one, target=found.targets.get(one.id, one.target)) for one in plan)


def entry(number, *needs, **fields):
    fields = {"process": "GTAW", "minutes": 30.0, "first_pass": 1.0} | fields
    return Entry(id=number, number=number, needs=needs, **fields)


def meetings(count, minutes=130.0):
    """Two a week, Monday and Wednesday."""
    days = [MONDAY + timedelta(days=7 * (i // 2) + 2 * (i % 2)) for i in range(count)]
    return [
        SessionSlot(date=day, start=time(18), end=time(21), net_minutes=minutes) for day in days
    ]


def booth(name, *processes, is_down=False):
    return Booth(name=name, processes=frozenset(processes), is_down=is_down)


PLAN = (entry("41"), entry("42", "41"), entry("43", "42"), entry("44", "42"))


def test_an_order_that_respects_the_needs_has_no_fault():
    assert order_faults(PLAN) == []


def test_a_fault_of_order_names_both():
    [fault] = order_faults((PLAN[1], PLAN[0]))
    assert fault.sentence == "42 needs 41 first and cannot stand before it."


def test_what_the_plan_does_not_hold_is_no_fault():
    assert order_faults((entry("45", "12"),)) == []


def test_moving_up_and_down_and_to_a_place():
    assert [one.number for one in move(PLAN, "44", "up")] == ["41", "42", "44", "43"]
    assert [one.number for one in move(PLAN, "43", "down")] == ["41", "42", "44", "43"]
    assert [one.number for one in move(PLAN, "44", 2)] == ["41", "42", "44", "43"]


@pytest.mark.parametrize(
    ("id", "to", "why"),
    [
        ("42", "up", "42 needs 41 first"),
        ("41", "down", "42 needs 41 first"),
        ("44", 0, "44 needs 42 first"),
        ("41", "up", "already the first"),
        ("44", "down", "already the last"),
        ("44", 9, "already the last"),
        ("99", "up", "not in the plan"),
        ("44", "sideways", "up, down or to a place"),
    ],
)
def test_an_illegal_move_says_why(id, to, why):
    with pytest.raises(IllegalMove, match=why):
        move(PLAN, id, to)


def test_a_plan_out_of_order_can_be_put_right_step_by_step():
    wrong = (PLAN[3], PLAN[1], PLAN[0])  # 44 needs 42, 42 needs 41
    assert order_faults(move(wrong, "44", "down"))  # one fault less is enough


@given(st.integers(0, 3), st.integers(0, 3))
def test_a_move_keeps_the_entries_and_their_order(here, there):
    try:
        moved = move(PLAN, PLAN[here].id, there)
    except IllegalMove:
        return
    assert sorted(one.number for one in moved) == sorted(one.number for one in PLAN)
    assert order_faults(moved) == []


def test_targets_stay_with_the_places_when_entries_move():
    plan = with_targets(PLAN, Targets({"41": 0, "42": 2, "43": 4, "44": None}))
    moved = move(plan, "44", "up")
    assert [(one.number, one.target) for one in moved[2:]] == [("44", 4), ("43", None)]


def test_an_entry_never_begins_before_one_it_needs():
    plan = with_targets(PLAN, Targets({"41": 0, "42": 2, "43": 4, "44": None}))
    assert target_faults(set_target(plan, "43", 2)) == []
    assert set_target(plan, "43", None)[2].target is None
    with pytest.raises(IllegalMove, match="43 needs 42, which begins only in session 3"):
        set_target(plan, "43", 1)
    with pytest.raises(IllegalMove, match="43 needs 42, which begins only in session 6"):
        set_target(plan, "42", 5)


def test_a_move_that_puts_the_sessions_out_of_order_is_refused():
    plan = (entry("41", target=1), entry("99", target=5), entry("42", "41", target=3))
    with pytest.raises(IllegalMove, match="42 needs 41, which begins only in session 6"):
        move(plan, "41", "down")


@pytest.mark.parametrize(
    ("first_pass", "mean"),
    # odds 1.5 a redo, cap 6; the first three also follow from the oracle below
    [(0.35, 2.24536), (0.2, 3.04528), (0.5, 1.77792), (1.0, 1.0)],
)
def test_expected_attempts_against_closed_forms(first_pass, mean):
    assert expected_attempts(first_pass) == pytest.approx(mean, abs=5e-6)
    # the same another way: sum of k * P(done at k), exact in fractions
    p = Fraction(str(first_pass))
    left, total = Fraction(1), Fraction(0)
    for k in range(1, 7):
        odds = None if p == 1 else p / (1 - p) * Fraction(3, 2) ** (k - 1)
        done = left if k == 6 or odds is None else left * odds / (1 + odds)
        total, left = total + k * done, left - done
    assert expected_attempts(first_pass) == pytest.approx(float(total), rel=1e-12)


def test_without_gain_and_nearly_without_cap_attempts_are_geometric():
    # the mean of a geometric distribution is 1 / p
    assert expected_attempts(0.25, redo_odds=1, cap=400) == pytest.approx(4)


@given(st.floats(0.001, 1), st.integers(1, 12))
def test_attempts_lie_between_one_and_the_cap(first_pass, cap):
    assert 1 <= expected_attempts(first_pass, cap=cap) <= cap


@pytest.mark.parametrize(
    ("arguments", "options"),
    [((0.0,), {}), ((1.1,), {}), ((0.5,), {"cap": 0}), ((float("nan"),), {})],
)
def test_attempts_refuse_what_is_no_chance(arguments, options):
    with pytest.raises(ValueError, match=r"first_pass|cap"):
        expected_attempts(*arguments, **options)


def test_booth_minutes_are_practice_and_attempts_of_those_who_still_have_it():
    one = entry("41", practice_minutes=45.0, minutes=35.0, setups=2, to_do=6)
    assert booth_minutes(one, 18) == 6 * 2 * (45 + 35)
    assert booth_minutes(replace(one, to_do=None), 18) == 18 * 2 * (45 + 35)


def test_the_load_of_a_week_worked_by_hand():
    # 18 students x (40 practice + 1 attempt x 35) = 1350 min of GTAW in week 1 from both sessions;
    # 18 x 50 = 900 min of SMAW from the first session of week 2 on, over two sessions
    plan = (
        entry("41", minutes=35.0, practice_minutes=40.0, target=0),
        entry("21", process="SMAW", minutes=50.0, target=2),
    )
    booths = [booth("1", "GTAW", "SMAW"), booth("2", "GTAW"), booth("3", "GTAW", is_down=True)]
    first, second = load(plan, meetings(4), booths, 18)
    assert first.week == MONDAY
    assert first.by_process["GTAW"].needed == pytest.approx(1350)
    assert first.by_process["GTAW"].available == 2 * 130 * 2
    assert first.by_process["SMAW"].available == 2 * 130 * 1
    assert first.total.available == 2 * 130 * 2
    assert second.by_process["SMAW"].needed == pytest.approx(900)
    assert [one.processes for one in first.shortages] == [("GTAW",)]


def test_booths_that_share_processes_are_short_together_only():
    # 100 min of each are within 130 of each, but the one booth has only 130 for both
    plan = (
        entry("a", minutes=100.0, target=0),
        entry("b", process="SMAW", minutes=100.0, target=0),
    )
    [week] = load(plan, meetings(1), [booth("1", "GTAW", "SMAW")], 1)
    assert [one.processes for one in week.shortages] == [("GTAW", "SMAW")]
    assert (week.shortages[0].needed, week.shortages[0].available) == (200, 130)


def test_a_lost_session_has_no_minutes():
    slots = meetings(2)
    slots[1] = replace(slots[1], state="lost")
    [week] = load((entry("a", target=0),), slots, [booth("1", "GTAW")], 1)
    assert week.total.available == 130
    assert week.total.needed == pytest.approx(30)


def test_need_without_a_booth_is_infinite_load():
    [week] = load((entry("a", process="OFW", target=0),), meetings(1), [booth("1", "GTAW")], 1)
    assert week.by_process["OFW"].share == float("inf")
    assert week.shortages[0].processes == ("OFW",)


@given(st.lists(st.integers(0, 5), min_size=1, max_size=8))
def test_no_minute_is_lost_in_the_weeks(targets):
    plan = [entry(str(i), target=target) for i, target in enumerate(sorted(targets))]
    weeks = load(plan, meetings(6), [booth("1", "GTAW")], 5)
    assert sum(week.total.needed for week in weeks) == pytest.approx(30 * 5 * len(plan))


def test_a_lost_session_shifts_what_follows_and_names_what_falls_off():
    plan = tuple(entry(str(i), target=i) for i in range(4))
    found = shift_after_lost(plan, meetings(4), 1)
    assert found.targets == {"0": 0, "1": 2, "2": 3, "3": None}
    assert [one.number for one in found.past_the_end] == ["3"]


def test_a_shift_goes_past_sessions_that_are_not_planned():
    slots = meetings(4)
    slots[2] = replace(slots[2], state="theory")
    found = shift_after_lost((entry("a", target=1), entry("b")), slots, 1)
    assert found.targets == {"a": 3, "b": None}
    assert found.past_the_end == ()


def test_a_lost_session_that_is_not_there_is_refused():
    with pytest.raises(ValueError, match="from 0 to 3"):
        shift_after_lost((), meetings(4), 4)


def test_sessions_of_a_weekly_pattern():
    slots = sessions_from_pattern(
        MONDAY, MONDAY + timedelta(days=13), {0, 2}, time(18), time(21), {date(2026, 1, 7)}, 130
    )
    assert [slot.date.isoformat() for slot in slots] == ["2026-01-05", "2026-01-12", "2026-01-14"]
    assert slots[0].week == MONDAY
    assert slots[0].minutes == 130


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"end": MONDAY - timedelta(days=1)}, "before the first day"),
        ({"end": MONDAY + timedelta(days=2000)}, "two years"),
        ({"weekdays": set()}, "weekday"),
        ({"weekdays": {7}}, "weekday"),
        ({"end_time": time(18)}, "ends after"),
        ({"net_minutes": 181}, "at most 180"),
        ({"net_minutes": float("nan")}, "at most 180"),
    ],
)
def test_a_pattern_that_cannot_be_is_refused(change, why):
    pattern = {
        "start": MONDAY,
        "end": MONDAY,
        "weekdays": {0},
        "start_time": time(18),
        "end_time": time(21),
        "closed_dates": set(),
        "net_minutes": 130,
    }
    with pytest.raises(ValueError, match=why):
        sessions_from_pattern(**(pattern | change))


def test_an_even_spread_over_the_term():
    # four equal entries of 130 min over eight sessions with one booth: two sessions each
    plan = [entry(str(i), minutes=130.0) for i in range(4)]
    found = suggest_targets(plan, meetings(8), [booth("1", "GTAW")], 1)
    assert found.past_the_end == ()
    assert list(found.targets.values()) == [0, 2, 4, 6]


def test_what_does_not_fit_is_named():
    plan = [entry("a", minutes=130.0), entry("b", minutes=130.0), entry("c", process="OFW")]
    found = suggest_targets(plan, meetings(1), [booth("1", "GTAW")], 1)
    assert found.targets == {"a": 0, "b": None, "c": None}
    assert [one.number for one in found.past_the_end] == ["b", "c"]


@settings(max_examples=50, deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(("GTAW", "SMAW")), st.integers(10, 200)), min_size=1, max_size=8
    ),
    st.integers(1, 10),
)
def test_a_spread_keeps_order_and_room(rows, count):
    plan = [
        entry(str(i), *([str(i - 1)] if i % 2 else []), process=process, minutes=float(minutes))
        for i, (process, minutes) in enumerate(rows)
    ]
    booths = [booth("1", "GTAW"), booth("2", "GTAW", "SMAW")]
    slots = meetings(count)
    found = suggest_targets(plan, slots, booths, 2)
    placed = [target for target in found.targets.values() if target is not None]
    assert placed == sorted(placed)
    assert len(placed) + len(found.past_the_end) == len(plan)
    by_number = {one.number: one.target for one in with_targets(plan, found)}
    for one in plan:
        for need in one.needs:
            if by_number[one.number] is not None:
                assert by_number[need] is not None
                assert by_number[need] <= by_number[one.number]
    if not found.past_the_end:
        need = sum(booth_minutes(one, 2) for one in plan)
        assert need <= sum(slot.minutes for slot in slots) * 2 + 1e-6
