"""Welding symbols stand as AWS A2.4 and both systems of ISO 2553 put them.

Outside sources: AWS A2.4:2020, 6.1 (arrow side under the line), 6.3 (perpendicular leg at the left)
and figure 4.3 (where the parts stand), as training texts quote them; ISO 2553:2019 as published
articles tell of it (system A: the continuous line for the arrow side, the dashed one for the other,
left out where both sides are alike; system B: one line). What rests on memory says so.
"""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest

from curriculum.core.drawing.symbol import SIGNS, STANDARDS, symbol_svg
from curriculum.core.spec import Marks, Piece

from .setups import exercise, length, setup
from .symbol_reader import ROW, SVG, Drawn, drawn, of_kind, points_of, xs, ys

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
