"""Drawings of sheets and bars: to scale, numbered, nothing over anything else."""

import re
from decimal import Decimal
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import pytest
from fontTools.ttLib import TTFont
from fontTools.varLib.instancer import instantiateVariableFont
from hypothesis import given, settings
from hypothesis import strategies as st

from curriculum.core.drawing.canvas import Box, text_width
from inventory.core.cutting import Layout, Machine, Part, Plan, Problem
from inventory.core.cutting.canvas import GAP, LETTER, spread
from inventory.core.cutting.drawing import Drawing, draw
from inventory.core.cutting.lie import BAR
from inventory.core.cutting.worklist import in_order, marks_of
from tests.inventory.core.cut_plans import INCH, piece, planned, problems, sheet, unsorted

few = settings(max_examples=15)
SVG = "{http://www.w3.org/2000/svg}"
FONTS = Path(__file__).parents[3] / "static" / "vendor" / "atkinson-next"


def drawn(problem: Problem, plan: Plan, **more: object) -> list[tuple[Layout, Drawing]]:
    marks = marks_of(problem, plan)
    kerf = problem.machine.kerf
    return [
        (layout, draw(layout, marks, kerf=kerf, ident=f"d{n}", **more))  # type: ignore[arg-type]
        for n, layout in enumerate(plan.layouts)
    ]


def rects(drawing: Drawing, attribute: str) -> dict[str, Box]:
    """Return the rectangles with that attribute, by its value, in px."""
    found = {}
    for one in ElementTree.fromstring(drawing.svg).iter(f"{SVG}rect"):
        if (key := one.get(attribute)) is not None:
            x, y, w, h = (float(one.get(name, "nan")) for name in ("x", "y", "width", "height"))
            found[key] = (x, y, x + w, y + h)
    return found


def scaled(part: Part, scale: float) -> Box:
    x, y = part.x * scale, part.y * scale
    high = BAR if part.width is None else part.width * scale
    return (x, y, x + part.length * scale, y + high)


def overlap(one: Box, other: Box, by: float = 1e-3) -> bool:
    return (
        min(one[2], other[2]) - max(one[0], other[0]) > by
        and min(one[3], other[3]) - max(one[1], other[1]) > by
    )


@few
@given(problems())
def test_every_rectangle_is_its_piece_to_scale(problem: Problem) -> None:
    for layout, drawing in drawn(problem, planned(problem)):
        boxes = rects(drawing, "data-part")
        final = {
            str(n)
            for n, part in enumerate(layout.parts)
            if part.kind in ("blank", "remnant", "scrap")
        }
        assert boxes.keys() == final
        for place, box in boxes.items():
            assert box == pytest.approx(scaled(layout.parts[int(place)], drawing.scale), abs=2e-6)


@few
@given(problems())
def test_pieces_lie_inside_the_stock_and_apart(problem: Problem) -> None:
    for layout, drawing in drawn(problem, planned(problem)):
        boxes = list(rects(drawing, "data-part").values())
        x1, y1, x2, y2 = scaled(layout.parts[0], drawing.scale)
        for box in boxes:
            assert x1 - 1e-5 <= box[0] <= box[2] <= x2 + 1e-5
            assert y1 - 1e-5 <= box[1] <= box[3] <= y2 + 1e-5
        for k, box in enumerate(sorted(boxes)):
            for other in sorted(boxes)[k + 1 : k + 40]:
                assert not overlap(box, other)


@few
@given(problems())
def test_each_cut_is_drawn_where_its_kerf_is_and_never_finer_than_a_pixel(problem: Problem) -> None:
    kerf = problem.machine.kerf
    for layout, drawing in drawn(problem, planned(problem)):
        boxes = rects(drawing, "data-cut")
        assert len(boxes) == len(layout.cuts)
        for cut in in_order(layout).cuts:
            box, part = boxes[str(cut.number)], scaled(layout.parts[cut.part], drawing.scale)
            axis = 0 if cut.runs == "width" else 1
            assert box[axis] == pytest.approx(cut.at * drawing.scale, abs=2e-6)
            assert (box[1 - axis], box[3 - axis]) == pytest.approx(
                (part[1 - axis], part[3 - axis]), abs=2e-6
            )
            wide = box[axis + 2] - box[axis]
            room = part[axis + 2] - cut.at * drawing.scale
            assert wide >= min(1.0, room) - 1e-5
            if kerf * drawing.scale > 2:
                assert wide == pytest.approx(min(kerf * drawing.scale, room), abs=2e-6)


@few
@given(problems())
def test_every_cut_has_its_number_on_the_drawing_once(problem: Problem) -> None:
    for layout, drawing in drawn(problem, planned(problem)):
        found = [text for text, _ in drawing.canvas.rings]
        # At the end of a strip numbers stand before what it gives: "12–26, 31: 3 A".
        ends = [t.content.split(":")[0] for t in drawing.canvas.texts]
        found += [text for text in ends if re.fullmatch(r"[\d–, ]+", text) and text not in found]
        numbers = [n for text in found for n in numbered(text)]
        assert sorted(numbers) == list(range(1, len(layout.cuts) + 1))


def numbered(text: str) -> list[int]:
    """Return the numbers that "2–4, 9" stands for."""
    runs = [[int(n) for n in run.split("–")] for run in text.split(", ")]
    return [n for run in runs for n in range(run[0], run[-1] + 1)]


@few
@given(problems())
def test_rings_are_apart_inside_the_frame_and_rise_along_each_edge(problem: Problem) -> None:
    for layout, drawing in drawn(problem, planned(problem)):
        frame, rings = drawing.frame, drawing.canvas.rings
        for _, box in rings:
            assert frame[0] <= box[0] <= box[2] <= frame[2]
            assert frame[1] <= box[1] <= box[3] <= frame[3]
        for (_, one), (_, other) in combinations(rings, 2):
            assert not overlap(one, other)
        trims = {cut.number for cut in layout.cuts if cut.stage == 0}
        above = [(box[0], numbered(text)[0]) for text, box in rings if box[3] < 0]
        beside = [(box[1], numbered(text)[0]) for text, box in rings if box[2] < 0]
        for edge in (above, beside):
            rising = [number for _, number in sorted(edge) if number not in trims]
            assert rising == sorted(rising)


@few
@given(problems())
def test_a_ring_inside_lies_on_a_line_of_its_cuts(problem: Problem) -> None:
    for _, drawing in drawn(problem, planned(problem)):
        lines = rects(drawing, "data-cut")
        for text, box in drawing.canvas.rings:
            if box[2] > 0 and box[3] > 0:
                assert any(overlap(box, lines[str(number)]) for number in numbered(text))


@few
@given(problems())
def test_every_mark_stands_on_the_drawing(problem: Problem) -> None:
    plan = planned(problem)
    marks = marks_of(problem, plan)
    for layout, drawing in drawn(problem, plan):
        said = " ".join(text.content for text in drawing.canvas.texts)
        for part in (*layout.blanks, *layout.remnants):
            assert re.search(rf"\b{marks.of(part)}\b", said)


@few
@given(problems(), st.sampled_from(["us", "metric"]))
def test_texts_are_apart_and_inside_the_frame(problem: Problem, system: str) -> None:
    for _, drawing in drawn(problem, planned(problem), system=system):
        texts, frame = drawing.canvas.texts, drawing.frame
        for text in texts:
            assert frame[0] <= text.box[0] <= text.box[2] <= frame[2], text.content
            assert frame[1] <= text.box[1] <= text.box[3] <= frame[3], text.content
        for one, other in combinations(texts, 2):
            assert not overlap(one.box, other.box), (one.content, other.content)


@few
@given(problems())
def test_measures_are_as_long_as_they_say(problem: Problem) -> None:
    for layout, drawing in drawn(problem, planned(problem)):
        for one in drawing.canvas.dimensions:
            (x1, y1), (x2, y2) = one.start, one.end
            assert abs(x2 - x1) + abs(y2 - y1) == pytest.approx(one.value_m * drawing.scale)
        values = [one.value_m for one in drawing.canvas.dimensions]
        whole = layout.parts[0]
        assert whole.length in values
        assert whole.width is None or whole.width in values


def test_equal_strips_are_told_once_and_odd_orders_are_drawn_too() -> None:
    problem = Problem(
        pieces=(piece("p", 6, 3, 128),), stock=(sheet("s", 48, 48),), machine=Machine()
    )
    ((_, drawing),) = drawn(problem, planned(problem))
    assert any(re.fullmatch(r"\d+ × \d+ A", text.content) for text in drawing.canvas.texts)
    odd, plan = unsorted()
    ((layout, drawing),) = drawn(odd, plan)
    assert len(rects(drawing, "data-cut")) == len(layout.cuts) == 5


def test_a_remnant_says_its_size_and_the_title_says_it_all() -> None:
    problem = Problem(
        pieces=(piece("p", 10, 12, 3),), stock=(sheet("s", 48, 12),), machine=Machine()
    )
    ((_, drawing),) = drawn(problem, planned(problem))
    said = [text.content for text in drawing.canvas.texts]
    assert "R1 keep" in said  # 48 − 3 × 10 in
    assert "12 × 18 in" in said
    title = ElementTree.fromstring(drawing.svg).find(f"{SVG}title")
    assert title is not None
    assert title.text == (
        "Sheet of 12 × 48 in. Blanks: 3 × A, 10 × 12 in. Kept: 1 × R1, 12 × 18 in."
    )


def test_paper_carries_its_look_as_attributes_alone() -> None:
    problem = Problem(pieces=(piece("p", 10, 7, 9),), stock=(sheet("s", 48, 24),))
    ((_, drawing),) = drawn(problem, planned(problem), paper=True)
    assert "class=" not in drawing.svg
    for one in ElementTree.fromstring(drawing.svg).iter():
        if one.tag in (f"{SVG}rect", f"{SVG}path", f"{SVG}polygon"):
            assert one.get("fill") is not None


def test_a_sheet_that_is_a_blank_already_is_drawn_without_a_cut() -> None:
    problem = Problem(
        pieces=(piece("p", 12, 8, 1),), stock=(sheet("s", 12, 8, price=Decimal(0), count=1),)
    )
    ((layout, drawing),) = drawn(problem, planned(problem))
    assert not layout.cuts
    assert list(rects(drawing, "data-part")) == ["0"]


@given(st.lists(st.tuples(st.floats(0, 900), st.floats(1, 200)), min_size=1, max_size=30))
def test_spread_keeps_order_and_room_and_moves_nothing_without_need(
    rows: list[tuple[float, float]],
) -> None:
    rows = sorted(rows)
    wanted, sizes = [row[0] for row in rows], [row[1] for row in rows]
    found = spread(wanted, sizes)
    for k in range(len(rows) - 1):
        assert found[k + 1] - found[k] >= (sizes[k] + sizes[k + 1]) / 2 + GAP - 1e-6
    room = [
        wanted[k + 1] - wanted[k] >= (sizes[k] + sizes[k + 1]) / 2 + GAP
        for k in range(len(rows) - 1)
    ]
    if all(room):
        assert found == pytest.approx(wanted)


@pytest.mark.parametrize(
    "text",
    [
        "12–26",
        "136–408",
        "R1 keep",
        "35-3/4 × 48 in",
        "1219.2 × 1955.8 mm",
        "12 × (7 A + 17 B)",
        "AB",
    ],
)
def test_no_text_is_wider_than_it_is_taken_for(text: str) -> None:
    """Advance widths of the typeface itself: Atkinson Hyperlegible Next as it is served, bold.

    Every text has 4 px and more on either side, a ring's numbers 7 px.
    """
    (path,) = FONTS.glob("*latin.woff2")
    font = instantiateVariableFont(TTFont(path), {"wght": 700})
    names, advances = font.getBestCmap(), font["hmtx"]
    units = sum(advances[names[ord(character)]][0] for character in text)
    width = units / font["head"].unitsPerEm * LETTER
    assert text_width(text, LETTER) / 1.5 <= width <= text_width(text, LETTER) + 8


def test_an_inch_on_the_sheet_is_an_inch_of_the_scale() -> None:
    problem = Problem(pieces=(piece("p", 10, 7, 1),), stock=(sheet("s", 96, 48),))
    ((_, drawing),) = drawn(problem, planned(problem))
    (box,) = [
        box
        for key, box in rects(drawing, "data-part").items()
        if drawing.svg.count(f'data-part="{key}" data-kind="blank"')
    ]
    sides = sorted((box[2] - box[0], box[3] - box[1]))
    assert sides == pytest.approx([7 * INCH * drawing.scale, 10 * INCH * drawing.scale])
