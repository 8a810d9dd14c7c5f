"""Small cases for the forecast's tests."""

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
