"""Any welding symbol: free figures, words that say all it shows, and what may not be said."""

from __future__ import annotations

import re
from dataclasses import fields, replace
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
from curriculum.core.spec import FINISHES, Joint, Marks, Setup
from shared.units import Measure, Range

from .setups import exercise, length, setup
from .symbol_reader import ROOT, ROW, STRIP, SVG, of_kind, points_of
from .symbol_sheet import CASES, symbol_sheet


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


def test_a_long_figure_under_a_narrow_sign_stays_clear_of_a_broken_arrow() -> None:
    span = Range.of(0.0078125, 0.015625, "m")
    joint = Joint(kind="flare bevel", root_opening=span)
    one = Setup(key="a", base_metal="steel", thickness=Measure.of(0.015625, "m"), joint=joint)
    for standard in STANDARDS:
        found = draw_symbol(exercise("SMAW", one), one, system="us", standard=standard)
        assert found is not None
        arrow = next(
            points for e in ElementTree.fromstring(found.svg()).iter()
            if len(points := points_of(e)) == 4 and points[-1][0] == 8.0
        )  # fmt: skip
        assert not any(
            box(*text.box).intersects(LineString(arrow)) for text in found.canvas.texts
        ), standard
