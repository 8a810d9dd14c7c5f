"""The weld itself: its section, its metal by pass and by metal, and the passes it needs."""

from __future__ import annotations

from dataclasses import dataclass, replace

from curriculum.core.defaults import Defaults
from curriculum.core.joints import Geometry, JointError, build
from curriculum.core.materials import density
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import CUTTING, SURFACING, Exercise, Setup
from curriculum.core.steps import Input, Step, Worksheet, gettext_noop
from curriculum.core.usage.least import least_passes
from curriculum.core.usage.model import PassMetal, UsageError, Weld
from curriculum.core.usage.runs import Run, bead_count, is_autogenous

_WEIGHT = _("current x runs / travel speed of the pass")
_WEIGHTS = _("the same of all passes")


@dataclass(frozen=True, slots=True)
class Laid:
    """The metal of one kind that a weld holds: its mass as drawn, and the weight of its runs."""

    mass: Step
    weight: float


def weld_length(setup: Setup) -> list[Step]:
    """Return the steps to the length that is welded in m, run-off at both ends included."""
    if setup.weld_length is None or not 0 < setup.weld_length.value < 1000:
        raise UsageError("weld_length", _("state the length of the weld, more than 0"), ("6 in",))
    work = Worksheet()
    typed = setup.weld_length.typed
    length = Input(setup.weld_length.value, "m", _("setup: weld length, %(typed)s", typed=typed))
    runoff = setup.joint.runoff
    if runoff is None:
        work.add(gettext_noop("Length of the weld"), "length", "m", length=length)
        return work.steps
    if not 0 <= runoff.value < 1:
        raise UsageError("joint.runoff", _("must be 0 or more and under 1 m"), ("1/2 in",))
    work.add(
        gettext_noop("Length of the weld, run-off at both ends"),
        "length + 2 * runoff",
        "m",
        length=length,
        runoff=Input(runoff.value, "m", _("joint: runoff, %(typed)s", typed=runoff.typed)),
    )
    return work.steps


def geometry_of(setup: Setup) -> Geometry:
    """Return the geometry of the setup's joint.

    Raises `UsageError` where the joint cannot be; `where` begins with "joint.".
    """
    joint = setup.joint
    if joint.kind in SURFACING:
        joint = replace(joint, beads=bead_count(setup))
    try:
        return build(joint, setup.thickness.value)
    except JointError as error:
        raise UsageError(f"joint.{error.where}", error.message, error.accepts) from error


def weld_of(
    exercise: Exercise, setup: Setup, found: list[Run], length: list[Step], figures: Defaults
) -> tuple[Weld, dict[str, Laid]]:
    """Return the weld, and what it holds of each metal."""
    work = Worksheet()
    geometry = None
    if setup.joint.kind == "none" or exercise.process in CUTTING:
        area = work.add(gettext_noop("A cut lays no metal"), "0", "m2")
    elif is_autogenous(exercise, found):
        area = work.add(gettext_noop("Without a rod nothing is added"), "0", "m2")
    else:
        geometry = geometry_of(setup)
        area = work.take(geometry.explain())
    whole = work.take(length)
    volume = work.add(
        gettext_noop("Volume of the weld"), "area * length", "m3", area=area, length=whole
    )
    metals = _metals(work, setup, found, volume)
    deposit = work.steps[-1]
    over = Worksheet()
    laid = metal_laid(over, setup, deposit, figures)
    weld = Weld(
        area=area.value,
        volume=volume.value,
        deposit=deposit.value,
        laid=laid.value,
        steps=tuple(work.steps),
        laid_steps=tuple(over.steps),
        metals={metal: one.mass.value for metal, one in metals.items()} if area.value else {},
        passes=_passes(setup, found, area, volume) if area.value else (),
        least=least_passes(exercise, setup, geometry) if geometry else None,
    )
    return weld, metals


def metal_laid(work: Worksheet, setup: Setup, deposit: Step, figures: Defaults) -> Step:
    """Add the mass in kg that learners lay of what is drawn, over-weld included."""
    factor = "over_weld_bead" if setup.joint.kind in SURFACING else "over_weld"
    return work.add(
        gettext_noop("Metal laid, with over-weld"),
        "deposit * over_weld",
        "kg",
        deposit=Input(deposit.value, "kg", _("weld: deposit")),
        over_weld=figures.input(factor),
    )


def _metals(work: Worksheet, setup: Setup, found: list[Run], volume: Step) -> dict[str, Laid]:
    """Add the mass of each metal and their sum, which is the last step."""
    total = sum(run.weight for run in found)
    weights: dict[str, float] = {}
    for run in found:
        weights[run.metal] = weights.get(run.metal, 0.0) + run.weight
    if len(weights) == 1:
        metal = found[0].metal
        mass = work.add(
            gettext_noop("Weld metal"),
            "volume * density",
            "kg",
            volume=volume,
            density=_density(metal),
        )
        return {metal: Laid(mass, total)}
    parts: dict[str, Input | Step] = {}
    masses: dict[str, Laid] = {}
    for k, (metal, weight) in enumerate(weights.items(), 1):
        mass = work.add(
            _("Weld metal of %(metal)s", metal=_(metal)),
            "volume * these / all_passes * density",
            "kg",
            volume=volume,
            these=Input(weight, "1", _("current x runs / travel speed of these passes")),
            all_passes=Input(total, "1", _WEIGHTS),
            density=_density(metal),
        )
        parts[f"metal_{k}"], masses[metal] = mass, Laid(mass, weight)
    work.add(gettext_noop("Weld metal"), " + ".join(parts), "kg", **parts)
    return masses


def _density(metal: str) -> Input:
    try:
        return density(metal)
    except ValueError as error:
        raise UsageError("metal", error.args[0]) from error


def _passes(setup: Setup, found: list[Run], area: Step, volume: Step) -> tuple[PassMetal, ...]:
    total = sum(run.weight for run in found)
    made = []
    for number, run in enumerate(found, 1):
        work = Worksheet()
        share = work.add(
            gettext_noop("Share of the pass"),
            "this_pass / all_passes",
            "1",
            this_pass=Input(run.weight, "1", _WEIGHT),
            all_passes=Input(total, "1", _WEIGHTS),
        )
        section = work.add(
            gettext_noop("Section of the pass"),
            "area * share",
            "m2",
            area=Input(area.value, "m2", _("weld: area")),
            share=share,
        )
        mass = work.add(
            gettext_noop("Weld metal of the pass"),
            "volume * share * density",
            "kg",
            volume=Input(volume.value, "m3", _("weld: volume")),
            share=share,
            density=_density(run.metal),
        )
        made.append(
            PassMetal(
                number=number,
                runs=run.count,
                share=share.value,
                area=section.value,
                mass=mass.value,
                steps=tuple(work.steps),
            )
        )
    return tuple(made)
