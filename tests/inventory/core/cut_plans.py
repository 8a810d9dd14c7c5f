"""Plans to draw and to list: random ones of the solver, and one that is cut in no good order."""

from decimal import Decimal
from functools import lru_cache

from hypothesis import strategies as st

from inventory.core.cutting import (
    Cut,
    Layout,
    Machine,
    Part,
    Piece,
    Plan,
    Problem,
    Stock,
    check_plan,
    solve,
)

INCH = 0.0254  # m, exactly: international yard and pound agreement, 1959


def piece(name: str, length: float, width: float | None, count: int, turn: bool = True) -> Piece:
    """Sides in inches."""
    wide = None if width is None else width * INCH
    return Piece(id=name, length=length * INCH, width=wide, count=count, rotate=turn)


def sheet(name: str, length: float, width: float | None, **more: object) -> Stock:
    """Sides in inches."""
    wide = None if width is None else width * INCH
    return Stock(id=name, length=length * INCH, width=wide, **more)  # type: ignore[arg-type]


@lru_cache(maxsize=256)
def planned(problem: Problem) -> Plan:
    return solve(problem, seconds=0.05)


def sixteenths(low: int, high: int) -> st.SearchStrategy[float]:
    return st.integers(low * 16, high * 16).map(lambda n: n / 16)


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    """Problems of a shop: a few sizes on sheets or bars, any machine."""
    bars = draw(st.booleans())
    pieces = [
        piece(
            f"p{n}",
            draw(sixteenths(1, 20)),
            None if bars else draw(sixteenths(1, 12)),
            draw(st.integers(1, 30)),
            draw(st.booleans()),
        )
        for n in range(draw(st.integers(1, 6)))
    ]
    stock = [sheet("full", 240 if bars else 96, None if bars else 48)]
    if draw(st.booleans()):
        stock.append(sheet("rest", 40, None if bars else 30, price=Decimal(0), count=1))
    machine = Machine(
        kerf=draw(st.sampled_from([0.0, 1 / 16, 1 / 8, 1 / 4])) * INCH,
        trim=draw(st.sampled_from([0.0, 1 / 8, 1 / 2])) * INCH,
        stages=draw(st.sampled_from([2, 3])),
    )
    return Problem(pieces=tuple(pieces), stock=tuple(stock), machine=machine)


def unsorted() -> tuple[Problem, Plan]:
    """Two strips whose blanks lie small before large, in the order in which nobody would cut.

    Without kerf, of 10 × 6 in: a strip of 4 in with 3, 5, 2 in; one of 2 in with 5, 3, 2 in.
    """
    rows = [("a", 4.0, (3.0, 5.0, 2.0)), ("b", 2.0, (5.0, 3.0, 2.0))]
    parts = [Part(kind="stock", x=0, y=0, length=10 * INCH, width=6 * INCH)]
    parts += [
        Part(kind="strip", x=0, y=0, length=10 * INCH, width=4 * INCH),
        Part(kind="strip", x=0, y=4 * INCH, length=10 * INCH, width=2 * INCH),
    ]
    cuts = [
        Cut(number=1, stage=1, part=0, runs="length", setting=4 * INCH, at=4 * INCH, off=1, rest=2)
    ]
    pieces = {}
    y = 0.0
    for strip, (name, high, sizes) in enumerate(rows, start=1):
        x, whole = 0.0, strip
        for place, long in enumerate(sizes):
            key = f"{name}{long:g}"
            pieces[key] = piece(key, long, high, 1)
            blank = Part(
                kind="blank",
                x=x * INCH,
                y=y * INCH,
                length=long * INCH,
                width=high * INCH,
                piece=key,
            )
            if place == len(sizes) - 1:
                parts[whole] = blank
                continue
            left = 10 - x - long
            rest = Part(
                kind="strip", x=(x + long) * INCH, y=y * INCH, length=left * INCH, width=high * INCH
            )
            parts += [blank, rest]
            cuts.append(
                Cut(
                    number=len(cuts) + 1,
                    stage=2,
                    part=whole,
                    runs="width",
                    setting=long * INCH,
                    at=(x + long) * INCH,
                    off=len(parts) - 2,
                    rest=len(parts) - 1,
                )
            )
            whole, x = len(parts) - 1, x + long
        y += high
    layout = Layout(stock="s", count=1, parts=tuple(parts), cuts=tuple(cuts))
    problem = Problem(pieces=tuple(pieces.values()), stock=(sheet("s", 10, 6),))
    plan = Plan(layouts=(layout,), unplaceable=(), cost=Decimal(1), bound=Decimal(1))
    check_plan(problem, plan)
    return problem, plan
