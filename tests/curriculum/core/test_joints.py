"""Cross-sections against outlines measured by a geometry library, limits and refusals."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from curriculum.core import spec
from curriculum.core.joints import (
    BUILDERS,
    Bead,
    DoubleBevel,
    DoubleV,
    Edge,
    FlareBevel,
    Geometry,
    JGroove,
    JointError,
    LapFillet,
    OutsideCorner,
    Padding,
    SingleBevel,
    SingleV,
    SquareGroove,
    TeeFillet,
    UGroove,
    build,
)
from curriculum.core.steps import evaluate
from shared.units import Measure, Range

MM = 1e-3
thicknesses = st.floats(0.8, 30)
openings = st.just(0.0) | st.floats(0.2, 8)
crowns = st.just(0.0) | st.floats(0.1, 3)
shares = st.sampled_from([0.0, 1.0]) | st.floats(0.01, 0.99)


def measured(geometry: Geometry) -> float:
    """Return the area shapely finds; the rings must be valid and must not overlap."""
    rings = [shapely.Polygon(ring) for ring in geometry.polygon(segments=3000)]
    assert all(ring.is_valid for ring in rings)
    total = sum(ring.area for ring in rings)
    if len(rings) > 1:
        assert shapely.union_all(rings).area == pytest.approx(total, rel=1e-9)
    return total


def agrees(make: Callable[..., Geometry], **numbers: Any) -> Geometry:
    try:
        geometry = make(**numbers)
    except JointError:
        assume(False)
        raise
    outline = measured(geometry)
    assert geometry.area == pytest.approx(outline, rel=1e-6, abs=1e-15)
    for step in geometry.explain():
        values = {name: one.value for name, one in step.inputs.items()}
        assert evaluate(step.expression, values) == pytest.approx(step.value, rel=1e-9, abs=1e-30)
    return geometry


groove = st.fixed_dictionaries(
    {"thickness": thicknesses, "root_opening": openings, "face": crowns, "root": crowns}
)


def as_groove(numbers: dict[str, float]) -> dict[str, float]:
    return {
        "thickness": numbers["thickness"] * MM,
        "root_opening": numbers["root_opening"] * MM,
        "face_reinforcement": numbers["face"] * MM,
        "root_reinforcement": numbers["root"] * MM,
    }


@settings(max_examples=15, deadline=None)
@given(groove)
def test_a_square_groove_has_the_area_of_its_outline(numbers: dict[str, float]) -> None:
    agrees(SquareGroove, **as_groove(numbers))


@pytest.mark.parametrize("kind", [SingleV, DoubleV])
@settings(max_examples=15, deadline=None)
@given(numbers=groove, angle=st.floats(5, 120), share=shares)
def test_v_grooves_have_the_area_of_their_outline(
    kind: type[SingleV], numbers: dict[str, float], angle: float, share: float
) -> None:
    face = share * numbers["thickness"] * MM
    agrees(kind, **as_groove(numbers), groove_angle=angle, root_face=face)


@pytest.mark.parametrize("kind", [SingleBevel, DoubleBevel])
@settings(max_examples=15, deadline=None)
@given(numbers=groove, angle=st.floats(5, 60), share=shares)
def test_bevel_grooves_have_the_area_of_their_outline(
    kind: type[SingleBevel], numbers: dict[str, float], angle: float, share: float
) -> None:
    face = share * numbers["thickness"] * MM
    agrees(kind, **as_groove(numbers), bevel_angle=angle, root_face=face)


@settings(max_examples=15, deadline=None)
@given(
    numbers=groove,
    angle=st.floats(2, 40),
    share=st.just(0.0) | st.floats(0.01, 0.5),
    radius=st.floats(0.05, 0.9),
)
def test_j_and_u_grooves_have_the_area_of_their_outline(
    numbers: dict[str, float], angle: float, share: float, radius: float
) -> None:
    depth = numbers["thickness"] * (1 - share)
    rest = as_groove(numbers) | {
        "root_face": share * numbers["thickness"] * MM,
        "groove_radius": radius * depth * MM,
    }
    agrees(JGroove, **rest, bevel_angle=angle)
    agrees(UGroove, **rest, groove_angle=2 * angle)


@settings(max_examples=25, deadline=None)
@given(
    leg=st.floats(1, 15),
    ratio=st.floats(0.5, 1.5),
    contour=st.sampled_from(["flat", "convex", "concave"]),
    height=st.floats(0.01, 0.1),
)
def test_fillets_have_the_area_of_their_outline(
    leg: float, ratio: float, contour: str, height: float
) -> None:
    agrees(
        TeeFillet,
        thickness=10 * MM,
        leg=leg * MM,
        leg_2=leg * ratio * MM,
        contour=contour,
        convexity=None if contour == "flat" else height * leg * MM,
    )


@settings(max_examples=25, deadline=None)
@given(
    thickness=st.floats(0.8, 12),
    angle=st.floats(40, 150),
    cover=shares,
    opening=openings,
    crown=st.just(0.0) | st.floats(0.02, 0.4),
    root=crowns,
)
def test_outside_corners_have_the_area_of_their_outline(
    thickness: float, angle: float, cover: float, opening: float, crown: float, root: float
) -> None:
    agrees(
        OutsideCorner,
        thickness=thickness * MM,
        corner_angle=angle,
        overlap=cover * thickness * MM,
        root_opening=opening * MM,
        face_reinforcement=crown * thickness * MM,
        root_reinforcement=root * MM,
    )


@settings(max_examples=25, deadline=None)
@given(
    width=st.floats(2, 20),
    steep=st.floats(0.02, 0.5),
    beads=st.integers(1, 12),
    overlap=st.just(0.0) | st.floats(0.001, 0.9),
)
def test_beads_and_pads_have_the_area_of_their_outline(
    width: float, steep: float, beads: int, overlap: float
) -> None:
    size = {"width": width * MM, "height": steep * width * MM, "beads": beads}
    one = agrees(Bead, **size)
    pad = agrees(Padding, **size, overlap=overlap)
    assert pad.area <= one.area * (1 + 1e-12)


def test_edge_and_flare_bevel_have_the_area_of_their_outline() -> None:
    agrees(Edge, thickness=2 * MM, gap=0.5 * MM, face_reinforcement=1 * MM)
    agrees(FlareBevel, groove_radius=6 * MM, face_reinforcement=1 * MM)


# -- limits


@given(st.floats(1, 20), st.floats(0.5, 6), st.floats(0, 1))
def test_a_v_without_angle_is_a_square_groove(t: float, gap: float, share: float) -> None:
    numbers = {"thickness": t * MM, "root_opening": gap * MM, "face_reinforcement": 0.3 * MM}
    square = SquareGroove(**numbers).area
    face = share * t * MM
    assert SingleV(**numbers, groove_angle=0, root_face=face).area == pytest.approx(square)
    assert SingleBevel(**numbers, bevel_angle=0, root_face=face).area == pytest.approx(square)


@given(st.floats(1, 20), st.floats(0.5, 6), st.floats(0, 120))
def test_a_root_face_as_thick_as_the_plate_leaves_a_square_groove(
    t: float, gap: float, angle: float
) -> None:
    numbers = {"thickness": t * MM, "root_opening": gap * MM, "face_reinforcement": 0.3 * MM}
    square = SquareGroove(**numbers).area
    for kind in (SingleV, DoubleV):
        assert kind(**numbers, groove_angle=angle, root_face=t * MM).area == pytest.approx(square)


def test_worked_by_hand() -> None:
    # 60 deg on 10 mm, 2 mm open, 1 mm root face: 2 x 10 + 9² x tan 30 = 20 + 46.765 = 66.765 mm²
    v = SingleV(thickness=10 * MM, root_opening=2 * MM, root_face=1 * MM, groove_angle=60)
    assert v.area == pytest.approx(66.7654e-6, rel=1e-6)
    # half circle of 8 mm: pi x 4² / 2 = 25.133 mm²
    assert Bead(width=8 * MM, height=4 * MM).area == pytest.approx(math.pi * 8e-6)
    # open corner on 2 mm: 2 x 2 / 2 = 2 mm²; half-open 2 x 1 / 2 = 1 mm²; closed nothing
    for cover, area in ((0.0, 2e-6), (1.0, 1e-6), (2.0, 0.0)):
        corner = OutsideCorner(thickness=2 * MM, overlap=cover * MM)
        assert corner.area == pytest.approx(area, abs=1e-18)


def test_a_j_without_radius_comes_near_its_bevel() -> None:
    bevel = SingleBevel(thickness=12 * MM, root_opening=2 * MM, root_face=2 * MM, bevel_angle=20)
    sharp = JGroove(
        thickness=12 * MM,
        root_opening=2 * MM,
        root_face=2 * MM,
        bevel_angle=20,
        groove_radius=0.0001 * MM,
    )
    assert sharp.area == pytest.approx(bevel.area, rel=1e-4)


def test_pads_range_from_beads_side_by_side_to_one_bead() -> None:
    size = {"width": 8 * MM, "height": 2 * MM}
    apart = Padding(**size, beads=6, overlap=0.0).area
    assert apart == pytest.approx(Bead(**size, beads=6).area)
    assert Padding(**size, beads=6, overlap=0.5).area < apart
    assert Padding(**size, beads=1, overlap=0.5).area == pytest.approx(Bead(**size).area)


# -- refusals


@pytest.mark.parametrize(
    ("make", "where", "why"),
    [
        (
            lambda: SingleV(thickness=6 * MM, root_face=7 * MM, groove_angle=60),
            "root_face",
            "more than the plate is thick",
        ),
        (
            lambda: SingleV(thickness=6 * MM, groove_angle=200),
            "groove_angle",
            "between 0 and 150",
        ),
        (
            lambda: SingleV(thickness=6 * MM, groove_angle=math.nan),
            "groove_angle",
            "between 0 and 150",
        ),
        (lambda: SquareGroove(thickness=math.nan), "thickness", "more than 0"),
        (
            lambda: SquareGroove(thickness=3 * MM, root_opening=-1 * MM),
            "root_opening",
            "0 or more",
        ),
        (
            lambda: SquareGroove(thickness=3 * MM, face_reinforcement=2 * MM, face_width=3 * MM),
            "face_reinforcement",
            "at most half the width",
        ),
        (
            lambda: SingleV(thickness=10 * MM, groove_angle=60, face_width=5 * MM),
            "face_width",
            "narrower than the groove",
        ),
        (
            lambda: UGroove(thickness=10 * MM, groove_angle=20, groove_radius=20 * MM),
            "groove_radius",
            "does not fit a depth",
        ),
        (
            lambda: TeeFillet(thickness=6 * MM, leg=6 * MM, contour="concave", convexity=2 * MM),
            "convexity",
            "cut into the plate",
        ),
        (
            lambda: TeeFillet(thickness=6 * MM, leg=6 * MM, gap=7 * MM),
            "gap",
            "as wide as the leg",
        ),
        (
            lambda: TeeFillet(thickness=6 * MM, leg=6 * MM, contour="round"),
            "contour",
            "no such contour",
        ),
        (lambda: LapFillet(thickness=2 * MM, leg=4 * MM), "leg", "does not fit the edge"),
        (
            lambda: OutsideCorner(thickness=2 * MM, overlap=3 * MM),
            "overlap",
            "more than the sheet is thick",
        ),
        (lambda: Bead(width=8 * MM, height=1e-9), "bead_height", "under 0.001 mm"),
        (lambda: Bead(width=8 * MM, height=5 * MM), "bead_height", "at most half the width"),
        (lambda: Bead(width=8 * MM, height=2 * MM, beads=0), "beads", "between 1 and"),
        (
            lambda: Padding(width=8 * MM, height=2 * MM, beads=3, overlap=0.95),
            "bead_overlap",
            "between 0 and 0.9",
        ),
    ],
)
def test_what_cannot_be_is_refused_at_its_place(
    make: Callable[[], Geometry], where: str, why: str
) -> None:
    with pytest.raises(JointError, match=why) as refused:
        make()
    assert refused.value.where == where


# -- from what is stated


def mm(value: float) -> Measure:
    return Measure(value * MM, "m", f"{value:g} mm")


def span(low: float, high: float) -> Range:
    return Range(low * MM, high * MM, None, "m", f"{low:g} to {high:g} mm")


STATED = {
    "square groove": {"root_opening": span(1, 1)},
    "single V": {"groove_angle": Measure(60, "deg", "60 deg"), "root_face": mm(1)},
    "double V": {"bevel_angle": Measure(30, "deg", "30 deg")},
    "single bevel": {"bevel_angle": Measure(45, "deg", "45 deg")},
    "double bevel": {"groove_angle": Measure(45, "deg", "45 deg")},
    "J groove": {"bevel_angle": Measure(20, "deg", "20 deg"), "groove_radius": mm(4)},
    "U groove": {"groove_angle": Measure(20, "deg", "20 deg"), "groove_radius": mm(4)},
    "tee fillet": {"leg": span(6, 8)},
    "lap fillet": {"leg": span(6, 6), "overlap": mm(20)},
    "outside corner": {},
    "edge": {"face_reinforcement": span(1, 1)},
    "flare bevel": {"groove_radius": mm(6)},
    "bead": {"bead_width": span(8, 8)},
    "padding": {"bead_width": span(8, 8), "beads": 4, "bead_overlap": 0.4},
}


@pytest.mark.parametrize("kind", spec.JOINT_KINDS)
def test_every_kind_is_built_from_what_is_stated_but_a_cut(kind: str) -> None:
    if kind == "none":
        with pytest.raises(JointError, match=r"no geometry for 'none'; there are .*tee fillet"):
            build(spec.Joint(kind=kind), 10 * MM)
    else:
        joint = spec.Joint(kind=kind, **STATED[kind])  # type: ignore[arg-type]
        agrees(build, joint=joint, thickness_m=10 * MM)


def test_a_range_counts_with_its_middle_and_says_so() -> None:
    geometry = build(spec.Joint(kind="tee fillet", leg=span(6, 8)), 10 * MM)
    assert geometry.area == pytest.approx(7 * 7 / 2 * 1e-6)
    assert "its middle" in geometry.explain()[0].inputs["leg"].source


def test_at_most_counts_with_half_where_it_begins_at_nought() -> None:
    most = Range(None, 2 * MM, None, "m", "at most 2 mm")
    geometry = build(spec.Joint(kind="square groove", root_opening=most), 3 * MM)
    assert geometry.area == pytest.approx(3e-6)
    assert "half way" in geometry.explain()[0].inputs["root_opening"].source


def test_a_face_that_is_not_stated_is_assumed_in_a_step() -> None:
    joint = spec.Joint(kind="square groove", root_opening=span(1, 1), face_reinforcement=span(1, 1))
    labels = [step.label for step in build(joint, 3 * MM).explain()]
    assert "Width of the face (assumed)" in labels
    wide = build(
        spec.Joint(
            kind="square groove",
            root_opening=span(1, 1),
            face_reinforcement=span(1, 1),
            face_width=span(6, 6),
        ),
        3 * MM,
    )
    assert "Width of the face (assumed)" not in [step.label for step in wide.explain()]


@pytest.mark.parametrize("kind", sorted(set(BUILDERS) - {"square groove", "outside corner"}))
def test_a_missing_number_is_named_with_what_would_do(kind: str) -> None:
    with pytest.raises(JointError, match="needs") as refused:
        build(spec.Joint(kind=kind), 10 * MM)
    assert refused.value.accepts


def test_two_angles_that_disagree_are_refused() -> None:
    joint = spec.Joint(
        kind="single V",
        groove_angle=Measure(60, "deg", "60 deg"),
        bevel_angle=Measure(45, "deg", "45 deg"),
    )
    with pytest.raises(JointError, match="disagrees"):
        build(joint, 10 * MM)


def test_backing_leaves_no_root_reinforcement() -> None:
    joint = spec.Joint(
        kind="single V",
        groove_angle=Measure(45, "deg", "45 deg"),
        root_reinforcement=span(1, 1),
        backing=True,
    )
    with pytest.raises(JointError, match="backing"):
        build(joint, 10 * MM)


@pytest.mark.parametrize(
    "text",
    ["__import__('os')", "a.b", "a if b else c", "f(1)", "True", "x", "1 +", "[1]", "a // 2"],
)
def test_nothing_but_arithmetic_is_evaluated(text: str) -> None:
    with pytest.raises(ValueError, match="arithmetic"):
        evaluate(text, {"a": 1.0, "b": 2.0, "c": 3.0})


def test_arithmetic_is_evaluated() -> None:
    assert evaluate("-(a + b) ** 2 / 4 * c - 1e-3", {"a": 1, "b": 3, "c": 2}) == -8.001
