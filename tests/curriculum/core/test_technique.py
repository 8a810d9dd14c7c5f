"""The tool is drawn at the angles that a setup states, pushed or dragged, for either hand."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box

from curriculum.core.defaults import table
from curriculum.core.drawing.technique import (
    MARKS,
    PATHS,
    Angles,
    describe_angles,
    direction_of,
    ends_by_pass,
    heading,
    led,
    place_of,
    sides_by_pass,
)
from curriculum.core.drawing.technique_path import path_strip, width_after
from curriculum.core.drawing.technique_tools import stickout
from curriculum.core.drawing.technique_views import View, end_view, side_view
from curriculum.core.library_keys import positions
from curriculum.core.spec import JOINT_KINDS, PROCESSES, Joint, Pass
from shared.units import Measure, Range, parse_range

from .setups import exercise, length, setup

SVG = "{http://www.w3.org/2000/svg}"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e-?\d+)?")
Point = tuple[float, float]

angles = st.builds(
    lambda low, more, start: (
        Range.of(low, min(low + more, 180.0), "deg")
        if start is None
        else Range.of(low, min(low + more, 180.0), "deg", start=low)
    ),
    st.floats(0, 180).map(lambda v: round(v, 1)),
    st.sampled_from([0.0, 5.0, 15.0]),
    st.sampled_from([None, True]),
)
held_angles = st.builds(
    Angles,
    work=st.none() | angles,
    travel=st.none() | angles,
    rod=st.none() | angles,
    direction=st.sampled_from(["push", "drag", ""]),
)
whole_setups = st.builds(
    lambda kind, nozzle, out, corner: replace(
        setup("bead"),
        joint=Joint(kind=kind, corner_angle=Measure.of(corner, "deg")),
        nozzle=nozzle,
        stickout=out,
    ),
    st.sampled_from(JOINT_KINDS),
    st.none() | st.floats(0.004, 0.03).map(lambda v: Measure.of(v, "m")),
    st.none() | st.floats(0.001, 0.05).map(lambda v: Range.of(v, v, "m")),
    st.floats(45, 150),
)
POSITIONS = ["", *positions()]


def deg(text: str) -> Range:
    return parse_range(text, "angle")


def hold(*, work: str = "", travel: str = "", rod: str = "", direction: str = "") -> Angles:
    return Angles(
        work=deg(work) if work else None,
        travel=deg(travel) if travel else None,
        rod=deg(rod) if rod else None,
        direction=direction,
    )


def lines(view: View) -> dict[str, tuple[Point, Point]]:
    """The two lines of the angle as the SVG text has them, each from the tool outward."""
    found = {}
    for line in ElementTree.fromstring(view.svg("t")).iter(f"{SVG}line"):
        x1, y1, x2, y2 = (float(line.attrib[name]) for name in ("x1", "y1", "x2", "y2"))
        found[line.attrib["data-role"]] = ((x1, y1), (x2, y2))
    return found


def between(view: View) -> float:
    """The angle between the two lines, measured on the drawing, in degrees."""
    found = lines(view)
    ways = [
        math.atan2(found[role][1][1] - found[role][0][1], found[role][1][0] - found[role][0][0])
        for role in ("from", "axis")
    ]
    turned = abs(math.degrees(ways[0] - ways[1])) % 360
    return min(turned, 360 - turned)


def coordinates(view: View, *, shape: bool = False) -> list[list[Point]]:
    """Every line and outline of the SVG; the texts are left out.

    `shape` leaves out what is the same on any plate: hatching and the zigzag of a broken side.
    """
    out: list[list[Point]] = []
    for element in ElementTree.fromstring(view.svg("t")).iter():
        data = element.get("d") or element.get("points") or ""
        if element.tag == f"{SVG}line":
            data = " ".join(element.attrib[name] for name in ("x1", "y1", "x2", "y2"))
        numbers = [float(one) for one in NUMBER.findall(data)]
        zigzag = element.get("class") == "thin" and len(numbers) == 12
        if shape and (zigzag or element.get("class") == "hatch-line"):
            continue
        if numbers:
            out.append(list(zip(numbers[::2], numbers[1::2], strict=True)))
    return out


def mirrored(outlines: Sequence[Sequence[Point]]) -> set[tuple[Point, ...]]:
    return {
        tuple(sorted((round(-x, 1) + 0.0, round(y, 1) + 0.0) for x, y in one)) for one in outlines
    }


def as_they_are(outlines: Sequence[Sequence[Point]]) -> set[tuple[Point, ...]]:
    return {
        tuple(sorted((round(x, 1) + 0.0, round(y, 1) + 0.0) for x, y in one)) for one in outlines
    }


@pytest.mark.parametrize("process", PROCESSES)
@pytest.mark.parametrize("travel", ["5 deg", "10-15 deg", "30 deg", "45 deg"])
def test_the_drawn_travel_angle_is_the_setups(process, travel):
    held = hold(travel=travel, direction="push")
    view = side_view(exercise(process, setup("bead")), setup("bead"), held)
    assert view is not None
    # A range is drawn at its working value, its middle: SVG has two decimals of a pixel.
    assert between(view) == pytest.approx(deg(travel).working, abs=0.05)


@pytest.mark.parametrize("process", PROCESSES)
@pytest.mark.parametrize(
    ("kind", "work"),
    [("tee fillet", "45 deg"), ("tee fillet", "60-70 deg"), ("lap fillet", "60 deg"),
     ("outside corner", "45 deg"), ("square groove", "90 deg"), ("bead", "70-90 deg"),
     ("single V", "80 deg"), ("padding", "110 deg")],
)  # fmt: skip
def test_the_drawn_work_angle_is_the_setups(process, kind, work):
    one = setup(kind)
    for position in ("", "1F", "2F", "2G", "3F up", "4F"):
        practice = replace(exercise(process, one), position=position)
        view = end_view(practice, one, hold(work=work))
        assert view is not None
        assert between(view) == pytest.approx(deg(work).working, abs=0.05)


@given(
    st.sampled_from(list(PROCESSES)), st.sampled_from(POSITIONS), whole_setups, held_angles,
    st.booleans(),
)  # fmt: skip
@settings(max_examples=250)
def test_nothing_is_drawn_over_anything_whatever_the_numbers_are(
    process, position, one, held, left
):
    practice = replace(exercise(process, one), position=position)
    for view in (
        end_view(practice, one, held),
        side_view(practice, one, held, left_handed=left),
    ):
        if view is None:
            continue
        frame = [float(v) for v in ElementTree.fromstring(view.svg("t")).attrib["viewBox"].split()]
        held_in = box(frame[0], frame[1], frame[0] + frame[2], frame[1] + frame[3])
        for outline in coordinates(view):
            for point in outline:
                assert held_in.covers(box(*point, *point).centroid)
        texts = [box(*text.box) for text in view.canvas.texts]
        assert all(held_in.covers(text) for text in texts)
        for text, other in combinations(texts, 2):
            assert not text.intersects(other)
        drawn = [Polygon(solid) for solid in view.canvas.solids]
        drawn += [Polygon(points) for points in coordinates(view) if len(points) in (4, 5)]
        for text in texts:
            for part in drawn:
                assert text.intersection(part.buffer(0)).area < 1.0
        stated = held.work if view.name == "end" else held.travel
        assert view.degrees == (stated.working if stated else 0.0)


@given(st.sampled_from(list(PROCESSES)), st.sampled_from(POSITIONS), held_angles)
@settings(max_examples=120)
def test_a_left_hand_is_the_mirror_of_a_right_one(process, position, held):
    one = setup("bead")
    practice = replace(exercise(process, one), position=position)
    right = side_view(practice, one, held)
    left = side_view(practice, one, held, left_handed=True)
    assert (right is None) == (left is None)
    if right is None or left is None:
        return
    assert mirrored(coordinates(right, shape=True)) == as_they_are(coordinates(left, shape=True))
    words = [re.sub(r"<[^>]+>", " ", view.svg("t").split("</title>")[1]) for view in (right, left)]
    assert words[0].split() == words[1].split()


@pytest.mark.parametrize("process", PROCESSES)
@pytest.mark.parametrize("left", [False, True])
@pytest.mark.parametrize("position", ["flat", "1G", "2F", "4G", "3F up", "3F down", "2G"])
def test_a_pushed_tip_points_the_way_of_travel_and_a_dragged_one_back(process, left, position):
    """AWS A3.0 (from memory): push angle, the electrode points in the direction of weld
    progression; drag angle, it points opposite to it."""
    one = setup("bead")
    practice = replace(exercise(process, one), position=position)
    for direction, sign in (("push", 1), ("drag", -1)):
        held = hold(travel="20 deg", direction=direction)
        view = side_view(practice, one, held, left_handed=left)
        assert view is not None
        (near, far) = lines(view)["axis"]
        pointing = (near[0] - far[0], near[1] - far[1])
        to = heading(place_of(position), direction, left_handed=left)
        way = {"left": (-1, 0), "right": (1, 0), "up": (0, -1), "down": (0, 1)}[to]
        assert sign * (pointing[0] * way[0] + pointing[1] * way[1]) > 0
        tail, tip = _travel_arrow(view)
        assert (tip[0] - tail[0]) * way[0] + (tip[1] - tail[1]) * way[1] > 100
        assert sign * (pointing[0] * (tip[0] - tail[0]) + pointing[1] * (tip[1] - tail[1])) > 0


def _travel_arrow(view: View) -> tuple[Point, Point]:
    """Tail and tip of the arrow of travel: the last two outlines of the drawing."""
    shaft, head = coordinates(view)[-2:]
    return shaft[0], head[0]


def test_a_right_hand_holds_the_tool_from_the_right():
    """Common practice, no source: the hand with the torch is on its own side of the weld."""
    for left, side in ((False, 1), (True, -1)):
        view = side_view(
            exercise("GTAW", setup("bead")),
            setup("bead"),
            hold(travel="15 deg", direction="push"),
            left_handed=left,
        )
        assert view is not None
        near, far = lines(view)["axis"]
        assert side * (far[0] - near[0]) > 0


def test_upward_the_tool_is_pushed_from_below_and_downward_dragged_from_below():
    """Common practice, no source: either way the arc holds the puddle up from underneath."""
    for position, direction in (("3G up", "push"), ("3G down", "drag")):
        practice = replace(exercise("SMAW", setup("bead")), position=position)
        view = side_view(practice, setup("bead"), hold(travel="10 deg", direction=direction))
        assert view is not None
        near, far = lines(view)["axis"]
        assert far[1] > near[1]  # y grows downward


def test_overhead_the_tool_is_under_the_plate():
    practice = replace(exercise("SMAW", setup("bead")), position="4G")
    view = side_view(practice, setup("bead"), hold(travel="10 deg", direction="drag"))
    assert view is not None
    near, far = lines(view)["axis"]
    assert far[1] > near[1]
    assert max(y for solid in view.canvas.solids for _x, y in solid) <= 0.01


@given(st.sampled_from(list(PROCESSES)), whole_setups, angles)
def test_the_tool_never_stands_in_a_plate(process, one, work):
    view = end_view(exercise(process, one), one, replace(hold(), work=work))
    if view is None:
        return
    tools = [
        Polygon(points)
        for element in ElementTree.fromstring(view.svg("t")).iter(f"{SVG}path")
        if (element.get("class") or "") in ("f-done", "tip")
        and len(points := _points(element)) >= 4
    ]
    assert tools
    for tool in tools:
        for solid in view.canvas.solids:
            assert tool.buffer(0).intersection(Polygon(solid).buffer(0)).area < 0.5


def _points(element: ElementTree.Element) -> list[Point]:
    numbers = [float(one) for one in NUMBER.findall(element.get("d") or "")]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


@pytest.mark.parametrize("travel", ["90 deg", "120 deg", "180 deg"])
def test_a_tool_that_would_lie_in_the_plate_is_not_drawn(travel):
    """AWS A3.0 (from memory): a travel angle is less than 90 degrees."""
    one = setup("bead")
    assert side_view(exercise("GMAW", one), one, hold(travel=travel, direction="push")) is None


def test_what_is_not_stated_is_not_drawn():
    one = setup("bead")
    assert end_view(exercise("GMAW", one), one, hold(travel="10 deg")) is None
    assert side_view(exercise("GMAW", one), one, hold(work="90 deg")) is None


def test_a_cutting_torch_is_drawn_upright_where_only_the_way_is_stated():
    one = setup("none")
    view = side_view(exercise("OFC", one), one, hold(direction="push"))
    assert view is not None
    assert view.degrees == 0.0
    assert not view.canvas.texts


def test_stickout_is_drawn_in_proportion_to_the_nozzle():
    """Twice the stickout out of one nozzle stands out twice as far."""
    one = setup("bead", nozzle="1/2 in", stickout="1/4 in")
    two = setup("bead", nozzle="1/2 in", stickout="1/2 in")
    assert stickout(two, 1.0) == pytest.approx(2 * stickout(one, 1.0))
    assert stickout(setup("bead"), 34.0) == 34.0


def test_a_pass_is_held_by_its_own_angles_before_the_setups():
    one = replace(
        setup("tee fillet"),
        work_angle=deg("45 deg"),
        travel_angle=deg("10 deg"),
        travel_direction="drag",
        passes=(
            Pass(technique="stringer"),
            Pass(technique="stringer", count=2, work_angle=deg("60-70 deg")),
            Pass(technique="weave"),
        ),
    )
    ends = [(labels, held.work.typed) for labels, held in ends_by_pass(one) if held.work]
    assert ends == [(("1", "4"), "45 deg"), (("2–3",), "60-70 deg")]
    ((labels, held),) = sides_by_pass(one)
    assert labels == ()  # all of them
    assert (held.travel, held.direction) == (one.travel_angle, "drag")


def test_push_and_drag_are_read_from_a_pass_of_its_own():
    one = setup("bead")
    assert direction_of(one, Pass(technique="stringer", bead="push: wide and flat")) == "push"
    assert direction_of(one, Pass(technique="arrastre")) == "drag"
    assert direction_of(replace(one, travel_direction="drag"), Pass(technique="weave")) == "drag"
    both = Pass(technique="stringer", bead="push, then drag")
    assert direction_of(one, both) == ""
    assert direction_of(one, Pass(technique="pushed hard")) == ""


@pytest.mark.parametrize(
    ("technique", "path", "marks"),
    [("stringer", "straight", ()), ("Weave", "zigzag", ()), ("half circles", "crescent", ()),
     ("small triangles", "triangles", ()), ("walk the cup", "circles", ()),
     ("dip", "straight", ("dabs",)),
     ("lay wire", "straight", ("wire",)), ("keyhole and dip", "straight", ("dabs", "keyhole")),
     ("keyhole whip", "whip", ("keyhole",)), ("a way of our own", "straight", ())],
)  # fmt: skip
def test_words_of_the_trade_draw_their_path(technique, path, marks):
    """Common practice, no source."""
    assert led(technique) == (path, marks)


def test_every_path_and_mark_of_the_table_has_its_words():
    assert {row["path"] for row in table("technique")["path"]} | {"straight"} == set(PATHS)
    assert {row["mark"] for row in table("technique")["marks"]} == set(MARKS)


@given(
    st.sampled_from([*PATHS, "dip", "lay wire", "keyhole", "weave", "half circles", "whip",
                     "triangle", "circles", "stringer"]),
    st.floats(0.001, 0.05),
    st.sampled_from(POSITIONS),
    st.booleans(),
    st.sampled_from(["push", "drag", ""]),
)  # fmt: skip
def test_the_puddle_stays_between_the_sides_and_ends_at_the_arrow(
    technique, width, position, left, way
):
    one = replace(
        setup("bead"),
        joint=Joint(kind="bead", bead_width=Range.of(width, width, "m")),
        travel_direction=way,
        passes=(Pass(technique=technique),),
    )
    practice = replace(exercise("GTAW", one), position=position)
    strip = path_strip(practice, one, 1, left_handed=left)
    across = 0 if place_of(position).turn == "vertical" else 1
    assert max(abs(p[across]) for p in strip.route) <= strip.half
    along = [abs(p[1 - across]) for p in strip.route]
    assert along[-1] == max(along)
    other = path_strip(practice, one, 1, left_handed=not left)
    if across == 1 and way:
        for (x, y), (far_x, far_y) in zip(strip.route, other.route, strict=True):
            assert (-x, y) == pytest.approx((far_x, far_y))


def test_a_weave_is_wider_on_the_cap_than_on_the_root():
    three = tuple(Pass(technique="weave") for _ in range(3))
    one = replace(setup("single V", groove_angle="60 deg", root_opening="1/8 in"), passes=three)
    widths = [width_after(one, n) for n in (1, 2, 3)]
    assert widths == sorted(widths)
    # 1/8 in + 2 x 3/8 in x tan 30 deg = 0.125 + 0.433 = 0.558 in
    assert widths[-1] / 0.0254 == pytest.approx(0.558, abs=0.001)
    # the face of an equal fillet is the leg times the square root of 2
    fillet = replace(setup("tee fillet", leg="1/4 in"), passes=three[:1])
    assert width_after(fillet, 1) == pytest.approx(length("1/4 in").value * math.sqrt(2))


@pytest.mark.parametrize("number", [0, 2, -1])
def test_a_pass_that_is_not_there_is_refused(number):
    one = replace(setup("bead"), passes=(Pass(technique="stringer"),))
    with pytest.raises(ValueError, match="pass_no must be 1 to 1"):
        path_strip(exercise("SMAW", one), one, number)


def test_the_words_say_what_the_drawing_shows():
    held = hold(work="45 deg", travel="10-15 deg", rod="20 deg", direction="push")
    practice = replace(exercise("GTAW", setup("tee fillet")), position="2F")
    assert describe_angles(practice, held) == (
        "Torch: work angle 45° from the plate, travel angle 10–15° from upright, push: the tip "
        "points the way you go, rod 20° from the plate, ahead of the puddle. "
        "Right hand: from right to left."
    )
    assert describe_angles(practice, held, left_handed=True).endswith(
        "Left hand: from left to right."
    )
    up = replace(practice, position="3F up")
    assert describe_angles(up, held, left_handed=True).endswith("Travel upward.")
    pipe = replace(practice, position="6G")
    assert describe_angles(pipe, held).endswith(
        "Keep the angles to the pipe's surface all the way from the bottom up."
    )
