"""The metal of an attempt: by pass and by metal, over-weld, the fewest passes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from curriculum.core import spec
from curriculum.core.defaults import defaults
from curriculum.core.usage import pass_shares, usage
from shared.units import parse_range
from tests.curriculum.core.usage_cases import (
    items,
    length,
    named,
)


def test_passes_share_the_metal_and_each_takes_its_time() -> None:
    exercise, setup = named("Tee of three passes")
    whole = usage(exercise, setup)
    root = spec.Electrode(type="E6010", diameter=length("1/8 in"))
    mixed = replace(
        setup,
        passes=(
            spec.Pass(technique="root", electrode=root),
            spec.Pass(technique="stringer", count=2),
        ),
    )
    used = usage(exercise, mixed)
    shares = [
        step.value
        for item in items(used, "electrode")
        for step in item.steps
        if step.label.startswith("Share")
    ]
    (one,) = items(whole, "electrode")
    assert sum(shares) == pytest.approx(one.steps[0].value, rel=1e-9)
    assert shares[1] == pytest.approx(2 * shares[0])
    assert used.time.arc == pytest.approx(whole.time.arc)


def test_a_slower_or_hotter_pass_has_the_larger_share() -> None:
    passes = (
        spec.Pass(
            technique="root",
            current=parse_range("90 A", "current"),
            travel_speed=parse_range("3 in/min", "speed"),
        ),
        spec.Pass(
            technique="cap",
            current=parse_range("120 A", "current"),
            travel_speed=parse_range("6 in/min", "speed"),
        ),
    )
    shares = pass_shares(*named("Tee of three passes", passes=passes))
    # 90 / 3 = 30 against 120 / 6 = 20
    assert shares == pytest.approx([0.6, 0.4])


def test_over_weld_and_runoff_are_steps_that_can_be_changed() -> None:
    exercise, setup = named("Single V on backing")
    used = usage(exercise, setup)
    assert used.weld.volume == pytest.approx(used.weld.area * 8 * 0.0254)
    (item,) = items(used, "electrode")
    assert "over_weld" in item.steps[0].inputs
    lean = usage(exercise, setup, defaults=defaults().with_values("our shop", over_weld=1.1))
    (less,) = items(lean, "electrode")
    assert less.quantity == pytest.approx(item.quantity * 1.1 / 1.3)
    assert less.steps[0].inputs["over_weld"].source.endswith("our shop")


def test_the_pass_a_student_is_on_shows_its_share() -> None:
    exercise, setup = named("Tee of three passes")
    passes = (spec.Pass(technique="root"), spec.Pass(technique="stringer", count=2))
    weld = usage(exercise, replace(setup, passes=passes)).weld
    assert [one.number for one in weld.passes] == [1, 2]
    assert [one.share for one in weld.passes] == pytest.approx([1 / 3, 2 / 3])
    assert sum(one.area for one in weld.passes) == pytest.approx(weld.area)
    assert sum(one.mass for one in weld.passes) == pytest.approx(weld.deposit)
    for one in weld.passes:
        assert one.steps[-1].value == one.mass


def test_metal_is_weighed_by_metal() -> None:
    exercise, setup = named("Tee of three passes")
    stainless = spec.Electrode(type="E309L-16", diameter=length("1/8 in"))
    passes = (spec.Pass(technique="root"), spec.Pass(technique="cap", electrode=stainless))
    used = usage(exercise, replace(setup, passes=passes))
    half = used.weld.volume / 2
    # EN 1993-1-1: 7850 kg/m3; EN 10088-1: 7900 kg/m3 (from memory)
    assert used.weld.metals == pytest.approx({"steel": half * 7850, "stainless": half * 7900})
    assert used.weld.deposit == pytest.approx(sum(used.weld.metals.values()))
    laid = [item.steps[0].value for item in items(used, "electrode")]
    assert sum(laid) == pytest.approx(used.weld.laid)


@pytest.mark.parametrize(
    ("process", "position", "leg", "fewest"),
    [
        # largest single-pass fillet of prequalified procedures, AWS D1.1 (from memory):
        # SMAW flat 3/8 in, horizontal 5/16, vertical 1/2, overhead 5/16; wire 1/2, 3/8, 1/2, 5/16
        ("SMAW", "1F", "3/8 in", 1),
        ("SMAW", "2F", "5/16 in", 1),
        ("SMAW", "2F", "3/8 in", 2),
        ("SMAW", "2F", "1/2 in", 3),
        ("SMAW", "3F up", "3/8 in", 1),
        ("SMAW", "4F", "3/8 in", 2),
        ("GMAW", "2F", "3/8 in", 1),
        ("FCAW", "2F", "1/2 in", 2),
        ("FCAW", "1F", "3/4 in", 3),
    ],
)
def test_a_fillet_takes_at_least_the_passes_its_leg_asks_for(
    process: str, position: str, leg: str, fewest: int
) -> None:
    exercise, setup = named(
        "Tee of three passes",
        joint=spec.Joint(kind="tee fillet", leg=parse_range(leg, "length")),
        gas=None,
    )
    exercise = replace(exercise, process=process, position=position)
    least = usage(exercise, setup).weld.least
    assert least is not None
    assert least.count == fewest
    assert least.steps[-1].value == pytest.approx(fewest)
    assert "D1.1" in least.source


@pytest.mark.parametrize(
    ("thickness", "position", "fewest"),
    [
        # root pass flat 3/8 in at most, layers of 3/16 in: AWS D1.1, SMAW (from memory)
        ("3/8 in", "1G", 1),
        ("1/2 in", "1G", 2),
        ("1 in", "1G", 5),
        ("3/8 in", "4G", 2),
    ],
)
def test_a_groove_takes_at_least_its_root_and_layers(
    thickness: str, position: str, fewest: int
) -> None:
    exercise, setup = named("Single V on backing", thickness=length(thickness))
    least = usage(replace(exercise, position=position), setup).weld.least
    assert least is not None
    # nominal sizes: 3/8 in is 9.5 mm, 1 in is 25.4 mm: (25.4 - 10) / 5 = 3.08
    assert least.count == fewest


def test_fewer_passes_than_that_are_noticed() -> None:
    exercise, setup = named("Single V on backing", thickness=length("1 in"))
    few = replace(setup, passes=(spec.Pass(technique="root"), spec.Pass(technique="fill", count=2)))
    least = usage(exercise, few).weld.least
    assert least is not None
    assert least.stated == 3
    assert least.too_few
    enough = replace(setup, passes=(spec.Pass(technique="stringer", count=12),))
    least = usage(exercise, enough).weld.least
    assert least is not None
    assert not least.too_few


def test_beads_and_pads_have_no_fewest_passes() -> None:
    assert usage(*named("Strike and run")).weld.least is None
