"""How long an attempt takes: arc or flame, gas, booth."""

from __future__ import annotations

from dataclasses import dataclass

from curriculum.core.defaults import Defaults
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import FLAMES, Exercise, Setup
from curriculum.core.steps import Input, Step, Worksheet, gettext_noop
from curriculum.core.usage.model import Time, UsageError
from curriculum.core.usage.runs import Run, stated
from curriculum.core.usage.usual import usual


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """The times with the steps that other figures build on: each pass, the arc, the starts."""

    time: Time
    passes: tuple[Step, ...]
    arc: Step
    starts: Step

    @property
    def cut(self) -> float:
        """Seconds of the passes alone, without tacks and starts."""
        return sum(one.value for one in self.passes)


def times_of(
    exercise: Exercise, setup: Setup, found: list[Run], length: list[Step], figures: Defaults
) -> Times:
    """Return the times of one attempt; `length` are the steps to the welded length."""
    work = Worksheet()
    whole = work.take(length)
    passes = tuple(
        work.add(
            gettext_noop("Time of a pass"),
            "runs * length / speed",
            "s",
            runs=Input(run.count, "1", _("pass %(number)s: runs", number=k)),
            length=whole,
            speed=run.speed,
        )
        for k, run in enumerate(found, 1)
    )
    parts: dict[str, Input | Step] = {f"pass_{k}": one for k, one in enumerate(passes, 1)}
    total = work.add(
        gettext_noop("Length of all runs"),
        "runs * length",
        "m",
        runs=Input(sum(run.count for run in found), "1", _("runs of all passes")),
        length=whole,
    )
    tacks = setup.tacks or 0
    if tacks < 0:
        raise UsageError("tacks", _("must be 0 or more"), ("3",))
    if tacks:
        parts["tacking"] = _tacking(work, setup, tacks, found, figures)
    process = exercise.process.casefold()
    key = "gmaw" if process == "fcaw" else process
    starts = work.add(
        gettext_noop("Starts, tacks and restarts"),
        "length * rate + tacks",
        "1",
        length=total,
        rate=figures.input(f"starts_{key}"),
        tacks=Input(tacks, "1", _("setup: tacks")),
    )
    parts["standing"] = work.add(
        gettext_noop("Time the arc or flame stands at starts"),
        "starts * each",
        "s",
        starts=starts,
        each=figures.input(f"start_time_{key}"),
    )
    arc = work.add(gettext_noop("Time of arc or flame at work"), " + ".join(parts), "s", **parts)
    gas = _gas_time(work, exercise, setup, arc, starts, figures)
    minutes = Input(exercise.minutes, "min", _minutes(exercise, setup))
    other = work.add(
        gettext_noop("Left for preparation, fit-up, inspection and clean-up"),
        "minutes * 60 - arc",
        "s",
        minutes=minutes,
        arc=arc,
    )
    booth = work.add(gettext_noop("Time in the booth"), "minutes * 60", "s", minutes=minutes)
    time = Time(
        arc=arc.value, gas=gas, booth=booth.value, other=other.value, steps=tuple(work.steps)
    )
    return Times(time=time, passes=passes, arc=arc, starts=starts)


def _minutes(exercise: Exercise, setup: Setup) -> str:
    row = usual(exercise, setup).get("minutes")
    if row is None:
        return _("exercise: minutes")
    return _("exercise: minutes; usual %(span)s: %(source)s", span=row.span, source=row.source)


def _tacking(
    work: Worksheet, setup: Setup, tacks: int, found: list[Run], figures: Defaults
) -> Step:
    count = Input(tacks, "1", _("setup: tacks"))
    tack = setup.tack_length
    if tack is None:
        return work.add(
            gettext_noop("Time of the tacks"),
            "tacks * each",
            "s",
            tacks=count,
            each=figures.input("tack_time"),
        )
    return work.add(
        gettext_noop("Time of the tacks"),
        "tacks * length / speed",
        "s",
        tacks=count,
        length=Input(tack.value, "m", _("setup: tack length, %(typed)s", typed=tack.typed)),
        speed=found[0].speed,
    )


def _gas_time(
    work: Worksheet, exercise: Exercise, setup: Setup, arc: Step, starts: Step, figures: Defaults
) -> float:
    if exercise.process in FLAMES:
        return work.add(
            gettext_noop("Time the flame burns"),
            "arc / share",
            "s",
            arc=arc,
            share=figures.input("flame_share"),
        ).value
    if setup.gas is None:
        return 0.0
    return work.add(
        gettext_noop("Time the shielding gas flows"),
        "arc + starts * (preflow + postflow)",
        "s",
        arc=arc,
        starts=starts,
        preflow=_preflow(exercise, setup, figures),
        postflow=_postflow(work, exercise, setup, figures),
    ).value


def _preflow(exercise: Exercise, setup: Setup, figures: Defaults) -> Input:
    if setup.preflow is not None:
        return stated(setup.preflow, "preflow")
    return figures.input("preflow_gtaw" if exercise.process == "GTAW" else "preflow_gmaw")


def _postflow(work: Worksheet, exercise: Exercise, setup: Setup, figures: Defaults) -> Input | Step:
    if setup.postflow is not None:
        return stated(setup.postflow, "postflow")
    if exercise.process != "GTAW":
        return figures.input("postflow_pac" if exercise.process == "PAC" else "postflow_gmaw")
    each, least = figures["postflow_per_ampere"], figures.input("postflow_least")
    if setup.current is None or each.value * setup.current.working < least.value:
        return least
    return work.add(
        gettext_noop("Postflow by the current"),
        "current * each",
        "s",
        current=stated(setup.current, "current"),
        each=each.stated,
    )
