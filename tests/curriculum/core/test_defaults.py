"""Planning figures: each as the trade was asked for it, with its range, source and words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from curriculum.core import marked_figures
from curriculum.core.defaults import STATUS, defaults, read_default, table
from curriculum.core.materials import density
from curriculum.core.sentence import Sentence
from curriculum.core.usage import cut_of, usual
from tests.curriculum.core.setups import exercise, setup

# Planning figures, from memory, no source read: what it is, value, low, high, unit of the row.
# Ranges in the rows may be wider than these, never narrower.
PLANNED: list[tuple[str, float, float, float, str]] = [
    ("electrode_stub", 3, 2, 5, "in"),
    ("electrode_spoiled", 0.07, 0.02, 0.07, "1"),
    ("electrode_spoiled_late", 0.02, 0.02, 0.07, "1"),
    ("rod_loss", 0.12, 0.05, 0.20, "1"),
    ("regrinds", 5, 5, 5, "1/h"),
    ("regrinds_late", 1.5, 1.5, 1.5, "1/h"),
    ("first_weeks", 3, 3, 3, "week"),
    ("dip_length", 1 / 8, 1 / 8, 1 / 8, "in"),
    ("snap_length", 3 / 8, 3 / 8, 3 / 8, "in"),
    ("tungsten_usable", 4, 4, 4, "in"),
    ("preflow_gtaw", 0.5, 0.5, 0.5, "s"),
    ("postflow_per_ampere", 0.1, 0.1, 0.1, "s/A"),
    ("postflow_least", 8, 8, 8, "s"),
    ("starts_gtaw", 1, 1, 1, "1/in"),  # 6 on a 6 in coupon
    ("gas_leak", 0.10, 0.05, 0.25, "1"),
    ("grinding_disc", 1 / 8, 1 / 8, 1 / 8, "1"),  # one for 8 coupons
    ("over_weld", 1.3, 1.1, 1.6, "1"),
    ("practice_factor", 1.8, 1.3, 3.0, "1"),
    ("lead_gas", 2, 2, 2, "day"),
    ("lead_filler", 5, 5, 5, "day"),
    ("lead_metal", 7, 7, 7, "day"),
    ("lead_pre_cut", 15, 15, 15, "day"),
    ("approval", 8, 3, 20, "day"),
]
# Travel speed, in/min: the row that is found by these words of its source.
SPEEDS = [
    ("GTAW sheet", 4, 3, 6),
    ("GTAW 11 ga", 3.5, 2, 5),
    ("GTAW pipe root", 2, 1.5, 3),
    ("GTAW aluminium", 5, 4, 8),
    ("SMAW E6010 1/8 in beads", 7, 5, 9),
    ("SMAW open root", 4, 3, 5),
    ("SMAW E7018 1/8 in flat and horizontal", 6, 4, 8),
    ("SMAW E7018 1/8 in vertical up", 3.5, 2, 5),
    ("SMAW overhead", 6, 5, 8),
    ("GMAW short circuit flat", 13, 10, 18),
    ("GMAW short circuit vertical down", 16, 12, 22),
    ("GMAW short circuit vertical up", 5, 4, 7),
    ("FCAW horizontal", 12, 9, 16),
    ("OFW 14 ga", 3, 2, 5),
    ("flame cut in 3/8 in plate", 16, 12, 20),
]


def rows(node: Any) -> Iterator[dict[str, Any]]:
    """Every row of a table that names its source and status."""
    if isinstance(node, dict):
        if "status" in node and "source" in node:
            yield node
        node = list(node.values())
    if isinstance(node, list):
        for one in node:
            yield from rows(one)


@pytest.mark.parametrize(("name", "value", "low", "high", "unit"), PLANNED)
def test_a_planning_figure_is_as_planned(
    name: str, value: float, low: float, high: float, unit: str
) -> None:
    row = table("consumables")["default"][name]
    assert (row["value"], row["unit"]) == (pytest.approx(value), unit)
    assert row["low"] <= low * (1 + 1e-9)
    assert high <= row["high"] * (1 + 1e-9)
    assert row["status"] == "memory"
    assert defaults()[name].value > 0


@pytest.mark.parametrize(("words", "value", "low", "high"), SPEEDS)
def test_a_travel_speed_is_as_planned(words: str, value: float, low: float, high: float) -> None:
    (row,) = (
        one["speed"]
        for one in table("consumables")["travel_speed"]
        if one["speed"]["source"].startswith(words)
    )
    assert [row[key] for key in ("value", "low", "high", "unit")] == [value, low, high, "in/min"]


@pytest.mark.parametrize(
    ("prep", "form", "inches"),
    [
        ("sheared", "sheet", 0.0),
        ("sawn", "bar", 1 / 16),
        ("cold saw", "bar", 3 / 32),
        ("chop saw", "bar", 1 / 8),
        ("flame cut", "plate", 3 / 32),
    ],
)
def test_a_kerf_is_as_planned(prep: str, form: str, inches: float) -> None:
    # planning figures, from memory
    cut = cut_of(form, prep)
    assert cut.kerf.value == pytest.approx(inches * 0.0254)
    if prep == "flame cut":
        assert cut.dressing is not None
        assert cut.dressing.value == pytest.approx(0.0254 / 16)


@pytest.mark.parametrize(
    ("process", "position", "made", "minutes", "first_pass"),
    [
        # planning figures, from memory: minutes (low, high), first coupons that pass ± 0.15
        ("GTAW", "1G", setup("square groove", "14 ga"), (20, 30, 45), 0.28),
        ("SMAW", "2F", setup("tee fillet"), (35, 55, 70), 0.42),
        ("SMAW", "3F up", setup("tee fillet"), (35, 55, 70), 0.32),
        ("SMAW", "1G", setup("padding"), (60, 90, 120), 0.55),
        ("GMAW", "2F", setup("lap fillet", "10 ga"), (20, 30, 45), 0.50),
        ("GMAW", "1F", setup("outside corner", "14 ga"), (20, 30, 45), 0.50),
        ("SMAW", "1G", setup("bead"), None, 0.55),
        ("SMAW", "1G", setup("single V"), None, 0.35),
    ],
)
def test_an_attempt_usually_takes_and_yields_what_was_planned(
    process: str,
    position: str,
    made: Any,
    minutes: tuple[float, float, float] | None,
    first_pass: float,
) -> None:
    found = usual(exercise(process, made, position=position), made)
    assert found["first_pass"].value == first_pass
    assert found["first_pass"].high - first_pass == pytest.approx(0.15)
    assert ("minutes" in found) is (minutes is not None)
    if minutes is not None:
        one = found["minutes"]
        assert tuple(x / 60 for x in (one.low, one.value, one.high)) == minutes


@pytest.mark.parametrize("name", ["consumables", "filler", "materials", "bead_size", "heat_input"])
def test_every_source_of_a_figure_is_marked_for_translation(name: str) -> None:
    content = {key: value for key, value in table(name).items() if key != "source"}
    for row in rows(content):
        assert row["source"] in marked_figures.SOURCES
        assert row["status"] in STATUS


def test_a_figure_says_its_range_and_source_in_any_language() -> None:
    source = defaults().input("electrode_stub").source
    assert source == ("default, usual range 2 to 5 in: stub learners throw away (from memory)")
    assert isinstance(source, Sentence)
    words = {
        "stub learners throw away": "lo que se tira",
        "from memory": "de memoria",
        "default, usual range %(span)s: %(source)s": "%(source)s, %(span)s",
        "%(low)s to %(high)s %(unit)s": "de %(low)s a %(high)s %(unit)s",
    }
    said = source.in_words(lambda text: words.get(text, text))
    assert said == "lo que se tira (de memoria), de 2 a 5 in"


def test_a_figure_out_of_its_own_range_is_refused() -> None:
    row = table("consumables")["default"]["rod_loss"] | {"value": 0.9}
    with pytest.raises(ValueError, match="must lie in its range"):
        read_default(row)


@pytest.mark.parametrize("metal", marked_figures.METALS)
def test_every_metal_has_a_density_with_a_source(metal: str) -> None:
    # kg/m3, EN 1993-1-1, EN 10088-1, EN 1999-1-1 (from memory); bronze 0.308 lb/in3
    expected = {"steel": 7850, "stainless": 7900, "aluminium": 2700, "silicon bronze": 8525}
    assert density(metal).value == expected[metal]
    assert str(density(metal).source).startswith(metal)
