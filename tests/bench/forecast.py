"""Forecast of 24 students x 40 tasks x 12 items x 16 weeks, against a plain Python loop.

The loop (the tests' independent simulator of the same model) is timed on fewer runs and scaled.
"""

import random
import time
from datetime import date, timedelta

from inventory.core.case import Case, read_case
from inventory.core.forecast import RUNS, forecast
from tests.inventory.core.plain_loop import simulate_term

LOOP_RUNS = 10


def bench_case() -> Case:
    """24 students, 40 tasks of 5 items each, 12 items, 16 weeks of two sessions."""
    first = date(2026, 9, 7)
    days = [first + timedelta(weeks=w, days=d) for w in range(16) for d in (0, 2)]
    return read_case(
        {
            "sessions": [{"date": str(day), "minutes": 130, "booths": 20} for day in days],
            "students": [{"id": f"s{n}", "attendance": 0.9} for n in range(24)],
            "tasks": [
                {
                    "id": f"t{n}",
                    "minutes": 25 + n % 4 * 5,
                    "practice_minutes": 20,
                    "first_pass": 0.5 + n % 5 * 0.1,
                    "uses": [
                        {"item": f"i{(n + 3 * k) % 12}", "quantity": 0.1, "cv": 0.15 if k else 0}
                        for k in range(5)
                    ],
                }
                for n in range(40)
            ],
            "items": [
                {"id": f"i{n}", "pack": 5, "price": "20.00", "on_hand": 10, "factor": 1.8}
                for n in range(12)
            ],
        }
    )


def main() -> None:
    case = bench_case()
    forecast(case, runs=50)
    seconds = []
    for _ in range(5):
        begin = time.perf_counter()
        forecast(case)
        seconds.append(time.perf_counter() - begin)
    rng = random.Random(1)
    begin = time.perf_counter()
    for _ in range(LOOP_RUNS):
        simulate_term(case, rng)
    loop = (time.perf_counter() - begin) / LOOP_RUNS * RUNS
    best, middle = min(seconds), sorted(seconds)[len(seconds) // 2]
    print(  # noqa: T201
        f"24 students x 40 tasks x 12 items x 16 weeks, {RUNS} runs: "
        f"best {best:.3f} s, median {middle:.3f} s of {len(seconds)} (aim 0.5 s)\n"
        f"plain loop: {loop:.1f} s, scaled from {LOOP_RUNS} runs; ratio {loop / best:.0f}"
    )


if __name__ == "__main__":
    main()
