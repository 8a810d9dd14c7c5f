"""Welding symbols stand as AWS A2.4 and both systems of ISO 2553 put them.

Outside sources: AWS A2.4:2020, 6.1 (arrow side under the line), 6.3 (perpendicular leg at the left)
and figure 4.3 (where the parts stand), as training texts quote them; ISO 2553:2019 as published
articles tell of it (system A: the continuous line for the arrow side, the dashed one for the other,
left out where both sides are alike; system B: one line). What rests on memory says so.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, fields, replace
from itertools import combinations
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, box

from curriculum.core.drawing.symbol import SIGNS, STANDARDS, draw_symbol, symbol_of, symbol_svg
from curriculum.core.drawing.symbol.rules import check_marks
from curriculum.core.joints import JointError
from curriculum.core.spec import FINISHES, Joint, Marks, Piece, Setup
from shared.units import Measure, Range

from .setups import exercise, length, setup
from .symbol_sheet import CASES, symbol_sheet

SVG = "{http://www.w3.org/2000/svg}"
ROW = {"length": length("2 in"), "pitch": length("5 in")}
ROOT = ("backing", "melt_through")
STRIP = ("1/4 in", "1-1/2 in")
NUMBERS: dict[str, dict[str, str]] = {
    "tee fillet": {"leg": "1/4 in"},
    "lap fillet": {"leg": "1/4 in"},
    "square groove": {"root_opening": "1/8 in"},
    "outside corner": {"root_opening": "1/8 in"},
    "flare bevel": {"root_opening": "1/8 in"},
    **{k: {"groove_angle": "60 deg", "root_opening": "1/8 in"}
       for k in ("single V", "double V", "U groove")},
    **{k: {"bevel_angle": "45 deg", "root_opening": "1/8 in"}
       for k in ("single bevel", "double bevel", "J groove")},
    "edge": {},
    "bead": {"bead_height": "1/8 in"},
    "padding": {"bead_height": "1/8 in"},
}  # fmt: skip
"""The least of each kind that its symbol has something to say of."""

Points = list[tuple[float, float]]


def points_of(element: ElementTree.Element) -> Points:
    text = element.get("d") or element.get("points") or ""
    numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", text)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


@dataclass
class Drawn:
    """A symbol read back from its SVG."""

    root: ElementTree.Element

    def part(self, side: str, name: str) -> list[Points]:
        """The strokes of one part of one side."""
        found = self.root.findall(f"{SVG}g[@data-side='{side}'][@data-part='{name}']")
        return [points_of(e) for g in found for e in g if e.tag != f"{SVG}text"]

    def text(self, side: str, name: str) -> tuple[str, float, float]:
        """The one figure of a part, with its place."""
        (found,) = self.root.iterfind(f"{SVG}g[@data-side='{side}'][@data-part='{name}']/{SVG}text")
        return "".join(found.itertext()), float(found.get("x", "")), float(found.get("y", ""))

    @property
    def line(self) -> float:
        """The height of the reference line: the long level one that is not dashed."""
        level = [
            p
            for e in self.root.iterfind(f"{SVG}path")
            if "stroke-dasharray" not in e.attrib and len(p := points_of(e)) == 2
            if p[0][1] == p[1][1]
        ]
        return max(level, key=lambda p: abs(p[1][0] - p[0][0]))[0][1]

    @property
    def dashed(self) -> float | None:
        found = [e for e in self.root.iterfind(f"{SVG}path") if "stroke-dasharray" in e.attrib]
        return points_of(found[0])[0][1] if found else None

    @property
    def tail(self) -> list[str]:
        found = self.root.iterfind(f"{SVG}g[@data-part='tail']/{SVG}text")
        return ["".join(e.itertext()) for e in found]

    @property
    def arrow(self) -> Points:
        """The arrow's line: it begins at the elbow and ends lowest at the left."""
        lines = [points_of(e) for e in self.root.iterfind(f"{SVG}path")]
        return next(p for p in lines if p and p[-1][0] == 8.0)


def drawn(one: Setup, standard: str = "AWS", process: str = "SMAW", system: str = "us") -> Drawn:
    svg = symbol_svg(exercise(process, one), one, standard=standard, system=system)
    return Drawn(ElementTree.fromstring(svg))


def of_kind(kind: str, **marks: Any) -> Setup:
    return setup(kind, symbol=Marks(**marks), **NUMBERS[kind])


def ys(strokes: list[Points]) -> list[float]:
    return [y for stroke in strokes for _, y in stroke]


def xs(strokes: list[Points]) -> list[float]:
    return [x for stroke in strokes for x, _ in stroke]


# Sides ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("standard", STANDARDS)
@pytest.mark.parametrize("kind", sorted(SIGNS))
def test_each_side_stands_where_the_standard_puts_it(kind: str, standard: str) -> None:
    both = kind in ("tee fillet", "lap fillet", "square groove", "J groove", "U groove")
    one = of_kind(kind, other_side=both)
    found = drawn(one, standard)
    sign, other = found.part("arrow", "sign"), found.part("other", "sign")
    over = standard == "ISO-A"
    assert (max if over else min)(ys(sign)) == found.line  # it stands on the line
    assert (min if over else max)(ys(sign)) * (-1 if over else 1) > found.line * (-1 if over else 1)
    assert bool(other) == (both or kind in ("double V", "double bevel"))
    if other:
        assert (min if over else max)(ys(other)) == found.line
    # System A: the dashed line only where the sides differ.
    assert (found.dashed is not None) == (over and not other)


def test_system_a_hangs_the_other_side_on_the_dashed_line_where_the_sides_differ() -> None:
    row = drawn(of_kind("tee fillet", other_side=True, staggered=True, **ROW), "ISO-A")
    assert row.dashed is not None
    assert row.dashed > row.line  # preferably below
    assert min(ys(row.part("other", "sign"))) == row.dashed
    assert max(ys(row.part("arrow", "sign"))) == row.line


@pytest.mark.parametrize("standard", STANDARDS)
@pytest.mark.parametrize("kind", ["tee fillet", "single bevel", "double bevel", "J groove",
                                  "flare bevel"])  # fmt: skip
def test_the_perpendicular_leg_is_at_the_left_on_either_side(kind: str, standard: str) -> None:
    one = of_kind(kind, other_side=kind in ("tee fillet", "J groove", "flare bevel"))
    found = drawn(one, standard)
    sides = [strokes for side in ("arrow", "other") if (strokes := found.part(side, "sign"))]
    assert len(sides) == (1 if kind == "single bevel" else 2)
    for strokes in sides:
        (leg, top) = strokes[0][:2]
        assert leg[0] == top[0] == min(xs(strokes))
        assert max(xs(strokes)) > leg[0]


# Figures ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("standard", STANDARDS)
@pytest.mark.parametrize("kind", ["single V", "single bevel", "J groove", "U groove", "double V"])
def test_the_opening_stands_inside_a_groove_and_its_angle_beyond(kind: str, standard: str) -> None:
    found = drawn(of_kind(kind), standard)
    sign = found.part("arrow", "sign")
    text, x, y = found.text("arrow", "opening")
    angle, _, beyond = found.text("arrow", "angle")
    assert (text, angle) == ("1/8", "45°" if kind in ("single bevel", "J groove") else "60°")
    assert min(xs(sign)) < x < max(xs(sign))
    assert abs(beyond - found.line) > abs(y - found.line)
    if kind == "double V":  # the opening is said once, the angle on both sides
        with pytest.raises(ValueError, match="not enough values"):
            found.text("other", "opening")
        assert found.text("other", "angle")[0] == "60°"


@pytest.mark.parametrize(
    ("standard", "size", "run"),
    [
        ("AWS", "1/4", "2–5"),  # length – pitch, centre to centre: figure 4.3
        ("ISO-A", "z1/4", "4 × 2 (3)"),  # n × l (e), e between the ends (memory)
        ("ISO-B", "z1/4", "4 × 2 (3)"),
    ],
)
def test_a_size_stands_left_of_its_sign_and_a_row_of_welds_right(
    standard: str, size: str, run: str
) -> None:
    found = drawn(of_kind("tee fillet", count=4, **ROW), standard)
    sign = found.part("arrow", "sign")
    left, right = found.text("arrow", "size"), found.text("arrow", "run")
    assert (left[0], right[0]) == (size, run)
    assert left[1] < min(xs(sign))
    assert right[1] > max(xs(sign))


@pytest.mark.parametrize(
    ("standard", "said"), [("AWS", "1/4 (5/16)"), ("ISO-A", "h1/4 s5/16"), ("ISO-B", "h1/4 s5/16")]
)
def test_depth_of_preparation_stands_before_the_effective_size(standard: str, said: str) -> None:
    # AWS A2.4:2020, 7.2: depth, then effective size in brackets. ISO: h and s, from memory.
    one = of_kind("single V", depth=length("1/4 in"), effective=length("5/16 in"))
    assert drawn(one, standard).text("arrow", "size")[0] == said


def test_unequal_legs_are_both_said_and_equal_ones_once() -> None:
    unequal = setup("tee fillet", leg="1/4 in", leg_2="3/8 in")
    assert drawn(unequal).text("arrow", "size")[0] == "1/4 × 3/8"
    assert drawn(unequal, "ISO-B").text("arrow", "size")[0] == "z1/4×3/8"
    equal = setup("tee fillet", leg="1/4 in", leg_2="0.25 in")
    assert drawn(equal).text("arrow", "size")[0] == "1/4"


def test_the_groove_angle_of_a_v_is_the_whole_one_also_where_one_side_is_stated() -> None:
    # Both sides are bevelled alike, so the angle between them is twice one bevel.
    assert drawn(setup("single V", bevel_angle="30 deg")).text("arrow", "angle")[0] == "60°"
    assert drawn(setup("single bevel", bevel_angle="30 deg")).text("arrow", "angle")[0] == "30°"


def test_figures_come_in_the_readers_units() -> None:
    one = of_kind("tee fillet", **ROW)
    found = drawn(one, "ISO-A", system="metric")
    assert found.text("arrow", "size")[0] == "z6.35"
    assert found.text("arrow", "run")[0] == "50.8 (76.2)"


def test_a_length_is_given_only_where_the_weld_is_shorter_than_the_piece() -> None:
    piece = Piece(count=2, thickness=length("3/8 in"), width=length("3 in"), length=length("6 in"))
    full = replace(setup(leg="1/4 in"), pieces=(piece,), weld_length=length("6 in"))
    short = replace(full, weld_length=length("2 in"))
    assert drawn(short).text("arrow", "run")[0] == "2"
    with pytest.raises(ValueError, match="not enough values"):
        drawn(full).text("arrow", "run")


# Supplementary signs ----------------------------------------------------------------------------


@pytest.mark.parametrize("standard", STANDARDS)
def test_what_lies_behind_the_weld_stands_on_the_other_side(standard: str) -> None:
    through = drawn(setup("square groove", root_opening="1/8 in", melt_through=True,
                          root_reinforcement="0-1/16 in"), standard)  # fmt: skip
    dome = through.root.find(f"{SVG}g[@data-part='melt-through']/{SVG}path")
    assert dome is not None
    assert dome.get("fill") == "#000"  # filled; a back weld is open
    assert through.text("other", "melt-through")[0] == "0–1/16"
    back = drawn(of_kind("square groove", back="back"), standard)
    bar = drawn(setup("square groove", root_opening="1/8 in", backing=("1/4 in", "1 in")), standard)
    for found, name in ((through, "melt-through"), (back, "back"), (bar, "backing")):
        base = found.dashed or found.line
        sign, behind = ys(found.part("arrow", "sign")), ys(found.part("other", name))
        if standard == "ISO-A":
            assert min(behind) == base
            assert max(sign) < base
        else:
            assert max(behind) == base
            assert min(sign) == base
    element = back.root.find(f"{SVG}g[@data-part='back']/{SVG}path")
    assert element is not None
    assert element.get("fill") == "none"


@pytest.mark.parametrize(
    ("standard", "stays", "goes"), [("AWS", None, "R"), ("ISO-A", "M", "MR"), ("ISO-B", "M", "MR")]
)
def test_a_backing_that_is_removed_says_so_in_its_box(
    standard: str, stays: str | None, goes: str
) -> None:
    # AWS: R in the box; ISO: M stays, MR is removed. From memory of both standards.
    one = setup("single V", groove_angle="45 deg", backing=("1/4 in", "1 in"))
    off = replace(one, joint=replace(one.joint, symbol=Marks(backing_removed=True)))
    if stays:
        assert drawn(one, standard).text("other", "backing")[0] == stays
    assert drawn(off, standard).text("other", "backing")[0] == goes


@pytest.mark.parametrize("standard", STANDARDS)
def test_contour_and_finish_stand_beyond_the_figures(standard: str) -> None:
    # AWS figure 4.3: outward come opening, angle, contour, finish. ISO 2553 has no finish letters.
    found = drawn(of_kind("single V", finish="G"), standard)
    (flat,) = found.part("arrow", "contour flush")
    (_, first), (_, second) = flat
    assert first == second
    assert abs(first - found.line) > abs(found.text("arrow", "angle")[2] - found.line)
    if standard == "AWS":
        text, _, y = found.text("arrow", "finish")
        assert text == "G"
        assert y > first
    else:
        assert found.root.find(f"{SVG}g[@data-part='finish']") is None


@pytest.mark.parametrize("standard", STANDARDS)
@pytest.mark.parametrize("contour", ["convex", "concave"])
def test_a_contour_bulges_as_the_face_does(contour: str, standard: str) -> None:
    found = drawn(setup("single V", groove_angle="60 deg", contour=contour), standard)
    (arc,) = found.part("arrow", f"contour {contour}")
    ends, middle = abs(arc[0][1] - found.line), abs(arc[len(arc) // 2][1] - found.line)
    assert (middle > ends) == (contour == "convex")


def test_blended_toes_have_a_sign_in_iso_and_words_in_aws() -> None:
    # ISO 2553 lists the sign; AWS A2.4 has none (memory of both).
    one = of_kind("tee fillet", blended=True)
    assert drawn(one, "ISO-A").part("arrow", "contour blended")
    assert drawn(one, "ISO-A").tail == ["111"]
    assert drawn(one).tail == ["SMAW", "toes blended"]


@pytest.mark.parametrize("standard", STANDARDS)
def test_circle_and_flag_stand_at_the_elbow(standard: str) -> None:
    found = drawn(of_kind("lap fillet", all_around=True, field=True), standard)
    elbow = found.arrow[0]
    (ring,) = found.part("both", "all around")
    assert sum(xs([ring])) / len(ring) == pytest.approx(elbow[0], abs=0.5)
    assert (min(ys([ring])) + max(ys([ring]))) / 2 == pytest.approx(elbow[1], abs=0.5)
    pole, flag = found.part("both", "field")
    assert pole[0] == elbow
    assert max(ys([flag])) < elbow[1]  # it flies over the line
    plain = drawn(of_kind("lap fillet"), standard)
    assert not plain.part("both", "all around")
    assert not plain.part("both", "field")


@pytest.mark.parametrize("kind", sorted(SIGNS))
def test_the_arrow_breaks_toward_the_one_member_that_is_prepared(kind: str) -> None:
    # AWS A2.4:2020 on bevel and J grooves, as training texts quote it.
    broken = kind in ("single bevel", "double bevel", "J groove", "flare bevel")
    assert (len(drawn(of_kind(kind)).arrow) > 2) == broken


@pytest.mark.parametrize(
    ("process", "letters", "number"),
    # AWS A3.0 letters and ISO 4063 numbers.
    [("SMAW", "SMAW", "111"), ("GMAW", "GMAW", "135"), ("OFW", "OFW", "311")],
)
def test_the_tail_names_the_process_as_the_standard_does(
    process: str, letters: str, number: str
) -> None:
    one = of_kind("tee fillet", quality="C", tail="WPS 7")
    job = replace(exercise(process, one), iso4063=number)
    tails = [
        Drawn(ElementTree.fromstring(symbol_svg(job, one, standard=standard))).tail
        for standard in STANDARDS
    ]
    iso = [f"{number}/ISO 5817-C", "WPS 7"]
    assert tails == [[f"{letters} ISO 5817-C", "WPS 7"], iso, iso]


def test_staggered_welds_stand_apart_and_iso_crosses_the_line_between_them() -> None:
    one = of_kind("tee fillet", other_side=True, staggered=True, **ROW)
    for standard in STANDARDS:
        found = drawn(one, standard)
        assert min(xs(found.part("other", "sign"))) > min(xs(found.part("arrow", "sign")))
        zeds = [
            p for e in found.root.iterfind(f"{SVG}path")
            if len(p := points_of(e)) == 4 and p[0][1] == p[1][1] and p[2][1] == p[3][1]
        ]  # fmt: skip
        assert bool(zeds) == (standard != "AWS")  # the Z from memory of ISO 2553
        if zeds:
            assert min(ys(zeds)) < found.line < max(ys(zeds))
            assert found.text("arrow", "gap")[0] == found.text("other", "gap")[0] == "(3)"


def test_a_groove_prepared_in_part_stands_on_a_stem_in_iso() -> None:
    # ISO 2553 has a sign for broad root faces (memory); AWS tells by the depth alone.
    one = of_kind("single V", depth=length("1/4 in"))
    assert [len(drawn(one, standard).part("arrow", "sign")) for standard in STANDARDS] == [1, 2, 2]


# Any symbol -------------------------------------------------------------------------------------


def lengths(low: float, high: float) -> st.SearchStrategy[Measure]:
    return st.floats(low, high).map(lambda v: Measure.of(round(v, 5), "m"))


def ranges(high: float) -> st.SearchStrategy[Range]:
    def made(pair: tuple[float, float, int]) -> Range:
        low, top = sorted((round(pair[0], 5), round(pair[1], 5)))
        return Range.of(*((low, top), (None, top), (top, top), (top, None))[pair[2]], "m")

    return st.tuples(st.floats(0, high), st.floats(high / 20, high), st.integers(0, 3)).map(made)


@st.composite
def any_setup(draw: st.DrawFn) -> Setup:
    """A setup of any welded kind with any marks that the rules let pass."""
    flags = st.booleans()
    t = draw(st.floats(0.001, 0.03))
    angles = st.integers(5, 80).map(lambda v: Measure.of(v, "deg"))
    spans = st.none() | ranges(t)
    marks: dict[str, Any] = {
        "length": draw(st.none() | lengths(0.01, 0.1)),
        "pitch": draw(st.none() | lengths(0.02, 0.3)),
        "count": draw(st.none() | st.integers(1, 99)),
        "depth": draw(st.none() | lengths(0.0005, t)),
        "effective": draw(st.none() | lengths(0.0005, t)),
        "back": draw(st.sampled_from(("", "", "back", "backing"))),
        "finish": draw(st.sampled_from(("", *FINISHES))),
        "quality": draw(st.sampled_from(("", "B", "C", "D"))),
        "tail": draw(st.sampled_from(("", "WPS 12", "<b>&\"' long note ------"))),
    }
    others = ("other_side", "all_around", "field", "staggered", "backing_removed", "flush",
              "blended")  # fmt: skip
    marks |= {name: draw(flags) for name in others}
    joint = Joint(
        kind=draw(st.sampled_from(sorted(SIGNS))),
        root_opening=draw(spans),
        groove_angle=draw(st.none() | angles),
        bevel_angle=draw(st.none() | angles),
        leg=draw(spans),
        leg_2=draw(spans),
        contour=draw(st.sampled_from(["flat", "flat", "convex", "concave"])),
        root_reinforcement=draw(spans),
        bead_height=draw(spans),
    )
    marks |= {name: draw(flags) for name in ROOT}
    usual = {one.name: one.default for one in (*fields(Marks), *fields(Joint))}
    while True:
        root = {name: marks[name] for name in ROOT}
        signs = {name: value for name, value in marks.items() if name not in ROOT}
        made = replace(joint, **root, symbol=Marks(**signs))
        one = Setup(key="a", base_metal="steel", thickness=Measure.of(t, "m"), joint=made)
        try:
            check_marks(one)
        except JointError as error:
            name = error.where.removeprefix("symbol.")
            assert marks[name] != usual[name]  # what is not said is never refused
            marks[name] = usual[name]
        else:
            return one


@settings(max_examples=250, deadline=None)
@given(
    one=any_setup(),
    standard=st.sampled_from(sorted(STANDARDS)),
    system=st.sampled_from(["us", "metric"]),
)
def test_any_symbol_lies_in_its_frame_and_no_figure_lies_on_anything(
    one: Setup, standard: str, system: str
) -> None:
    found = draw_symbol(exercise("SMAW", one), one, system=system, standard=standard)
    assert found is not None
    root = ElementTree.fromstring(found.svg())
    for points in map(points_of, root.iter()):
        for x, y in points:
            assert 0 <= x <= found.width
            assert 0 <= y <= found.height
    texts = [box(*text.box) for text in found.canvas.texts]
    for text, shape in zip(found.canvas.texts, texts, strict=True):
        left, top, right, bottom = text.box
        assert left >= 0, text
        assert top >= 0, text
        assert right <= found.width, text
        assert bottom <= found.height, text
        for element in root.iter():
            if len(points := points_of(element)) > 1:
                assert LineString(points).intersection(shape.buffer(-1.5)).length == 0, text
    for a, b in combinations(texts, 2):
        assert a.intersection(b).area < 1


@settings(max_examples=150, deadline=None)
@given(
    one=any_setup(),
    standard=st.sampled_from(sorted(STANDARDS)),
    system=st.sampled_from(["us", "metric"]),
)
def test_the_words_say_every_figure_that_the_symbol_shows(
    one: Setup, standard: str, system: str
) -> None:
    found = draw_symbol(exercise("SMAW", one), one, system=system, standard=standard)
    assert found is not None
    numbers = re.compile(r"\d+(?:[./-]\d+)*(?:/\d+)?")
    said = numbers.findall(found.title)
    for text in found.canvas.texts:
        for figure in numbers.findall(text.content):
            assert figure in said, (text.content, found.title)


def test_the_words_say_sides_signs_and_what_the_tail_says() -> None:
    one = replace(
        setup("single V", groove_angle="45 deg", root_opening="1/4 in",
              backing=("1/4 in", "1 in"),
              symbol=Marks(finish="G", field=True, all_around=True, backing_removed=True)),
    )  # fmt: skip
    drawing = draw_symbol(exercise("SMAW", one), one)
    assert drawing is not None
    assert drawing.title == (
        "Welding symbol: V groove weld on the arrow side, root opening 1/4 in, groove angle 45°, "
        "flush contour, made by grinding, backing on the other side, removed after welding, "
        "all around, welded on site, tail SMAW. After AWS A2.4."
    )
    row = of_kind("tee fillet", other_side=True, staggered=True, count=4, quality="B", **ROW)
    drawing = draw_symbol(exercise("SMAW", row), row, standard="ISO-A")
    assert drawing is not None
    assert drawing.title == (
        "Welding symbol: fillet weld on both sides, leg 1/4 in, 4 welds of 2 in, 3 in between "
        "them, staggered, tail 111, quality level B of ISO 5817. After ISO 2553, system A."
    )


def test_a_cut_has_no_symbol_and_another_standard_is_refused_with_those_there_are() -> None:
    one = setup("none")
    assert symbol_of(exercise("OFC", one), one) is None
    assert symbol_svg(exercise("OFC", one), one) == ""
    with pytest.raises(ValueError, match="one of AWS, ISO-A, ISO-B, got 'ISO'"):
        symbol_svg(exercise("SMAW", setup()), setup(), standard="ISO")


@pytest.mark.parametrize("standard", STANDARDS)
@pytest.mark.parametrize(("process", "one"), CASES)
def test_every_element_carries_its_ink_and_nothing_that_the_policy_forbids(
    process: str, one: Setup, standard: str
) -> None:
    for paper in (False, True):
        text = symbol_svg(exercise(process, one), one, standard=standard, paper=paper, ident="sy")
        assert paper != ("class=" in text)
        root = ElementTree.fromstring(text)
        title = root.find(f"{SVG}title")
        assert title is not None
        assert root.get("aria-labelledby") == title.get("id") == "sy-title"
        for element in root.iter():
            assert "style" not in element.attrib
            assert element.tag not in (f"{SVG}script", f"{SVG}style")
            if element.tag not in (f"{SVG}svg", f"{SVG}title"):
                assert element.get("fill"), element.attrib


def test_the_sheet_of_symbols_shows_every_kind_after_each_standard() -> None:
    assert {one.joint.kind for _, one in CASES} == set(SIGNS)
    assert symbol_sheet().count("<svg") == 3 * len(CASES)


# What may not be said ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("one", "where", "told"),
    [
        (of_kind("single V", other_side=True), "other_side", "not welded alike from the other"),
        (setup("square groove", melt_through=True, symbol=Marks(other_side=True)),
         "other_side", "neither backing nor melt-through"),
        (of_kind("tee fillet", back="back"), "back", "no groove to weld from its back"),
        (of_kind("square groove", back="back", other_side=True), "back", "has one weld"),
        (of_kind("single V", backing_removed=True), "backing_removed", "no backing to remove"),
        (of_kind("bead", length=length("2 in")), "length", "no row of welds"),
        (of_kind("tee fillet", pitch=length("5 in")), "pitch", "length of one weld"),
        (of_kind("tee fillet", count=3), "count", "length of one weld"),
        (of_kind("tee fillet", length=length("2 in"), pitch=length("2 in")),
         "pitch", "leaves no gap"),
        (of_kind("tee fillet", staggered=True, **ROW), "staggered", "Only fillets on both sides"),
        (of_kind("tee fillet", depth=length("1/8 in")), "depth", "no groove to measure"),
        (of_kind("single V", effective=length("1/2 in")), "effective", "more than the metal"),
        (setup("tee fillet", contour="convex", leg="1/4 in", symbol=Marks(flush=True)),
         "flush", "The face is convex"),
    ],
)  # fmt: skip
def test_a_mark_that_the_joint_cannot_carry_is_refused_at_its_key(
    one: Setup, where: str, told: str
) -> None:
    with pytest.raises(JointError, match=told) as refused:
        check_marks(one)
    assert refused.value.where == f"symbol.{where}"
    assert refused.value.accepts


@pytest.mark.parametrize(
    ("one", "where", "told"),
    [
        (setup("double V", backing=STRIP), "backing", "welded from both sides"),
        (setup("double bevel", backing=STRIP), "backing", "welded from both sides"),
        (setup("double V", melt_through=True), "melt_through", "welded from both sides"),
        (setup("tee fillet", backing=STRIP), "backing", "no groove to lay on backing"),
        (setup("bead", backing=STRIP), "backing", "no groove to lay on backing"),
        (setup("single V", backing=STRIP, melt_through=True), "melt_through", "nothing melts"),
    ],
)
def test_a_root_that_the_joint_cannot_have_is_refused_at_its_key(
    one: Setup, where: str, told: str
) -> None:
    with pytest.raises(JointError, match=told) as refused:
        check_marks(one)
    assert refused.value.where == where
    assert refused.value.accepts
