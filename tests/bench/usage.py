"""Usage of a library of 200 exercises, against the same arithmetic on Quantity objects of pint.

The baseline works every step of every figure again with pint 0.25, each input a Quantity; it does
none of the looking up that our own time includes. `dimensions` is a check in itself: pint refuses
to add metres to seconds.
"""

import re
import time
from collections.abc import Iterator
from pathlib import Path
from types import CodeType

from pint import Quantity

from curriculum.core.library import read_exercises
from curriculum.core.spec import Exercise, Setup
from curriculum.core.steps import Step
from curriculum.core.usage import Usage, usage
from shared.units import ureg

LIBRARY = Path(__file__).parents[2] / "curriculum" / "demo" / "library.toml"
EXERCISES = 200


def bench_library() -> list[tuple[Exercise, Setup]]:
    """Every setup of the demo's exercises, repeated until there are 200 exercises."""
    exercises, faults = read_exercises(LIBRARY.read_text(encoding="utf-8"))
    if faults:
        raise ValueError(f"the demo library has faults: {faults[:3]}")
    many = (exercises * (EXERCISES // len(exercises) + 1))[:EXERCISES]
    return [(exercise, setup) for exercise in many for setup in exercise.setups]


def steps_of(used: Usage) -> Iterator[Step]:
    """Every step of every figure of one attempt."""
    yield from used.weld.steps
    yield from used.weld.laid_steps
    yield from used.weld.least.steps if used.weld.least else ()
    for part in (*used.weld.passes, used.time, *used.items, *used.supplies):
        yield from part.steps


def unit_of(unit: str) -> str:
    """Write a unit of a step as pint reads it: "kg/m3" is kg/m**3."""
    return "" if unit == "1" else re.sub(r"(?<=m)([23])", r"**\1", unit)


def with_quantities(step: Step, code: CodeType) -> Quantity:
    """Work one step out on Quantity objects; `code` is its expression, one of our own formulas."""
    values = {
        name: ureg.Quantity(one.value, unit_of(one.unit)) for name, one in step.inputs.items()
    }
    found = eval(code, {"__builtins__": {}}, values)
    return found if isinstance(found, Quantity) else ureg.Quantity(found)


def main() -> None:
    pairs = bench_library()
    used = [usage(exercise, setup) for exercise, setup in pairs]
    seconds = []
    for _ in range(5):
        begin = time.perf_counter()
        for exercise, setup in pairs:
            usage(exercise, setup)
        seconds.append(time.perf_counter() - begin)
    steps = [step for one in used for step in steps_of(one)]
    codes = {step.expression: compile(step.expression, "<step>", "eval") for step in steps}
    begin = time.perf_counter()
    for step in steps:
        with_quantities(step, codes[step.expression])
    baseline = time.perf_counter() - begin
    best, middle = min(seconds), sorted(seconds)[len(seconds) // 2]
    print(  # noqa: T201
        f"{EXERCISES} exercises, {len(pairs)} setups, {len(steps)} steps: best {best:.3f} s, "
        f"median {middle:.3f} s of {len(seconds)} (aim 0.3 s)\n"
        f"the same steps with pint's Quantity: {baseline:.2f} s; ratio {baseline / best:.1f}"
    )


if __name__ == "__main__":
    main()
