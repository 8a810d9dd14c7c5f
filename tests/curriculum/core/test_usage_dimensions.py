"""Every step of every figure is dimensionally sound: worked again with pint's Quantity objects."""

from __future__ import annotations

from typing import Any

import pytest

from curriculum.core.usage import usage
from shared.units import ureg
from tests.bench.usage import steps_of, unit_of, with_quantities
from tests.curriculum.core.usage_cases import CASES, PIECES, case_of


@pytest.mark.parametrize("row", CASES, ids=lambda row: row["title"])
def test_every_step_has_the_dimension_it_says(row: dict[str, Any]) -> None:
    for step in steps_of(usage(*case_of(row, pieces=PIECES))):
        if not step.inputs:  # a bare 0 has any dimension
            continue
        found = with_quantities(step, compile(step.expression, "<step>", "eval"))
        assert found.check(ureg.Quantity(1, unit_of(step.unit) or "dimensionless").units), (
            step.label,
            found.units,
            step.unit,
        )
