"""One key for one thing, whoever writes it."""

from __future__ import annotations

from typing import Any

import pytest

from curriculum.core.spec_key import gas_name, nearest_tenth_um, spec_key
from tests.curriculum.core.usage_cases import (
    length,
)

# -- keys


@pytest.mark.parametrize(
    ("one", "other"),
    [("1/8 in", "3.2 mm"), ("1/16 in", "1.6 mm"), ("3/32 in", "2.4 mm"), ("0.035 in", "0.9 mm")],
)
def test_usual_pairs_of_sizes_are_one_item(one: str, other: str) -> None:
    keys = {
        spec_key("rod", name=name, diameter_m=length(text).value)
        for name, text in (("ER70S-6", one), ("er 70s-6", other))
    }
    assert len(keys) == 1


def test_near_sizes_stay_apart() -> None:
    sheets = [length("11 ga"), length("1/8 in"), length("16 ga"), length("1/16 in")]
    keys = {spec_key("sheet", metal="steel", thickness_m=one.value) for one in sheets}
    assert len(keys) == 4
    assert nearest_tenth_um(0.00635) == nearest_tenth_um(length("1/4 in").value) == 6400


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Argon", "argon"),
        ("Ar", "argon"),
        ("CO2", "carbon dioxide"),
        ("75 Ar/25 CO2", "75 ar/25 co2"),
        ("25 CO2 / 75 Ar", "75 ar/25 co2"),
        ("75% argon, 25% carbon dioxide", "75 ar/25 co2"),
        ("C25", "75 ar/25 co2"),
        ("90 He/7.5 Ar/2.5 CO2", "90 he/7.5 ar/2.5 co2"),
        ("Acetylene", "acetylene"),
    ],
)
def test_gases_have_one_name(text: str, name: str) -> None:
    assert gas_name(text) == name
    assert gas_name(name) == name


@pytest.mark.parametrize(
    ("kind", "numbers", "why"),
    [
        ("glue", {}, "no such kind"),
        ("sheet", {"metal": "steel"}, "needs thickness"),
        ("rod", {"diameter_m": 0.0016}, "needs a name"),
        ("sheet", {"metal": "steel", "thickness_m": float("nan")}, "between 0 and 10 m"),
    ],
)
def test_keys_that_would_not_match_are_refused(
    kind: str, numbers: dict[str, Any], why: str
) -> None:
    with pytest.raises(ValueError, match=why):
        spec_key(kind, **numbers)
