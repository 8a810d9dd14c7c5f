"""Drawings are to scale, legible and whole, whatever the setup's numbers are."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from itertools import combinations
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box

from curriculum.core.drawing import (
    DRAWN,
    JointDrawing,
    describe,
    draw_joint,
    joint_svg,
    symbol_svg,
)
from curriculum.core.drawing.weld import corner_beads, groove_beads, layers
from curriculum.core.spec import Joint, Pass, Piece, Setup
from shared.units import Measure, Range

from .contact_sheet import CASES, contact_sheet
from .setups import exercise, length, setup

SVG = "{http://www.w3.org/2000/svg}"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def points_of(element: ElementTree.Element) -> list[tuple[float, float]]:
    if "d" in element.attrib or "points" in element.attrib:
        numbers = [
            float(n) for n in NUMBER.findall(element.get("d") or element.get("points") or "")
        ]
        return list(zip(numbers[::2], numbers[1::2], strict=True))
    if element.tag == f"{SVG}line":
        x1, y1, x2, y2 = (float(element.get(k) or "nan") for k in ("x1", "y1", "x2", "y2"))
        return [(x1, y1), (x2, y2)]
    if element.tag in (f"{SVG}text", f"{SVG}rect"):
        return [(float(element.get("x") or "nan"), float(element.get("y") or "nan"))]
    return []


def lengths(low: float, high: float) -> st.SearchStrategy[Measure]:
    return st.floats(low, high).map(lambda v: Measure.of(round(v, 5), "m"))


def ranges(high: float) -> st.SearchStrategy[Range]:
    """Bounds that may meet, one-sided too."""

    def made(pair: tuple[float, float, int]) -> Range:
        low, top = sorted((round(pair[0], 5), round(pair[1], 5)))
        return Range.of(*((low, top), (None, top), (top, top))[pair[2]], "m")

    return st.tuples(st.floats(0, high), st.floats(high / 20, high), st.integers(0, 2)).map(made)


def maybe(strategy: st.SearchStrategy) -> st.SearchStrategy:
    return st.none() | strategy


def angles(low: float, high: float) -> st.SearchStrategy[Measure]:
    return st.integers(int(low), int(high)).map(lambda v: Measure.of(v, "deg"))


@st.composite
def any_setup(draw: st.DrawFn) -> Setup:
    kind = draw(st.sampled_from(sorted(DRAWN)))
    thickness = draw(lengths(0.0008, 0.03))
    t = thickness.value
    # Sizes stand in the proportions that welds have, from the very small to the too large.
    joint = Joint(
        kind=kind,
        root_opening=draw(maybe(ranges(1.2 * t))),
        root_face=draw(maybe(lengths(0.0, 0.6 * t))),
        groove_angle=draw(maybe(angles(10, 80))),
        bevel_angle=draw(maybe(angles(5, 50))),
        corner_angle=draw(maybe(angles(60, 130))),
        leg=draw(maybe(ranges(2 * t))),
        leg_2=draw(maybe(ranges(2 * t))),
        overlap=draw(maybe(lengths(0.005, 0.05))),
        gap=draw(maybe(ranges(0.2 * t))),
        contour=draw(st.sampled_from(["flat", "convex", "concave"])),
        face_reinforcement=draw(maybe(ranges(0.8 * t))),
        root_reinforcement=draw(maybe(ranges(0.8 * t))),
        face_width=draw(maybe(ranges(4 * t))),
        bead_width=draw(maybe(ranges(4 * t))),
        bead_height=draw(maybe(ranges(0.5 * t))),
        beads=draw(st.integers(1, 16)),
        bead_overlap=draw(st.floats(0, 0.8)),
        backing=draw(st.booleans()),
        melt_through=draw(st.booleans()),
    )
    bar = Piece(
        form="backing", count=1, thickness=length("1/4 in"), width=length("1-1/2 in"),
        length=length("7 in"),
    )  # fmt: skip
    return Setup(
        key="a",
        base_metal="steel",
        thickness=thickness,
        joint=joint,
        pieces=(bar,) if joint.backing and draw(st.booleans()) else (),
        passes=tuple(Pass(technique="stringer") for _ in range(draw(st.integers(0, 7)))),
    )


def drawn(one: Setup, system: str = "us", **more) -> JointDrawing:
    return draw_joint(exercise("SMAW", one), one, system=system, **more)


@settings(max_examples=120, deadline=None)
@given(one=any_setup(), system=st.sampled_from(["us", "metric"]))
def test_everything_lies_in_the_frame_and_measures_are_to_scale(one: Setup, system: str) -> None:
    drawing = drawn(one, system)
    root = ElementTree.fromstring(drawing.svg("x"))
    width, height = (float(v) for v in root.get("viewBox", "").split()[2:])
    assert width >= 736
    for element in root.iter():
        for x, y in points_of(element):
            assert 0 <= x <= width, element.attrib
            assert 0 <= y <= height, element.attrib
    for text in drawing.canvas.texts:
        left, top, right, bottom = text.box
        assert left >= 0, text
        assert top >= 0, text
        assert right <= width, text
        assert bottom <= height, text
    scale = float(root.get("data-scale", "nan"))
    for line in root.iter(f"{SVG}line"):
        (x1, y1), (x2, y2) = points_of(line)
        meant = float(line.get("data-si", "nan")) * scale
        assert math.hypot(x2 - x1, y2 - y1) == pytest.approx(meant, abs=0.03)


@settings(max_examples=120, deadline=None)
@given(one=any_setup(), system=st.sampled_from(["us", "metric"]))
def test_no_figure_lies_on_the_part_or_on_another_figure(one: Setup, system: str) -> None:
    canvas = drawn(one, system).canvas
    figures = [t for t in canvas.texts if not t.in_weld]
    assert figures
    part = [Polygon(p).buffer(0) for p in (*canvas.solids, *canvas.welds)]
    for text in figures:
        area = box(*text.box)
        assert all(area.intersection(p).area < 1 for p in part), text
    for a, b in combinations(figures, 2):
        assert box(*a.box).intersection(box(*b.box)).area < 1, (a, b)


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize(("process", "one", "pass_no"), CASES)
def test_figures_of_common_length_fit_the_width_asked_for(
    process: str, one: Setup, pass_no: int | None, system: str
) -> None:
    drawing = drawn(one, system, pass_no=pass_no)
    assert drawing.width == 736
    sizes = [float(n) for n in re.findall(r'font-size="([\d.]+)"', drawing.svg("x"))]
    assert sizes.count(40) == sum(not t.in_weld for t in drawing.canvas.texts)


@pytest.mark.parametrize(("process", "one", "pass_no"), CASES)
def test_every_element_carries_its_ink_and_nothing_that_the_policy_forbids(
    process: str, one: Setup, pass_no: int | None
) -> None:
    job = exercise(process, one)
    texts = [joint_svg(job, one, pass_no=pass_no, ident="here"), symbol_svg(job, one, ident="sy")]
    for text in filter(None, texts):
        root = ElementTree.fromstring(text)
        assert root.get("role") == "img"
        title = root.find(f"{SVG}title")
        assert title is not None
        assert title.get("id") == root.get("aria-labelledby")
        assert title.text
        for element in root.iter():
            assert "style" not in element.attrib
            assert element.tag not in (f"{SVG}script", f"{SVG}style")
            if element.tag not in (f"{SVG}svg", f"{SVG}title"):
                assert element.get("fill"), element.attrib
    assert len(set(re.findall(r'id="([^"]+)"', "".join(texts)))) == len([t for t in texts if t])


def test_paper_has_no_classes_and_screen_has_them() -> None:
    one = setup("tee fillet", leg="3/8 in", passes=3)
    assert "class=" not in joint_svg(exercise("SMAW", one), one, paper=True)
    assert 'class="f-weld"' in joint_svg(exercise("SMAW", one), one)


def test_groove_faces_stand_at_the_stated_angle_and_opening() -> None:
    one = setup("single V", groove_angle="60 deg", root_opening="1/8 in", root_face="1/16 in")
    drawing = drawn(one)
    left, right = drawing.canvas.solids
    (xl, yb), (_, knee), (tl, top) = left[1:4]
    (xr, _), (kr, _), (tr, _) = right[1:4]
    assert xr - xl == pytest.approx(0.125 * 0.0254 * drawing.scale)
    assert yb - knee == pytest.approx(0.0625 * 0.0254 * drawing.scale)
    assert yb - top == pytest.approx(0.375 * 0.0254 * drawing.scale)
    for run in (xl - tl, tr - kr):
        assert math.degrees(math.atan2(run, knee - top)) == pytest.approx(30)


def test_one_pass_of_a_fillet_fills_half_the_square_of_its_leg() -> None:
    (bead,), _ = corner_beads((0, 0), (60, 0), (0, -60), 1, None)
    assert Polygon(bead).area == pytest.approx(60 * 60 / 2)
    # A parabola over the chord adds two thirds of chord times rise; ten chords come within 1 %.
    (round_,), _ = corner_beads((0, 0), (60, 0), (0, -60), 1, 10.0)
    assert Polygon(round_).area == pytest.approx(1800 + 2 / 3 * math.hypot(60, 60) * 10, rel=0.01)


def test_layers_grow_by_one_bead_from_the_root() -> None:
    assert [layers(n) for n in (1, 2, 3, 5, 6)] == [[1], [1, 1], [1, 2], [1, 2, 2], [1, 2, 3]]


def test_passes_of_a_groove_fill_it_without_overlapping() -> None:
    left, right = [(40.0, 90.0), (40.0, 80.0), (0.0, 0.0)], [(60.0, 90.0), (60.0, 80.0), (100.0, 0)]
    beads, _ = groove_beads(left, right, 4, (6.0, 12.0), (0.0, 0.0))
    shapes = [Polygon(b) for b in beads]
    for a, b in combinations(shapes, 2):
        assert a.intersection(b).area < 0.5
    groove = Polygon([*left, *reversed(right)])
    filled = shapes[0].union(shapes[1]).union(shapes[2]).union(shapes[3])
    assert filled.intersection(groove).area == pytest.approx(groove.area, rel=0.01)


def test_the_pass_at_hand_is_solid_earlier_ones_open_later_ones_dashed() -> None:
    one = setup("tee fillet", leg="3/8 in", passes=3)
    text = joint_svg(exercise("SMAW", one), one, pass_no=2)
    looks = re.findall(r'class="(f-[a-z]+)"', text)
    assert looks == ["f-next", "f-weld", "f-done"]  # the last is drawn first
    with pytest.raises(ValueError, match="pass_no must be 1 to 3, got 4"):
        joint_svg(exercise("SMAW", one), one, pass_no=4)


def test_figures_come_in_the_readers_units_with_words_for_one_sided_limits() -> None:
    one = setup(
        "square groove", "16 ga", root_opening="1/32 in", face_reinforcement="at most 1/16 in"
    )
    us = [t.content for t in drawn(one).canvas.texts]
    metric = [t.content for t in drawn(one, "metric").canvas.texts]
    assert us == ["16 ga", "at most 1/16 in", "1/32 in"]
    assert metric == ["1.52 mm", "at most 1.59 mm", "0.794 mm"]


def test_description_says_what_the_picture_shows() -> None:
    one = setup(
        "single V",
        groove_angle="45 deg",
        root_opening="1/4 in",
        passes=5,
        backing=("1/4 in", "1-1/2 in"),
    )
    assert describe(exercise("SMAW", one), one) == (
        "Section to scale. Single V: thickness 3/8 in, root opening 1/4 in, groove angle 45°, "
        "on a backing. Welded in five passes."
    )


def test_a_kind_without_a_drawing_is_refused_by_name() -> None:
    one = replace(setup(), joint=Joint(kind="U groove"))
    with pytest.raises(ValueError, match="got 'U groove'"):
        joint_svg(exercise("SMAW", one), one)


def test_a_bevel_that_cannot_be_is_refused_with_the_range() -> None:
    one = setup("single bevel", bevel_angle="100 deg")
    with pytest.raises(ValueError, match="0 to 80 degrees, got 100"):
        joint_svg(exercise("SMAW", one), one)


def test_contact_sheet_shows_every_kind() -> None:
    assert {one.joint.kind for _, one, _ in CASES} == DRAWN
    assert contact_sheet().count("<svg") == 2 * len(CASES) - 2  # cuts have no symbol
