"""Invented readings: figures on the gauge's steps, within the limits or beyond them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from random import Random

from curriculum.core.spec import Criterion
from grading.core.verdict import Reading, judge, limit_for

STEP = 0.0254 / 64  # where the criterion names no gauge
SLACK = 1e-9
SPAN = 4  # steps that a figure strays from its limit


def invent(
    criteria: Sequence[Criterion], thickness: float, chance: Random, *, passes: bool
) -> dict[str, Reading]:
    """Return a reading for each criterion by its name, such that the rubric says pass or redo.

    Now and then a passing coupon misses one criterion that alone does not mean redo.
    """
    taken = {one.name: _reading(one, thickness, chance, is_met=True) for one in criteria}
    order = [one for one in criteria if _can_be_missed(one)]
    chance.shuffle(order)
    if passes:
        slips = [one for one in order if not one.mandatory][: chance.random() < 0.25]
        for one in slips:
            slipped = taken | {one.name: _reading(one, thickness, chance, is_met=False)}
            if judge(criteria, slipped, thickness=thickness).verdict == "pass":
                taken = slipped
        return taken
    for one in order:
        taken[one.name] = _reading(one, thickness, chance, is_met=False)
        if judge(criteria, taken, thickness=thickness).verdict == "redo":
            return taken
    raise ValueError("no reading of these criteria can mean redo")


def own_view(
    criteria: Sequence[Criterion], taken: dict[str, Reading], chance: Random
) -> dict[str, Reading]:
    """Return the student's own readings: mostly the same, some kinder, some left out."""
    seen = {}
    for one in criteria:
        reading, luck = taken[one.name], chance.random()
        if luck < 0.2:
            continue
        if one.kind == "measured" and reading.value is not None and luck < 0.5:
            step = one.step.value if one.step else STEP
            reading = replace(reading, value=max(0.0, reading.value - step))
        seen[one.name] = reading
    return seen


def _can_be_missed(one: Criterion) -> bool:
    return one.kind != "measured" or one.max is not None or one.min is not None


def _reading(one: Criterion, thickness: float, chance: Random, *, is_met: bool) -> Reading:
    limit = limit_for(one, thickness)
    low, high = limit.low, limit.high
    match one.kind:
        case "gauge":
            return Reading(passed=is_met)
        case "judged" if one.unit == "yes/no":
            return Reading(passed=is_met)
        case "judged":
            least = round(low if low is not None else 2)
            return Reading(
                value=chance.randint(least, 4) if is_met else chance.randint(0, least - 1)
            )
        case "counted":
            most = round(high or 0)
            return Reading(value=chance.randint(0, most) if is_met else most + chance.randint(1, 3))
        case "share":
            needed = low or 0.0
            shares = [n / 20 for n in range(21) if (n / 20 >= needed) == is_met]
            return Reading(value=chance.choice(shares[:3] if is_met else shares[-SPAN:]))
        case "bend":
            widest, step = high or 0.0, one.step.value if one.step else STEP
            opening = chance.randrange(0, 3) * step if is_met else widest + 2 * step
            return Reading(detail={"openings": [opening]})
    step = one.step.value if one.step else STEP
    if is_met:
        first = low if low is not None else max(0.0, (high or 0.0) - SPAN * step)
        last = high if high is not None else first + SPAN * step
        return Reading(value=_on_step(chance.uniform(first, last), first, last, step))
    beyond = chance.randint(1, SPAN - 1) * step
    if high is None or (low is not None and low > beyond and chance.random() < 0.5):
        return Reading(value=max(0.0, (low or 0.0) - beyond))
    return Reading(value=math.floor(high / step + SLACK) * step + beyond)


def _on_step(value: float, first: float, last: float, step: float) -> float:
    """Return the nearest figure that the gauge shows and that lies between the bounds."""
    shown = round(value / step) * step
    if first <= shown <= last:
        return shown
    return first if shown < first else math.floor(last / step + SLACK) * step
