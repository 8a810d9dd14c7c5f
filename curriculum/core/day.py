"""Who stands in which booth today: by what a booth can do, in pairs where booths are short."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field

from curriculum.core.sentence import Sentence as _
from curriculum.core.term_plan import Booth

__all__ = ["Booth", "Day", "Student", "Without", "assign"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Student:
    """Who needs a booth: for which process, and how many sessions they have waited for one.

    `too_small` names the booths whose machine does not give what their setup asks.
    """

    id: Hashable
    name: str
    process: str
    waited: int = 0
    too_small: frozenset[str] = frozenset()

    def can_weld_in(self, booth: Booth) -> bool:
        """Whether the booth does the process, with a machine that is large enough."""
        return self.process in booth.processes and booth.name not in self.too_small


@dataclass(frozen=True, slots=True)
class Without:
    """A student who has no booth, and why."""

    student: Student
    why: _


@dataclass(frozen=True, slots=True)
class Day:
    """Booth names by student id; `pairs` are booths with more than one student."""

    places: Mapping[Hashable, str]
    pairs: tuple[str, ...] = ()
    without: tuple[Without, ...] = ()
    warnings: tuple[_, ...] = field(default=())


def assign(
    students: Sequence[Student],
    booths: Sequence[Booth],
    *,
    kept: Mapping[Hashable, str] | None = None,
    pairs: bool = True,
) -> Day:
    """Give as many students as possible a booth that can do their process and gives the current.

    Who waited longest is served first, then the order of the list. A booth takes one student,
    and a second one (`pairs`) only when nobody can have a booth alone any more. What was set by
    hand (`kept`) stays, even where the booth is down, cannot do the process or has too small a
    machine: a warning says so.

    Raises `ValueError` where two booths share a name or a student is there twice.
    """
    names = [booth.name for booth in booths]
    if len(set(names)) != len(names) or len({one.id for one in students}) != len(students):
        raise ValueError("every booth needs its own name and every student its own id")
    by_name = {booth.name: booth for booth in booths}
    places: dict[Hashable, str] = {}
    warnings = []
    for student in students:
        name = (kept or {}).get(student.id)
        if name is None:
            continue
        booth = by_name.get(name)
        who = {"student": student.name, "booth": name}
        if booth is None:
            warnings.append(
                _("%(student)s was put in %(booth)s, which is not there any more.", **who)
            )
            continue
        places[student.id] = name
        if booth.is_down:
            warnings.append(
                _("%(student)s was put in %(booth)s by hand, but %(booth)s is down.", **who)
            )
        elif student.process not in booth.processes:
            warnings.append(
                _(
                    "%(student)s was put in %(booth)s by hand, which does not do %(process)s.",
                    process=student.process,
                    **who,
                )
            )
        elif name in student.too_small:
            warnings.append(
                _(
                    "%(student)s was put in %(booth)s by hand, whose machine is too small for "
                    "the setup.",
                    **who,
                )
            )
    waiting = sorted((one for one in students if one.id not in places), key=lambda one: -one.waited)
    for seats in (1, 2) if pairs else (1,):
        taken = list(places.values())
        free = [booth for booth in booths if not booth.is_down and taken.count(booth.name) < seats]
        places |= _match([one for one in waiting if one.id not in places], free)
    taken = list(places.values())
    return Day(
        places,
        tuple(name for name in names if taken.count(name) > 1),
        tuple(Without(one, _why(one, booths)) for one in students if one.id not in places),
        tuple(warnings),
    )


def _match(students: Sequence[Student], booths: Sequence[Booth]) -> dict[Hashable, str]:
    """Match along augmenting paths, first come first.

    A student once matched stays matched, so the result is largest and serves the front first.
    """
    held: dict[str, Student] = {}

    def seat(student: Student, seen: set[str]) -> bool:
        # Booths that do least first, so that those that do everything stay free.
        for booth in sorted(booths, key=lambda one: len(one.processes)):
            if student.can_weld_in(booth) and booth.name not in seen:
                seen.add(booth.name)
                if booth.name not in held or seat(held[booth.name], seen):
                    held[booth.name] = student
                    return True
        return False

    for student in students:
        seat(student, set())
    return {student.id: name for name, student in held.items()}


def _why(student: Student, booths: Sequence[Booth]) -> _:
    process = student.process
    does = [booth for booth in booths if process in booth.processes]
    if not does:
        return _("No booth does %(process)s.", process=process)
    small = [booth.name for booth in does if booth.name in student.too_small]
    down = [booth.name for booth in does if booth.is_down and booth.name not in small]
    names = {"process": process, "down": ", ".join(down), "small": ", ".join(small)}
    if len(down) == len(does):
        return _("Every booth that does %(process)s is down: %(down)s.", **names)
    if len(small) == len(does):
        return _("No machine for %(process)s gives what the setup asks: %(small)s.", **names)
    if len(down) + len(small) == len(does):
        first = _("No booth that does %(process)s can be used.", **names)
    else:
        first = _("Every booth that does %(process)s is full.", **names)
    return _.join(
        [
            first,
            _("Down: %(down)s.", **names) if down else "",
            _("Machine too small for the setup: %(small)s.", **names) if small else "",
        ]
    )
