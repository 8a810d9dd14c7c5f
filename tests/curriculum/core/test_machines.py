"""A machine's rating plate: what it gives, and for how long."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curriculum.core.machines import Machine

PLATE = {"process": "SMAW", "rated_current": 200.0, "duty": 0.6, "largest_current": 250.0}


def machine(**values):
    return Machine(**(PLATE | values))


# Worked example of the duty cycle formula in welding handbooks, D2 = (I1/I2)^2 D1 (from memory):
# a source of 200 A at 60 % gives 250 A at 38 %, and 155 A all the time.
@pytest.mark.parametrize(
    ("current", "duty"),
    [(200, 0.60), (250, 0.384), (200 * math.sqrt(0.6), 1.0), (100, 1.0), (251, 0.0)],
)
def test_the_duty_goes_with_the_square_of_the_current_up_to_the_largest(current, duty):
    assert machine().duty_at(current) == pytest.approx(duty, rel=1e-9)


@given(st.floats(1, 250), st.floats(1, 250))
def test_more_current_never_welds_longer(one, other):
    low, high = sorted((one, other))
    assert 0 < machine().duty_at(high) <= machine().duty_at(low) <= 1


@pytest.mark.parametrize(
    ("values", "named"),
    [
        ({"rated_current": 0}, "rated_current"),
        ({"rated_current": math.nan}, "rated_current"),
        ({"duty": 60}, "duty"),
        ({"duty": 0}, "duty"),
        ({"largest_current": 199}, "largest_current"),
        ({"largest_current": math.inf}, "largest_current"),
    ],
)
def test_a_plate_that_cannot_be_is_refused(values, named):
    with pytest.raises(ValueError, match=named):
        machine(**values)


def test_no_current_has_no_duty():
    with pytest.raises(ValueError, match="current"):
        machine().duty_at(0)
