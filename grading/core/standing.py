"""Where a student stands: on each task of the plan, and what comes next."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

NOT_OPEN, OPEN, WORKING, TO_BE_JUDGED = "not_open", "open", "working", "to_be_judged"
REDO, PASSED, CREDITED, MOVED_ON = "redo", "passed", "credited", "moved_on"
DONE = frozenset({PASSED, CREDITED, MOVED_ON})


@dataclass(frozen=True, slots=True, kw_only=True)
class Coupon:
    """One attempt: started, logged, judged or void, with its verdict when judged."""

    number: int
    state: str
    verdict: str = ""  # pass, redo, void


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a student stands on one task. `missing`: numbers to be passed or credited first."""

    state: str
    redos: int = 0
    missing: tuple[str, ...] = ()

    @property
    def is_done(self) -> bool:
        return self.state in DONE


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One required setup of an exercise in the plan."""

    number: str
    setup_key: str
    title: str = ""
    needs: tuple[str, ...] = ()

    @property
    def key(self) -> tuple[str, str]:
        return (self.number, self.setup_key)


def standing(
    coupons: Sequence[Coupon], decisions: Sequence[str] = (), missing: Collection[str] = ()
) -> Standing:
    """Return where a student stands on one task.

    `coupons` in order; void ones count for nothing. Of `decisions` (credited, moved_on,
    withdrawn) the last counts. A passed coupon stands above a decision; what was begun stays
    open even where something it needs is `missing`.
    """
    real = sorted(
        (one for one in coupons if "void" not in (one.state, one.verdict)),
        key=lambda one: one.number,
    )
    redos = sum(one.verdict == "redo" for one in real)
    if any(one.verdict == "pass" for one in real):
        return Standing(PASSED, redos)
    if decisions and decisions[-1] in (CREDITED, MOVED_ON):
        return Standing(decisions[-1], redos)
    if real:
        last = real[-1]
        if last.verdict == "redo":
            return Standing(REDO, redos)
        return Standing(WORKING if last.state == "started" else TO_BE_JUDGED, redos)
    if missing:
        return Standing(NOT_OPEN, 0, tuple(missing))
    return Standing(OPEN)


def standings(
    plan: Sequence[Task],
    coupons: Mapping[tuple[str, str], Sequence[Coupon]],
    decisions: Mapping[tuple[str, str], Sequence[str]],
    *,
    done_elsewhere: Collection[str] = (),
) -> dict[tuple[str, str], Standing]:
    """Return the standing on every task of the plan, by number and setup.

    An exercise opens what needs it when all its tasks in the plan are passed, credited or moved
    on. A needed exercise outside the plan counts as missing unless it is in `done_elsewhere`.
    """
    first = {
        task.key: standing(coupons.get(task.key, ()), decisions.get(task.key, ())) for task in plan
    }
    done = set(done_elsewhere) | {task.number for task in plan}
    done -= {task.number for task in plan if not first[task.key].is_done}
    return {
        task.key: standing(
            coupons.get(task.key, ()),
            decisions.get(task.key, ()),
            [need for need in task.needs if need not in done],
        )
        for task in plan
    }


def next_tasks(plan: Sequence[Task], standings: Mapping[tuple[str, str], Standing]) -> list[Task]:
    """Return what a student may work on now: what was begun first, then what is open, in order.

    A coupon that waits for its verdict holds up nothing and is not in the list.
    """
    begun = [one for one in plan if standings[one.key].state in (WORKING, REDO)]
    return begun + [one for one in plan if standings[one.key].state == OPEN]


@dataclass(frozen=True, slots=True)
class Step:
    """One exercise on the ladder: its state over all its tasks, and how many of them are done."""

    number: str
    title: str
    state: str
    done: int
    of: int
    missing: tuple[str, ...] = ()


def ladder(plan: Sequence[Task], standings: Mapping[tuple[str, str], Standing]) -> list[Step]:
    """Return the exercises of the plan as steps.

    A step with every task done shows the weakest way it was done (moved on, then credited, then
    passed); else what most asks for attention: redo, working, to be judged, open, not open.
    """
    order = (REDO, WORKING, TO_BE_JUDGED, OPEN, NOT_OPEN, MOVED_ON, CREDITED, PASSED)
    steps = []
    for number in dict.fromkeys(task.number for task in plan):
        tasks = [task for task in plan if task.number == number]
        found = [standings[task.key] for task in tasks]
        missing = tuple(dict.fromkeys(need for one in found for need in one.missing))
        state = min((one.state for one in found), key=order.index)
        done = sum(one.is_done for one in found)
        steps.append(Step(number, tasks[0].title, state, done, len(tasks), missing))
    return steps
