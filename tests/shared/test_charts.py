"""Charts are whole, to scale, escaped, and readable by the PDF writer."""

import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.charts import (
    MARKS,
    ChartPoint,
    ChartWeek,
    Load,
    level_bar,
    load_strip,
    mark_svg,
    progress_bar,
    range_line,
    shelf_chart,
)
from shared.charts.shelf import BOTTOM, TOP, _ticks

SVG = "{http://www.w3.org/2000/svg}"


def parse(svg):
    return ET.fromstring(svg.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))


def chart(**changes):
    given = {
        "weeks": [ChartWeek("7", "24 Feb"), ChartWeek("off", "3 Mar", off=True), ChartWeek("8")],
        "likely": [10, 10, 25],
        "ample": [15, 15, 40],
        "shelf": 20,
        "unit": "lb",
        "title": "Demand & shelf",
    }
    return shelf_chart(**{**given, **changes})


def curve(svg, stroke_width):
    lines = [
        line
        for line in parse(svg).iter(f"{SVG}polyline")
        if line.get("stroke-width") == stroke_width
    ]
    return [tuple(map(float, point.split(","))) for point in lines[-1].get("points").split()]


def test_demand_starts_at_zero_and_ends_to_scale():
    points = curve(chart(), "4")  # the last heavy line is ample demand
    assert points[0][1] == BOTTOM
    # ticks 0, 10 … 40: ample 40 is the top of the plot, 15 lies 15/40 up
    assert points[-1][1] == TOP
    assert points[1][1] == pytest.approx(BOTTOM - (BOTTOM - TOP) * 15 / 40, abs=0.1)


def test_what_arrives_lifts_the_shelf_where_it_arrives():
    svg = chart(arrivals=[(1.5, 30)])
    steps = [line for line in parse(svg).iter(f"{SVG}polyline") if line.get("stroke-width") == "4"]
    points = [tuple(map(float, p.split(","))) for p in steps[0].get("points").split()]
    left, right = points[0][0], points[-1][0]
    assert len(points) == 4
    assert points[1][0] == points[2][0] == pytest.approx((left + right) / 2, abs=0.1)
    # 20, then 50 of 50
    assert points[2][1] == pytest.approx(TOP, abs=0.1)


def test_a_chart_says_what_it_is_and_escapes_what_it_is_given():
    svg = chart(title="E7018 <1/8> & more", shelf_words="a < b")
    title = parse(svg).find(f"{SVG}title")
    assert title.text == "E7018 <1/8> & more"
    assert parse(svg).get("aria-labelledby") == title.get("id")
    assert "a &lt; b" in svg


def test_every_drawn_element_carries_its_own_look():
    svg = chart(
        runs_out=ChartPoint(1.2, ("short from", "Thu 12 Mar")),
        order_by=ChartPoint(-0.4, ("order by Mon 23 Feb",)),
        to_order=("20 lb", "2 cans"),
    )
    shapes = [
        each
        for each in parse(svg).iter()
        if each.tag.removeprefix(SVG) in {"line", "polyline", "circle", "polygon", "rect"}
    ]
    assert len(shapes) > 20
    assert all(each.get("fill") or each.get("stroke") for each in shapes)
    assert "style=" not in svg


def test_the_lead_time_leaves_the_plot_where_the_day_to_order_has_passed():
    svg = chart(runs_out=ChartPoint(1.2, ("short",)), order_by=ChartPoint(-3, ("late",)))
    left = curve(svg, "4")[0][0]
    starts = [
        float(each.get("x1")) for each in parse(svg).iter(f"{SVG}line") if each.get("y1") == "56"
    ]
    assert starts == [pytest.approx(left - 14)]


def test_what_to_order_is_shown_only_where_ample_demand_passes_the_shelf():
    assert "20 lb" in chart(to_order=("20 lb",))
    assert "20 lb" not in chart(to_order=("20 lb",), shelf=60)


def test_nothing_is_drawn_outside_the_drawing():
    weeks = [ChartWeek(str(i), f"{i} Mar") for i in range(1, 31)]
    svg = chart(
        weeks=weeks,
        likely=[1e6 * i for i in range(30)],
        ample=[1.2e6 * i for i in range(30)],
        runs_out=ChartPoint(40, ("never",)),
        to_order=("34,000,000", "ft³"),
    )
    for each in parse(svg).iter():
        for name in ("x", "x1", "x2", "cx"):
            assert 0 <= float(each.get(name, 0)) <= 920
    labels = re.findall(r">(\d+ Mar)<", svg)
    assert 5 < len(labels) < 30  # dates that would overlap are left out


@pytest.mark.parametrize(
    ("changes", "match"),
    [
        ({"likely": [1, 2]}, "one figure a week"),
        ({"weeks": []}, "one figure a week"),
        ({"shelf": -1}, "not negative"),
        ({"ample": [1, 2, float("nan")]}, "not negative"),
        ({"ample": [1, 2, float("inf")]}, "finite"),
    ],
)
def test_a_chart_of_nonsense_is_refused(changes, match):
    with pytest.raises(ValueError, match=match):
        chart(**changes)


@given(st.floats(min_value=1e-6, max_value=1e12))
def test_ticks_are_few_even_and_reach_the_largest(largest):
    ticks = _ticks(largest)
    assert 3 <= len(ticks) <= 7
    assert ticks[0] == 0
    assert ticks[-1] >= largest * (1 - 1e-9)
    assert ticks[-2] < largest


@given(
    st.lists(st.floats(min_value=0, max_value=1e5), min_size=1, max_size=20),
    st.floats(min_value=0, max_value=1e6),
)
def test_any_demand_makes_a_well_formed_chart(steps, shelf):
    ample = [sum(steps[: i + 1]) for i in range(len(steps))]
    parse(
        chart(
            weeks=[ChartWeek(str(i)) for i in range(len(steps))],
            likely=[0.8 * a for a in ample],
            ample=ample,
            shelf=shelf,
        )
    )


def test_a_level_bar_sets_apart_what_is_over_the_limit():
    assert "f-over" not in level_bar(52, 52, 65)
    over = level_bar(58.5, 52, 65)
    assert 'width="80.0%"' in over  # 52 of 65 within
    assert 'width="10.0%"' in over  # 6.5 of 65 over


@pytest.mark.parametrize("arguments", [(-1, 1, 2), (1, -1, 2), (1, 1, 0)])
def test_a_level_bar_of_nonsense_is_refused(arguments):
    with pytest.raises(ValueError, match="must not be negative"):
        level_bar(*arguments)


def test_progress_is_the_share_done_and_refuses_more_than_all():
    assert 'width="37.5%"' in progress_bar(3, 8)
    with pytest.raises(ValueError, match="done must lie in"):
        progress_bar(9, 8)


def test_a_week_that_is_over_says_by_how_much_and_one_without_shop_has_no_figure():
    svg = load_strip([Load("7", 54.4, 52.0), Load("off", 0, None), Load("8", 40, 52)], title="Load")
    assert "+2.4" in svg
    assert svg.count("f-over") == 1
    assert [t.text for t in parse(svg).iter(f"{SVG}text")] == [
        "7",
        "54.4",
        "+2.4",
        "off",
        "8",
        "40.0",
    ]


def test_the_start_figure_sits_on_the_range_in_proportion():
    assert 'cx="50.0%"' in range_line(0.5)
    assert "circle" not in range_line()
    with pytest.raises(ValueError, match="start must lie in"):
        range_line(1.5)


def test_marks_are_well_formed_hidden_from_readers_and_all_different():
    for name in MARKS:
        assert parse(mark_svg(name)).get("aria-hidden") == "true"
    assert len(set(MARKS.values())) == len(MARKS)
    with pytest.raises(ValueError, match="name must be one of"):
        mark_svg("smile")
