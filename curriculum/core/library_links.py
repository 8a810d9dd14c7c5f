"""What the exercises of a library file say of each other: numbers, what is needed, circles."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Collection, Mapping, Sequence

from curriculum.core.sentence import Sentence as _

Say = Callable[[str, object, _, Collection[str]], None]


def check_links(tables: Sequence[object], known_numbers: Collection[str], say: Say) -> None:
    """Refuse prerequisites and helps that are nowhere, an exercise's own number, and circles.

    Tables with other faults are checked as well, so that one answer holds every fault; `say`
    takes where, what was found, the message and what is accepted.
    """
    numbers = [_text(one.get("number")) if isinstance(one, dict) else "" for one in tables]
    needs: dict[str, list[str]] = {}
    for index, table in enumerate(tables):
        for name in ("prerequisites", "helps"):
            named = table.get(name) if isinstance(table, dict) else None
            for place, value in enumerate(named if isinstance(named, list) else []):
                where, number = f"exercise[{index}].{name}[{place}]", _text(value)
                if not number:
                    continue
                if number == numbers[index]:
                    say(where, number, _("An exercise cannot need itself."), ())
                elif number not in numbers and number not in known_numbers:
                    near = difflib.get_close_matches(number, [*numbers, *known_numbers], n=3)
                    message = _(
                        "There is no exercise %(number)s, in the file or in the library.",
                        number=number,
                    )
                    say(where, number, message, near)
                elif name == "prerequisites":
                    needs.setdefault(numbers[index], []).append(number)
    if circle := find_circle(needs):
        message = _(
            "The exercises need each other in a circle: %(circle)s.", circle=" needs ".join(circle)
        )
        where = f"exercise[{numbers.index(circle[0])}].prerequisites"
        say(where, circle[1], message, ())


def find_circle(needs: Mapping[str, Sequence[str]]) -> list[str]:
    """Return one circle of numbers, its first again at the end; empty where there is none."""
    done: set[str] = set()
    for start in needs:
        if start in done:
            continue
        path, stack = [start], [iter(needs[start])]
        while stack:
            following = next(stack[-1], None)
            if following is None:
                done.add(path.pop())
                stack.pop()
            elif following in path:
                return [*path[path.index(following) :], following]
            elif following in needs and following not in done:
                path.append(following)
                stack.append(iter(needs[following]))
    return []


def _text(value: object) -> str:
    return value.strip() if isinstance(value, str) else ""
