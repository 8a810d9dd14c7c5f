"""Small cases for the forecast's tests."""

import random
from datetime import date, timedelta

FIRST = date(2026, 9, 7)  # a Monday


def sessions(count, minutes=1440, booths=None, every=7):
    """Weekly sessions; as long as a day, so that time is ample unless said."""
    days = [FIRST + timedelta(days=every * n) for n in range(count)]
    return [{"date": str(day), "minutes": minutes, "booths": booths} for day in days]


def one_task(students=18, **task):
    """One task, a minute and a plate an attempt; no practice, no help by redos, no cap."""
    return {
        "sessions": sessions(10),
        "students": [{"id": f"s{n}"} for n in range(students)],
        "tasks": [
            {
                "id": "A",
                "minutes": 1,
                "first_pass": 0.5,
                "redo_odds": 1,
                "cap": None,
                "uses": [{"item": "plate", "quantity": 1, "cv": 0}],
                **task,
            }
        ],
        "items": [{"id": "plate", "bias_cv": 0}],
    }


def shop(seed):
    """A small class with everything that can differ, different for each seed."""
    rng = random.Random(seed)
    days = sorted(rng.sample(range(60), 7))
    tasks = ["A", "B", "C"]

    def student(n):
        passed = [t for t in tasks[:1] if rng.random() < 0.2]
        open_tasks = [t for t in tasks if t not in passed]
        return {
            "id": f"s{n}",
            "attendance": rng.choice([0.6, 0.85, 1]),
            "from": str(FIRST + timedelta(days=rng.randint(0, 20))) if n == 1 else None,
            "until": str(FIRST + timedelta(days=rng.randint(25, 50))) if n == 2 else None,
            "passed": passed,
            "awaiting": open_tasks[:1] if rng.random() < 0.4 else [],
            "attempts": {open_tasks[0]: rng.randint(0, 3)},
        }

    return {
        "sessions": [
            {
                "date": str(FIRST + timedelta(days=d)),
                "minutes": rng.choice([60, 90, 130]),
                "booths": rng.choice([None, 2, 3, 4]),
            }
            for d in days
        ],
        "students": [student(n) for n in range(5)],
        "tasks": [
            {
                "id": name,
                "minutes": rng.choice([20, 33.3, 45]),
                "practice_minutes": rng.choice([0, 15, 40]),
                "first_pass": rng.choice([0.3, 0.5, 0.8]),
                "passes": rng.randint(0, 5),
                "fails": rng.randint(0, 5),
                "pass_probability": rng.choice([None, None, 0.45]),
                "redo_odds": rng.choice([1, 1.5, 0.8]),
                "cap": rng.choice([3, 4, 6, None]),
                "target": str(FIRST + timedelta(days=days[2 * n])),
                "uses": [
                    {"item": "rod", "quantity": rng.uniform(0.1, 2), "cv": 0.3},
                    {
                        "item": "plate",
                        "quantity": rng.randint(1, 3),
                        "cv": 0,
                        "practice": 2 * n,
                    },
                ],
            }
            for n, name in enumerate(tasks)
        ],
        "items": [
            {"id": "rod", "factor": 1.8, "bias_cv": 0.2, "on_hand": 15},
            {"id": "plate", "factor": 1, "bias_cv": 0, "on_hand": 12},
            {"id": "lens", "per_student_week": 0.5, "on_hand": 8},
        ],
        "pace": "class" if seed % 2 else "own",
    }
