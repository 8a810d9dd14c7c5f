"""The cut list: the same cuts in an order that can be worked, the gauge moved least."""

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given, settings

from inventory.core.cutting import Cut, Layout, Machine, Problem, check_plan
from inventory.core.cutting.problem import whole
from inventory.core.cutting.worklist import (
    Step,
    gauge,
    in_order,
    letters,
    marks_of,
    on_the_mark,
    ranges,
    size_text,
    steps,
)
from tests.inventory.core.cut_plans import INCH, piece, planned, problems, sheet, unsorted

few = settings(max_examples=20)


def listed(problem: Problem) -> list[list[Step]]:
    plan = planned(problem)
    marks = marks_of(problem, plan)
    return [steps(in_order(layout), marks) for layout in plan.layouts]


@few
@given(problems())
def test_the_order_of_work_is_a_plan_that_the_check_passes(problem: Problem) -> None:
    plan = planned(problem)
    check_plan(problem, replace(plan, layouts=tuple(map(in_order, plan.layouts))))


@few
@given(problems())
def test_every_setting_of_a_stage_is_come_by_once(problem: Problem) -> None:
    for layout, rows in zip(planned(problem).layouts, listed(problem), strict=True):
        set_once = {(cut.stage, cut.setting, cut.runs) for cut in layout.cuts if cut.stage}
        assert len([row for row in rows if row.stage]) == len(set_once)
        settings_of = [(row.stage, -row.setting) for row in rows if row.stage]
        assert settings_of == sorted(settings_of)


@few
@given(problems())
def test_the_list_numbers_all_cuts_and_gives_all_blanks_and_remnants(problem: Problem) -> None:
    plan = planned(problem)
    marks = marks_of(problem, plan)
    for layout, rows in zip(plan.layouts, listed(problem), strict=True):
        numbers = [number for row in rows for number in row.numbers]
        assert numbers == list(range(1, len(layout.cuts) + 1))
        given_out: Counter[str] = Counter()
        for row in rows:
            for one in (*row.off, *row.left):
                if one.kind in ("blank", "remnant"):
                    given_out[one.mark] += one.count
        wanted = Counter(marks.of(part) for part in (*layout.blanks, *layout.remnants))
        assert given_out == wanted or not layout.cuts


@few
@given(problems())
def test_gauge_settings_and_kerfs_of_a_row_add_up_to_the_stock(problem: Problem) -> None:
    """Along a chain of cuts: what comes off, what the cuts take, and the rest are the part."""
    kerf = whole(problem.machine.kerf)
    for layout in planned(problem).layouts:
        by_part = {cut.part: cut for cut in layout.cuts}
        rests = {cut.rest for cut in layout.cuts}
        for first in layout.cuts:
            if first.stage == 0 or (first.part in rests and _before(layout, first)):
                continue
            total, cut = 0, first
            part = layout.parts[first.part]
            along = first.runs == "width"
            while True:
                total += whole(cut.setting)
                following = by_part.get(cut.rest) if cut.rest is not None else None
                if following is None or following.stage != first.stage:
                    break
                total, cut = total + kerf, following
            if cut.rest is not None:
                rest = layout.parts[cut.rest]
                total += kerf + whole(rest.length if along else rest.width or 0)
            else:  # the last cut runs out over the edge: less than a kerf is left
                missing = whole(part.length if along else part.width or 0) - total
                assert 0 <= missing <= kerf
                continue
            assert total == whole(part.length if along else part.width or 0)


def _before(layout: Layout, cut: Cut) -> bool:
    """Say whether a cut goes on along a row that a cut of its stage began."""
    return any(one.rest == cut.part and one.stage == cut.stage for one in layout.cuts)


def test_a_setting_comes_again_only_where_the_blanks_lie_so() -> None:
    problem, plan = unsorted()
    layout = in_order(plan.layouts[0])
    check_plan(problem, replace(plan, layouts=(layout,)))
    # b's 5 in first; a's 3 in must come before its 5 in.
    sizes = [round(cut.setting / INCH) for cut in layout.cuts]
    assert sizes == [4, 5, 3, 3, 5]


def test_a_strip_of_four_blanks_by_hand() -> None:
    """A 10 × 3 in bar-like sheet, kerf 1/8 in: 3 × 2 in and 1 of 3 in fill 9-3/8 in of it.

    9 in of blanks and three or four cuts of 1/8 in: 0.5 in is left of the fourth cut, 10 − 9.5.
    """
    problem = Problem(
        pieces=(piece("two", 2, 3, 3), piece("three", 3, 3, 1)),
        stock=(sheet("s", 10, 3),),
        machine=Machine(kerf=INCH / 8),
    )
    (rows,) = listed(problem)
    assert [(row.ranges, str(gauge(row.setting, "us"))) for row in rows] == [
        ("1", "3 in"),
        ("2–4", "2 in"),
    ]
    assert [(one.kind, one.mark, one.count) for one in rows[0].off] == [("blank", "B", 1)]
    assert [(one.kind, one.mark, one.count) for one in rows[1].off] == [("blank", "A", 3)]
    assert [one.kind for one in rows[1].left] == ["scrap"]


def test_trimming_names_its_edges() -> None:
    problem = Problem(
        pieces=(piece("p", 4, 4, 9),),
        stock=(sheet("s", 14, 14),),
        machine=Machine(kerf=INCH / 8, trim=INCH / 2),
    )
    (rows,) = listed(problem)
    assert [row.edge for row in rows[:4]] == ["left", "right", "top", "bottom"]
    # Of 1/2 in the cut takes 1/8; then 14 − 2 × 1/2 in is left between the edges.
    assert [str(gauge(row.setting, "us")) for row in rows[:4]] == ["3/8 in", "13 in"] * 2
    assert not any(row.edge for row in rows[4:])


@pytest.mark.parametrize(
    ("metres", "us", "metric"),
    [
        (0.0254, "1 in", "25.4 mm"),
        (0.0381, "1-1/2 in", "38.1 mm"),
        (0.00079375 / 2, "1/64 in", "0.4 mm"),  # 1/64 in = 0.396875 mm
        (0.05, "1-31/32 in", "50 mm"),  # 1.9685 in; 63/32 in = 50.006 mm
        (2.4384, "96 in", "2438.4 mm"),  # never feet or metres: a gauge has none
        (6.096, "240 in", "6096 mm"),
        (0.0, "0 in", "0 mm"),
    ],
)
def test_a_setting_is_written_as_a_gauge_is_read(metres: float, us: str, metric: str) -> None:
    """25.4 mm to the inch, exactly: international yard and pound agreement, 1959."""
    assert (str(gauge(metres, "us")), str(gauge(metres, "metric"))) == (us, metric)


def test_what_is_rounded_to_a_mark_of_the_gauge_is_known() -> None:
    assert on_the_mark(0.0381, "us")
    assert on_the_mark(0.0381, "metric")
    assert not on_the_mark(0.05, "us")
    assert not on_the_mark(INCH / 64, "metric")


def test_numbers_of_a_run_are_written_as_a_range() -> None:
    assert ranges([1]) == "1"
    assert ranges([2, 3, 4, 9]) == "2–4, 9"


def test_a_size_is_written_small_side_first() -> None:
    assert size_text(6 * INCH, 3 * INCH, "us") == "3 × 6 in"
    assert size_text(6 * INCH, None, "us") == "6 in"


def test_letters_are_never_taken_for_figures_or_remnants() -> None:
    many = [letters(n) for n in range(200)]
    assert len(set(many)) == 200
    assert not set("IOR") & set("".join(many))
    assert many[:3] + many[23:25] == ["A", "B", "C", "AA", "AB"]
