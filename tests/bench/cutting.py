"""Cutting plans of invented shop-size problems, against packing heuristics in the same run.

One stock size, several priced sizes with remnants, and bars; then the published instances.
"""

import random
import statistics
import time
from decimal import Decimal

import rectpack

from inventory.core.cutting import SECONDS, Machine, Piece, Problem, Stock, solve
from tests.inventory.core.cutting_cases import published

INCH = 0.0254
CASES = 60
SHEETS = ((48, 96), (48, 120), (36, 96), (60, 120))
BARS = (144, 240, 252)
KERFS = (0.0, 0.0, 1 / 16, 1 / 8)  # in: shear twice, saw, flame


def _pieces(rng: random.Random, *, flat: bool) -> tuple[Piece, ...]:
    """3 to 12 sizes of coupon, 40 to 400 pieces in all; eighths of an inch."""
    sizes, total = rng.randint(3, 12), rng.randint(40, 400)
    shares = [rng.uniform(0.3, 1.0) for _ in range(sizes)]
    return tuple(
        Piece(
            id=f"p{n}",
            length=rng.randint(24, 112) / 8 * INCH,
            width=rng.randint(8, 48) / 8 * INCH if flat else None,
            count=max(1, round(total * share / sum(shares))),
            rotate=rng.random() < 0.8,
        )
        for n, share in enumerate(shares)
    )


def one_size(seed: int) -> Problem:
    rng = random.Random(seed)
    wide, long = rng.choice(SHEETS)
    stock = Stock(id="sheet", length=long * INCH, width=wide * INCH)
    kerf = rng.choice(KERFS) * INCH
    return Problem(pieces=_pieces(rng, flat=True), stock=(stock,), machine=Machine(kerf=kerf))


def priced(seed: int) -> Problem:
    """Three or four sizes at prices by area give or take, and up to four remnants for nothing."""
    rng = random.Random(1000 + seed)
    sheets = [
        Stock(
            id=f"{wide}x{long}",
            length=long * INCH,
            width=wide * INCH,
            price=Decimal(round(wide * long * rng.uniform(0.015, 0.02), 2)).quantize(
                Decimal("0.01")
            ),
        )
        for wide, long in rng.sample(SHEETS, rng.randint(3, 4))
    ]
    remnants = [
        Stock(
            id=f"remnant {n}",
            length=rng.randint(24, 60) * INCH,
            width=rng.randint(12, 36) * INCH,
            price=Decimal(0),
            count=rng.randint(1, 2),
            trimmed=True,
        )
        for n in range(rng.randint(1, 4))
    ]
    return Problem(
        pieces=_pieces(rng, flat=True),
        stock=(*sheets, *remnants),
        machine=Machine(kerf=rng.choice(KERFS) * INCH),
    )


def bars(seed: int) -> Problem:
    rng = random.Random(2000 + seed)
    stock = Stock(id="bar", length=rng.choice(BARS) * INCH)
    machine = Machine(kerf=rng.choice((1 / 16, 1 / 8)) * INCH)
    return Problem(pieces=_pieces(rng, flat=False), stock=(stock,), machine=machine)


def packed(problem: Problem) -> int:
    """Return the sheets that the library's guillotine heuristic needs; a kerf goes round each."""
    kerf, stock = problem.machine.kerf, problem.stock[0]
    packer = rectpack.newPacker(
        mode=rectpack.PackingMode.Offline,
        bin_algo=rectpack.PackingBin.BBF,
        pack_algo=rectpack.GuillotineBssfSas,
        rotation=all(piece.rotate for piece in problem.pieces),
    )
    grid = 100_000
    for piece in problem.pieces:
        for _ in range(piece.count):
            packer.add_rect(
                round((piece.length + kerf) * grid), round(((piece.width or 0) + kerf) * grid)
            )
    size = (stock.length + kerf) * grid, ((stock.width or 0) + kerf) * grid
    packer.add_bin(int(size[0]), int(size[1]), count=float("inf"))
    packer.pack()
    return len(packer)


def first_fit(problem: Problem) -> int:
    """Return the sheets that first-fit decreasing needs: strips by height, blanks by length."""
    kerf, stock = problem.machine.kerf, problem.stock[0]
    wide = (stock.width or 0) + kerf
    blanks = sorted(
        (
            ((piece.width or 0) + kerf, piece.length + kerf)
            for piece in problem.pieces
            for _ in range(piece.count)
        ),
        reverse=True,
    )
    strips: list[list[float]] = []  # height, length left
    for high, long in blanks:
        for strip in strips:
            if strip[0] >= high and strip[1] >= long - 1e-9:
                strip[1] -= long
                break
        else:
            strips.append([high, stock.length + kerf - long])
    sheets: list[float] = []
    for high, _ in sorted(strips, reverse=True):
        for n, left in enumerate(sheets):
            if left >= high - 1e-9:
                sheets[n] -= high
                break
        else:
            sheets.append(wide - high)
    return len(sheets)


def _line(name: str, *parts: str) -> None:
    print(f"{name}: " + ", ".join(parts))  # noqa: T201


def _timed(problem: Problem):
    begin = time.perf_counter()
    plan = solve(problem, seconds=SECONDS)
    return plan, time.perf_counter() - begin


def main() -> None:
    solve(one_size(0), seconds=SECONDS)  # loads the solvers
    results = [(problem, *_timed(problem)) for problem in map(one_size, range(CASES))]
    ours = sum(plan.cost for _, plan, _ in results)
    _line(
        f"{CASES} of one size",
        f"proven {sum(plan.proven for _, plan, _ in results)}",
        f"at most {max(plan.cost - plan.bound for _, plan, _ in results)} sheets over the bound",
        f"gauge settings a plan: {statistics.mean(plan.setups for _, plan, _ in results):.1f}",
        f"s: middle {statistics.median(t for *_, t in results):.2f}, "
        f"most {max(t for *_, t in results):.2f}",
        f"packing library {float(sum(packed(p) for p, *_ in results) / ours):.3f} times the sheets",
        f"first fit {float(sum(first_fit(p) for p, *_ in results) / ours):.3f}",
    )
    results = [(problem, *_timed(problem)) for problem in map(priced, range(CASES))]
    gaps = sorted(plan.gap for _, plan, _ in results)
    _line(
        f"{CASES} of priced sizes and remnants",
        f"gap: median {statistics.median(gaps):.2%}, nine in ten {gaps[CASES * 9 // 10]:.2%}, "
        f"most {gaps[-1]:.2%}",
        f"proven {sum(plan.proven for _, plan, _ in results)}",
        f"s: most {max(t for *_, t in results):.2f}",
    )
    results = [(problem, *_timed(problem)) for problem in map(bars, range(CASES))]
    ours = sum(plan.cost for _, plan, _ in results)
    _line(
        f"{CASES} of bars",
        f"proven {sum(plan.proven for _, plan, _ in results)}",
        f"s: middle {statistics.median(t for *_, t in results):.2f}, "
        f"most {max(t for *_, t in results):.2f}",
        f"first fit {float(sum(first_fit(p) for p, *_ in results) / ours):.3f} times the bars",
    )
    for name, problem, low, best in published():
        plan, seconds = _timed(problem)
        _line(
            name, f"{plan.cost} (known {low} to {best})", f"bound {plan.bound}", f"{seconds:.1f} s"
        )


if __name__ == "__main__":
    main()
