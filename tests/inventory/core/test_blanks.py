"""Blanks that classes will ask for in some days, and what one of them cost."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.core.blank_cost import cost_of_blank
from inventory.core.blanks import PiecesNeeded, pieces_needed
from inventory.core.case import read_case
from inventory.core.forecast import forecast
from inventory.core.sizes import Size

MONDAY = date(2026, 3, 2)


def case(students=4, sessions=3, pass_probability=1.0, quantity=2.0, practice=0.0, minutes=60):
    """Each session has time for one attempt of 60 minutes; one task."""
    use = {"item": "3x6", "quantity": quantity, "cv": 0, "practice": practice}
    return read_case(
        {
            "sessions": [
                {"date": MONDAY + timedelta(weeks=week), "minutes": minutes}
                for week in range(sessions)
            ],
            "students": [{"id": f"S{n}", "attendance": 1} for n in range(students)],
            "tasks": [
                {
                    "id": "201",
                    "minutes": 60,
                    "pass_probability": pass_probability,
                    "redo_odds": 1,
                    "cap": None,
                    "uses": [use],
                }
            ],
            "items": [{"id": "3x6", "unit": "piece", "bias_cv": 0}],
        }
    )


def test_who_surely_passes_takes_the_blanks_of_one_attempt():
    # by hand: 4 students x 1 attempt x 2 blanks = 8, all begun in the first session
    found = pieces_needed(case(), MONDAY, MONDAY, quantile=0.9, runs=50)
    assert found == {"3x6": PiecesNeeded(within=8, before=0)}


def test_blanks_that_serve_two_attempts_are_shared_and_the_sum_is_rounded_up():
    # by hand: 5 students x 1/2 blank = 2.5, so 3 are handed out
    found = pieces_needed(case(students=5, quantity=0.5), MONDAY, MONDAY, quantile=0.5, runs=50)
    assert found["3x6"].within == 3


def test_practice_pieces_come_with_the_first_coupon():
    # by hand: 4 students x (2 of the attempt + 3 of practice) = 20
    found = pieces_needed(case(practice=3.0), MONDAY, MONDAY, quantile=0.5, runs=50)
    assert found["3x6"].within == 20


def test_what_the_days_before_take_is_told_apart():
    # all four begin in the first week; nobody begins again in the second
    second = MONDAY + timedelta(weeks=1)
    found = pieces_needed(case(), second, second, quantile=0.9, runs=50)
    assert found == {"3x6": PiecesNeeded(within=0, before=8)}


def test_sessions_up_to_the_day_of_the_plan_are_over():
    found = pieces_needed(
        case(), MONDAY, MONDAY + timedelta(weeks=1), as_of=MONDAY, quantile=0.9, runs=50
    )
    assert found["3x6"] == PiecesNeeded(within=8, before=0)


def test_a_whole_term_needs_what_the_forecast_says():
    term = case(students=6, pass_probability=0.4, sessions=5)
    total = forecast(term, runs=400).item("3x6").total
    last = MONDAY + timedelta(weeks=4)
    for quantile, figure in ((0.5, total.likely), (0.9, total.ample)):
        found = pieces_needed(term, MONDAY, last, quantile=quantile, runs=400)
        assert found["3x6"].within == figure


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 4), st.integers(0, 4), st.sampled_from([0.3, 0.7]))
def test_more_days_never_need_fewer_blanks(one, other, chance):
    short, long = sorted((one, other))
    term = case(pass_probability=chance, sessions=5)
    needed = [
        pieces_needed(term, MONDAY, MONDAY + timedelta(weeks=week), quantile=0.9, runs=100)
        for week in (short, long)
    ]
    assert needed[0]["3x6"].within <= needed[1]["3x6"].within


def test_days_in_the_wrong_order_and_a_share_above_one_are_refused():
    with pytest.raises(ValueError, match="last must not lie before first"):
        pieces_needed(case(), MONDAY, MONDAY - timedelta(days=1), quantile=0.5)
    with pytest.raises(ValueError, match="quantile"):
        pieces_needed(case(), MONDAY, MONDAY, quantile=1.5)


SIZES = [Size(152_400, 76_200), Size(152_400, 50_800)]  # 3 x 6 in, 2 x 6 in


def test_a_blank_bears_its_share_of_the_sheet_by_area():
    # by hand: 10 x 18 in2 + 20 x 12 in2 = 420 in2; 64.00 x 18 / 420 = 2.742857, x 12 = 1.828571
    made = [(SIZES[0], 10), (SIZES[1], 20)]
    assert cost_of_blank(Decimal(64), made, SIZES[0]) == Decimal("2.7429")
    assert cost_of_blank(Decimal(64), made, SIZES[1]) == Decimal("1.8286")


def test_a_bar_is_shared_by_length():
    # by hand: 58.00 over 39 pieces of 6 in = 1.487179
    assert cost_of_blank(Decimal(58), [(Size(152_400), 39)], Size(152_400)) == Decimal("1.4872")


@given(st.decimals(0, 10_000, places=2), st.integers(1, 500), st.integers(1, 500))
def test_all_blanks_together_bear_what_was_spent(spent, many, more):
    made = list(zip(SIZES, (many, more), strict=True))
    total = sum(cost_of_blank(spent, made, size) * count for size, count in made)
    assert abs(total - spent) <= Decimal("0.00005") * (many + more)


def test_the_cost_of_a_blank_that_was_not_made_is_refused():
    with pytest.raises(ValueError, match="was made"):
        cost_of_blank(Decimal(1), [(SIZES[0], 0)], SIZES[0])
    with pytest.raises(ValueError, match="spent"):
        cost_of_blank(Decimal(-1), [(SIZES[0], 1)], SIZES[0])
