"""One attempt put together: the weld, the times and every item."""

from __future__ import annotations

from dataclasses import dataclass, replace

from curriculum.core.defaults import Defaults
from curriculum.core.defaults import defaults as table_defaults
from curriculum.core.joints import JointError, build
from curriculum.core.materials import density, filler_metal
from curriculum.core.spec import Exercise, Setup
from curriculum.core.steps import Input, Step, Worksheet, gettext_noop
from curriculum.core.usage.filler import filler_items, is_autogenous
from curriculum.core.usage.model import Time, Usage, UsageError, Weld
from curriculum.core.usage.plate import plate_items
from curriculum.core.usage.runs import SURFACING, Run, bead_count, runs, stated
from curriculum.core.usage.shop import gas_items, tungsten_item, wear_items


def usage(exercise: Exercise, setup: Setup, *, defaults: Defaults | None = None) -> Usage:
    """Return what one attempt of `setup` takes: metal, times, and each item with its steps.

    Parameters
    ----------
    exercise : Exercise
        Its process, position and booth minutes are used.
    setup : Setup
        Of a range its working value is used (start, else middle, else bound).
    defaults : Defaults, optional
        Planning figures for what the setup does not state; the project's table if not given.

    Raises
    ------
    UsageError
        If something needed is missing or cannot be; `where` names its key within the setup.
    """
    figures = defaults or table_defaults()
    found = runs(exercise, setup)
    length = _length(setup)
    weld = _weld(exercise, setup, found, length)
    time, cut_time = _time(exercise, setup, found, length, figures)
    items = [
        *plate_items(setup, figures),
        *filler_items(exercise, setup, found, weld.deposit, figures),
        *gas_items(setup, time.gas, cut_time, figures),
        *tungsten_item(exercise, setup, figures),
        *wear_items(exercise, setup, time.arc, figures),
    ]
    return Usage(weld=weld, time=time, items=tuple(items))


def _length(setup: Setup) -> list[Step]:
    if setup.weld_length is None or not 0 < setup.weld_length.value < 1000:
        raise UsageError("weld_length", "state the length of the weld, more than 0", ("6 in",))
    work = Worksheet()
    stated_length = Input(
        setup.weld_length.value, "m", f"setup: weld length, {setup.weld_length.typed}"
    )
    runoff = setup.joint.runoff
    if runoff is None:
        work.add(gettext_noop("Length of the weld"), "length", "m", length=stated_length)
        return work.steps
    if not 0 <= runoff.value < 1:
        raise UsageError("joint.runoff", "must be 0 or more", ("1/2 in",))
    work.add(
        gettext_noop("Length of the weld, run-off at both ends"),
        "length + 2 * runoff",
        "m",
        length=stated_length,
        runoff=Input(runoff.value, "m", f"joint: runoff, {runoff.typed}"),
    )
    return work.steps


def _weld(exercise: Exercise, setup: Setup, found: list[Run], length: list[Step]) -> Weld:
    work = Worksheet()
    if setup.joint.kind == "none" or exercise.process == "OFC":
        area = work.add(gettext_noop("A cut lays no metal"), "0", "m2")
    elif is_autogenous(exercise, found):
        area = work.add(gettext_noop("Without a rod nothing is added"), "0", "m2")
    else:
        joint = setup.joint
        if joint.kind in SURFACING:
            joint = replace(joint, beads=bead_count(setup))
        try:
            area = work.take(build(joint, setup.thickness.value).explain())
        except JointError as error:
            raise UsageError(f"joint.{error.where}", str(error), error.accepts) from error
    whole = work.take(length)
    volume = work.add(
        gettext_noop("Volume of the weld"), "area * length", "m3", area=area, length=whole
    )
    deposit = work.add(
        gettext_noop("Weld metal"),
        "volume * density",
        "kg",
        volume=volume,
        density=_density(exercise, setup, found),
    )
    return Weld(
        area=area.value, volume=volume.value, deposit=deposit.value, steps=tuple(work.steps)
    )


def _density(exercise: Exercise, setup: Setup, found: list[Run]) -> Input:
    bare = exercise.process in ("GTAW", "OFW")
    for run in found:
        if bare and run.filler:
            return density(filler_metal(run.filler.filler_class, setup.metal))
        if not bare and run.electrode:
            return density(filler_metal(run.electrode.type, setup.metal))
    try:
        return density(setup.metal)
    except ValueError as error:
        raise UsageError("metal", str(error)) from error


@dataclass(frozen=True, slots=True)
class _Starts:
    """How often the arc or flame begins, and how long it stands then."""

    count: Step
    standing: Step


def _starts(
    work: Worksheet, exercise: Exercise, total: Step, tacks: int, figures: Defaults
) -> _Starts:
    process = exercise.process.casefold()
    key = "gmaw" if process == "fcaw" else process
    count = work.add(
        gettext_noop("Starts, tacks and restarts"),
        "length * rate + tacks",
        "1",
        length=total,
        rate=figures.input(f"starts_{key}"),
        tacks=Input(tacks, "1", "setup: tacks"),
    )
    standing = work.add(
        gettext_noop("Time the arc or flame stands at starts"),
        "starts * each",
        "s",
        starts=count,
        each=figures.input(f"start_time_{key}"),
    )
    return _Starts(count, standing)


def _time(
    exercise: Exercise, setup: Setup, found: list[Run], length: list[Step], figures: Defaults
) -> tuple[Time, float]:
    work = Worksheet()
    whole = work.take(length)
    parts: dict[str, Input | Step] = {}
    for k, run in enumerate(found, 1):
        parts[f"pass_{k}"] = work.add(
            gettext_noop("Time of a pass"),
            "runs * length / speed",
            "s",
            runs=Input(run.count, "1", f"pass {k}: runs"),
            length=whole,
            speed=run.speed,
        )
    cut_time = sum(part.value for part in parts.values())
    total = work.add(
        gettext_noop("Length of all runs"),
        "runs * length",
        "m",
        runs=Input(sum(run.count for run in found), "1", "runs of all passes"),
        length=whole,
    )
    tacks = setup.tacks or 0
    if tacks < 0:
        raise UsageError("tacks", "must be 0 or more", ("3",))
    if tacks:
        count = Input(tacks, "1", "setup: tacks")
        if setup.tack_length is None:
            parts["tacking"] = work.add(
                gettext_noop("Time of the tacks"),
                "tacks * each",
                "s",
                tacks=count,
                each=figures.input("tack_time"),
            )
        else:
            tack = setup.tack_length
            parts["tacking"] = work.add(
                gettext_noop("Time of the tacks"),
                "tacks * length / speed",
                "s",
                tacks=count,
                length=Input(tack.value, "m", f"setup: tack length, {tack.typed}"),
                speed=found[0].speed,
            )
    starts = _starts(work, exercise, total, tacks, figures)
    parts["standing"] = starts.standing
    arc = work.add(gettext_noop("Time of arc or flame at work"), " + ".join(parts), "s", **parts)
    gas = _gas_time(work, exercise, setup, arc, starts.count, figures)
    booth = work.add(
        gettext_noop("Time in the booth"),
        "minutes * 60",
        "s",
        minutes=Input(exercise.minutes, "min", "exercise: minutes"),
    )
    times = Time(arc=arc.value, gas=gas, booth=booth.value, steps=tuple(work.steps))
    return times, cut_time


def _gas_time(
    work: Worksheet, exercise: Exercise, setup: Setup, arc: Step, starts: Step, figures: Defaults
) -> float:
    if exercise.process in ("OFW", "OFC"):
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
        return figures.input("postflow_gmaw")
    each, least = figures["postflow_per_ampere"], figures.input("postflow_least")
    if setup.current is None or each.value * setup.current.working < least.value:
        return least
    return work.add(
        gettext_noop("Postflow by the current"),
        "current * each",
        "s",
        current=stated(setup.current, "current"),
        each=each.as_input(),
    )
