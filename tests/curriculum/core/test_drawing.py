"""Drawings are to scale, legible and whole, whatever the setup's numbers are."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from itertools import combinations
from xml.etree import ElementTree

import pytest
from hypothesis import HealthCheck, Phase, example, given, settings
from hypothesis import strategies as st
from shapely.geometry import Point as Spot
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from curriculum.core.drawing import JointDrawing, describe, draw_joint, joint_svg, pass_picture
from curriculum.core.drawing.canvas import hatching
from curriculum.core.drawing.weld import area, fan_beads, groove_beads, layers
from curriculum.core.joints import JointError, build
from curriculum.core.spec import JOINT_KINDS, Setup
from tests.strategies import sections

from .contact_sheet import CASES, contact_sheet, tacked
from .setups import exercise, setup

SVG = "{http://www.w3.org/2000/svg}"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
SPANISH = {
    "at most %(limit)s": "como máximo %(limit)s",
    "at least %(limit)s": "como mínimo %(limit)s",
    "Tacks %(count)s": "Puntos %(count)s",
    "Tacks %(count)s × %(length)s": "Puntos de soldadura %(count)s × %(length)s",
}
"""The longest words that a reader of Spanish may see."""

any_drawing = given(one=sections(), system=st.sampled_from(["us", "metric"]), spanish=st.booleans())
often = settings(
    max_examples=60,
    deadline=None,
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
)


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


def frame_of(root: ElementTree.Element) -> tuple[float, float, float, float]:
    left, top, width, height = (float(v) for v in root.get("viewBox", "").split())
    return left, top, left + width, top + height


def drawn(one: Setup, system: str = "us", spanish: bool = False, **more) -> JointDrawing:
    say = (lambda text: SPANISH.get(text, text)) if spanish else str
    return draw_joint(exercise("SMAW", one), one, system=system, say=say, **more)


@often
@any_drawing
def test_everything_lies_in_the_frame(one: Setup, system: str, spanish: bool) -> None:
    drawing = drawn(one, system, spanish)
    root = ElementTree.fromstring(drawing.svg("x"))
    left, top, right, bottom = frame_of(root)
    assert right - left >= 736
    for element in root.iter():
        for x, y in points_of(element):
            assert left <= x <= right, element.attrib
            assert top <= y <= bottom, element.attrib
    for text in drawing.canvas.texts:
        assert left <= text.box[0], text
        assert text.box[2] <= right, text
        assert top <= text.box[1], text
        assert text.box[3] <= bottom, text


@often
@any_drawing
def test_every_dimension_line_is_as_long_as_its_number(
    one: Setup, system: str, spanish: bool
) -> None:
    root = ElementTree.fromstring(drawn(one, system, spanish).svg("x"))
    scale = float(root.get("data-scale", "nan"))
    lines = list(root.iter(f"{SVG}line"))
    assert "thickness" in {line.get("data-dimension") for line in lines}
    for line in lines:
        (x1, y1), (x2, y2) = points_of(line)
        meant = float(line.get("data-si", "nan"))
        assert math.hypot(x2 - x1, y2 - y1) / scale == pytest.approx(meant, rel=1e-6, abs=1e-10)
    for arc in root.iter(f"{SVG}path"):
        if arc.get("data-angle"):
            x, y = (float(n) for n in arc.get("data-apex", "").split())
            ends = [points_of(arc)[k] for k in (0, -1)]
            first, last = (math.degrees(math.atan2(py - y, px - x)) for px, py in ends)
            meant = float(arc.get("data-deg", "nan"))
            # Arcs are written to a hundredth of a pixel.
            assert (last - first) % 360 == pytest.approx(meant, abs=0.03)


FLAT_LEADER = setup(
    "outside corner", "9 mm", passes=8, corner_angle="63 deg", overlap="8.24 mm",
    face_reinforcement="at most 4.33 mm",
)  # fmt: skip


@often
@any_drawing
@example(one=FLAT_LEADER, system="metric", spanish=False)
def test_no_figure_lies_on_the_part_or_on_another_figure(
    one: Setup, system: str, spanish: bool
) -> None:
    canvas = drawn(one, system, spanish).canvas
    figures = [t for t in canvas.texts if not t.in_weld]
    assert figures
    part = [Polygon(p).buffer(0) for p in (*canvas.solids, *canvas.welds)]
    for text in figures:
        area = box(*text.box)
        assert all(area.intersection(p).area < 1 for p in part), text
    for a, b in combinations(figures, 2):
        assert box(*a.box).intersection(box(*b.box)).area < 1, (a, b)


@often
@given(one=sections())
def test_the_weld_drawn_is_the_weld_that_is_counted(one: Setup) -> None:
    # The area comes from the closed formulas of the joint, the sum on the sheet from shapely.
    joint = one.joint
    if joint.kind == "none":
        return
    counted = build(joint, one.thickness.value)
    drawing = drawn(one)
    shapes = [Polygon(ring).buffer(0) for ring in drawing.canvas.welds]
    on_sheet = unary_union(shapes).area / drawing.scale**2
    shown = len(drawing.canvas.welds)
    if joint.kind in ("bead", "padding") and shown:  # as many as there is room for
        counted = build(replace(joint, beads=shown), one.thickness.value)
    assert on_sheet == pytest.approx(counted.area, rel=0.01, abs=1 / drawing.scale**2)


@often
@given(one=sections())
def test_numbers_of_passes_stand_in_their_weld(one: Setup) -> None:
    canvas = drawn(one).canvas
    welds = unary_union([Polygon(ring).buffer(0.5) for ring in canvas.welds])
    for text in canvas.texts:
        if text.in_weld:
            left, top, right, bottom = text.box
            assert welds.contains(Spot((left + right) / 2, (top + bottom) / 2)), text


@often
@given(one=sections(), share=st.floats(0, 1))
def test_a_picture_of_a_pass_needs_no_more_than_its_setup(one: Setup, share: float) -> None:
    count = max(1, len(one.passes))
    text = pass_picture(one, 1 + round(share * (count - 1)))
    root = ElementTree.fromstring(text)
    _left, _top, width, height = (float(v) for v in root.get("viewBox", "").split())
    assert width > 0
    assert height > 0
    assert not list(root.iter(f"{SVG}line"))


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize(("process", "one", "pass_no"), CASES)
def test_figures_of_common_length_fit_the_width_asked_for(
    process: str, one: Setup, pass_no: int | None, system: str
) -> None:
    # 40 px where the drawing is 736 px wide, as on a tablet: read at one metre.
    drawing = drawn(one, system, pass_no=pass_no)
    assert drawing.width == 736
    sizes = [float(n) for n in re.findall(r'font-size="([\d.]+)"', drawing.svg("x"))]
    assert sizes.count(40) == sum(not t.in_weld for t in drawing.canvas.texts)


@pytest.mark.parametrize(("process", "one", "pass_no"), CASES)
def test_every_stated_measure_that_the_kind_takes_has_its_figure(
    process: str, one: Setup, pass_no: int | None
) -> None:
    drawing = drawn(one, pass_no=pass_no)
    shown = [dimension.name for dimension in drawing.canvas.dimensions]
    assert len(shown) == len(set(shown))
    text = drawing.svg("x")
    for name in ("leg", "leg_2", "gap", "root_face", "groove_radius", "bead_width", "bead_height",
                 "root_opening", "face_reinforcement", "root_reinforcement"):  # fmt: skip
        value = getattr(one.joint, name)
        if value is not None and value.typed != "0 in":
            assert name in shown, name
    for name in ("groove_angle", "bevel_angle", "corner_angle"):
        if getattr(one.joint, name) is not None:
            assert "data-angle=" in text


@pytest.mark.parametrize(("process", "one", "pass_no"), CASES)
def test_every_element_carries_its_ink_and_nothing_that_the_policy_forbids(
    process: str, one: Setup, pass_no: int | None
) -> None:
    text = joint_svg(exercise(process, one), one, pass_no=pass_no, ident="here")
    root = ElementTree.fromstring(text)
    assert root.get("role") == "img"
    title = root.find(f"{SVG}title")
    assert title is not None
    assert title.get("id") == root.get("aria-labelledby") == "here-title"
    assert title.text
    for element in root.iter():
        assert "style" not in element.attrib
        assert element.tag not in (f"{SVG}script", f"{SVG}style")
        if element.tag not in (f"{SVG}svg", f"{SVG}title"):
            assert element.get("fill"), element.attrib
    assert re.findall(r' id="([^"]+)"', text) == ["here-title"]


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


def test_a_u_groove_begins_round_on_its_root_face() -> None:
    one = setup("U groove", "1 in", groove_angle="20 deg", root_opening="1/8 in",
                root_face="1/8 in", groove_radius="1/4 in")  # fmt: skip
    drawing = drawn(one)
    radius = 0.25 * 0.0254 * drawing.scale
    (dimension,) = [d for d in drawing.canvas.dimensions if d.name == "groove_radius"]
    edge = drawing.canvas.solids[1][2:19]  # from the top of the root face to where the wall begins
    for point in edge[:-1]:
        assert math.dist(point, dimension.start) == pytest.approx(radius)
    assert math.dist(dimension.end, dimension.start) == pytest.approx(radius)


@pytest.mark.parametrize("overlap", ["1/16 in", "1/8 in"])
def test_a_covered_edge_of_a_corner_lies_against_the_sheet_that_covers_it(overlap: str) -> None:
    one = setup("outside corner", "1/8 in", corner_angle="90 deg", overlap=overlap,
                face_reinforcement="1/32 in")  # fmt: skip
    drawing = drawn(one)
    lying, hanging = (Polygon(part) for part in drawing.canvas.solids)
    assert lying.intersection(hanging).area < 1e-6
    shared = lying.boundary.intersection(hanging.boundary.buffer(1e-6)).length
    (measured,) = [d for d in drawing.canvas.dimensions if d.name == "overlap"]
    assert shared == pytest.approx(measured.value_m * drawing.scale, rel=0.01)


@pytest.mark.parametrize("gap", ["1/32 in", "0 to 1/16 in"])
@pytest.mark.parametrize("kind", ["tee fillet", "lap fillet"])
def test_parts_stand_apart_by_the_gap(kind: str, gap: str) -> None:
    drawing = drawn(setup(kind, "1/4 in", leg="1/4 in", gap=gap))
    one, other = (Polygon(part) for part in drawing.canvas.solids)
    # 1/32 in, and the middle of 0 to 1/16 in.
    assert one.distance(other) == pytest.approx(0.0254 / 32 * drawing.scale)


def test_a_double_groove_is_laid_half_from_each_side() -> None:
    one = setup("double V", "3/4 in", groove_angle="60 deg", root_opening="1/8 in", passes=5)
    drawing = drawn(one)
    numbers = {t.content: t.box[1] for t in drawing.canvas.texts if t.in_weld}
    # Upward on the face's side from the root, then downward on the back.
    assert numbers["3"] < numbers["2"] < numbers["1"] < numbers["4"] < numbers["5"]


def test_tacks_stand_along_the_weld_at_the_length_they_have() -> None:
    one = tacked(setup("tee fillet", leg="1/4 in"), 4, "1/2 in", "6 in")
    drawing = drawn(one)
    root = ElementTree.fromstring(drawing.svg("x"))
    rails = [
        p for e in root.iter(f"{SVG}path") if e.get("class") == "o-edge" for p in [points_of(e)]
    ]
    (left, _), (right, _) = rails[0]
    tacks = [
        p for e in root.iter(f"{SVG}path") if e.get("class") == "f-weld" for p in [points_of(e)]
    ][1:]
    assert len(tacks) == 4
    assert tacks[0][0][0] == pytest.approx(left, abs=0.01)
    assert tacks[-1][1][0] == pytest.approx(right, abs=0.01)
    for tack in tacks:
        assert (tack[1][0] - tack[0][0]) / (right - left) == pytest.approx(0.5 / 6, rel=1e-3)
    assert "Tacks 4 × 1/2 in" in [t.content for t in drawing.canvas.texts]
    assert "Tacks 4 × 12.7 mm" in drawn(one, "metric").title


def test_one_pass_of_a_fillet_fills_half_the_square_of_its_leg() -> None:
    (bead,), _ = fan_beads([(0, 0)] * 2, [(60, 0), (0, -60)], 1)
    assert Polygon(bead).area == pytest.approx(60 * 60 / 2)


@pytest.mark.parametrize("count", range(2, 9))
def test_passes_of_a_fillet_share_its_area_alike(count: int) -> None:
    beads, _ = fan_beads([(0, 0)] * 2, [(60, 0), (0, -60)], count)
    seen, left_over = Polygon(), []
    for bead in beads:  # each under the one before it
        shape = Polygon(bead).buffer(0)
        left_over.append(shape.difference(seen).area)
        seen = seen.union(shape)
    assert seen.area == pytest.approx(1800)
    # A bead stands out into the next layer by at most 12 % of its reach.
    assert max(left_over) < 1.6 * 1800 / count


def test_layers_grow_by_one_bead_from_the_root() -> None:
    assert [layers(n) for n in (1, 2, 3, 5, 6)] == [[1], [1, 1], [1, 2], [1, 2, 2], [1, 2, 3]]


def test_passes_of_a_groove_fill_it_without_overlapping() -> None:
    left, right = [(40.0, 90.0), (40.0, 80.0), (0.0, 0.0)], [(60.0, 90.0), (60.0, 80.0), (100.0, 0)]
    crown = [(-6.0, 0.0), (50.0, -12.0), (106.0, 0.0)]
    beads, _ = groove_beads(left, right, 4, crown)
    shapes = [Polygon(b) for b in beads]
    for a, b in combinations(shapes, 2):
        assert a.intersection(b).area < 1e-6
    groove = Polygon([*left, *crown, *reversed(right)])
    assert unary_union(shapes).area == pytest.approx(groove.area)


def test_even_layers_of_a_groove_hold_alike() -> None:
    left, right = [(0.0, 60.0), (0.0, 0.0)], [(0.0, 60.0), (60.0, 0.0)]
    beads, _ = groove_beads(left, right, 3, even=True)
    assert [area(bead) for bead in beads] == pytest.approx([600] * 3, rel=0.2)


def test_hatching_stays_in_a_part_that_turns_a_corner() -> None:
    bent = [(0.0, 0.0), (200.0, 0.0), (200.0, 40.0), (40.0, 40.0), (40.0, 200.0), (0.0, 200.0)]
    shape = Polygon(bent).buffer(0.01)
    for lean in (1, -1):
        lines = hatching(bent, lean)
        assert lines
        for (x1, y1), (x2, y2) in lines:
            assert shape.contains(Spot((x1 + x2) / 2, (y1 + y2) / 2))
            assert abs(x2 - x1) == pytest.approx(abs(y2 - y1))


def test_the_pass_at_hand_is_solid_earlier_ones_open_later_ones_dashed() -> None:
    one = setup("tee fillet", leg="3/8 in", passes=3)
    text = joint_svg(exercise("SMAW", one), one, pass_no=2)
    looks = re.findall(r'class="(f-[a-z]+)"', text)
    assert looks[:3] == ["f-next", "f-weld", "f-done"]  # the last is drawn first
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
    one = tacked(setup("J groove", "3/4 in", bevel_angle="20 deg", groove_radius="1/4 in"), 2)
    assert describe(exercise("SMAW", one), one) == (
        "Section to scale. J groove: thickness 3/4 in, bevel angle 20°, groove radius 1/4 in. "
        "Welded in one pass. Tacks 2."
    )


def test_numbers_that_make_no_joint_are_refused_at_their_place() -> None:
    one = setup("single bevel", bevel_angle="89 deg")
    with pytest.raises(JointError) as refused:
        joint_svg(exercise("SMAW", one), one)
    assert refused.value.where == "bevel_angle"


def test_contact_sheet_shows_every_kind() -> None:
    assert {one.joint.kind for _, one, _ in CASES} == set(JOINT_KINDS)
    page = contact_sheet()
    assert page.count('role="img"') >= 2 * len(CASES)
