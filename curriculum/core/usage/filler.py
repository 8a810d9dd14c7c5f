"""Filler of one attempt: bare rod, covered electrodes, wire. Stub ends are counted once."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from curriculum.core.defaults import STATUS, Default, Defaults, read_default, table
from curriculum.core.materials import density, filler_metal
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import CUTTING, RODS, Electrode, Exercise, Filler, Setup
from curriculum.core.spec_key import gas_name, spec_key
from curriculum.core.steps import Input, Step, Worksheet, gettext_noop
from curriculum.core.usage.habit import habit
from curriculum.core.usage.model import Item, UsageError
from curriculum.core.usage.runs import Run, class_of, is_autogenous
from curriculum.core.usage.weld import Laid, metal_laid
from shared.units import Measure

_POUND = Input(0.45359237, "kg", _("one pound avoirdupois"))
_INCH = 0.0254
_PI = Input(math.pi, "1", "pi")
ROUND_MASS = "pi / 4 * diameter ** 2 * length * density"
"""Mass of a bare rod or core wire as the expression of a step."""


def filler_items(
    exercise: Exercise,
    setup: Setup,
    found: list[Run],
    metals: Mapping[str, Laid],
    defaults: Defaults,
    week: int | None,
) -> list[Item]:
    """Return an item for each filler of the setup's runs.

    `metals` is what the weld holds of each metal; the runs of a metal share it by their weights.
    """
    process = exercise.process
    if process in CUTTING or setup.joint.kind == "none" or is_autogenous(exercise, found):
        return []
    groups: dict[str, tuple[Filler | Electrode, str, float]] = {}
    for run in found:
        if run.used is None:
            raise _nothing_to_lay(process)
        key = f"{class_of(run.used)}{run.used.diameter.value:.7f}"
        before = groups.get(key, (run.used, run.metal, 0.0))[2]
        groups[key] = (run.used, run.metal, before + run.weight)
    items = []
    for used, metal_name, weight in groups.values():
        work = Worksheet()
        metal = _laid_with_it(work, setup, metals[metal_name], weight, defaults)
        if isinstance(used, Filler):
            items.append(_rod(work, metal, setup, used, defaults))
        elif process == "SMAW":
            items.append(_covered(work, metal, setup, used, defaults, week))
        else:
            items.append(_wire(work, metal, exercise, setup, used))
    return items


def _nothing_to_lay(process: str) -> UsageError:
    if process in RODS:
        told = _("%(process)s needs a filler rod", process=process)
        return UsageError("filler", told, ('{ class = "ER70S-6", diameter = "1/16 in" }',))
    told = _("%(process)s needs an electrode", process=process)
    return UsageError("electrode", told, ('{ type = "E7018", diameter = "1/8 in" }',))


def _laid_with_it(
    work: Worksheet, setup: Setup, metal: Laid, weight: float, defaults: Defaults
) -> Step:
    laid = metal_laid(work, setup, metal.mass, defaults)
    if weight == metal.weight:
        return laid
    return work.add(
        gettext_noop("Share of the passes laid with it"),
        "laid * these / all_passes",
        "kg",
        laid=laid,
        these=Input(weight, "1", _("current x runs / travel speed of these passes")),
        all_passes=Input(metal.weight, "1", _("the same of all passes")),
    )


def sized(measure: Measure, what: str) -> Input:
    """Return a stated size of a rod, electrode or wire as an input; it lies between 0 and 2 m."""
    if not 0 < measure.value < 2:
        told = _("must be more than 0 and under 2 m")
        raise UsageError(what, told, ("1/8 in", "3.2 mm", "14 in"))
    return Input(
        measure.value, "m", _("setup: %(key)s, %(typed)s", key=_(what), typed=measure.typed)
    )


def key_of(kind: str, name: str, diameter: Measure, what: str) -> str:
    """Return the spec key of a rod, electrode, wire or tungsten, or refuse it at `what`."""
    if not name.strip():
        raise UsageError(what, _("say which class it is"), ("ER70S-6", "E7018", "EWLa-1.5"))
    return spec_key(kind, name=name, diameter_m=sized(diameter, f"{what}.diameter").value)


def _rod(work: Worksheet, metal: Step, setup: Setup, filler: Filler, defaults: Defaults) -> Item:
    diameter = sized(filler.diameter, "filler.diameter")
    one = work.add(
        gettext_noop("Weight of one rod"),
        ROUND_MASS,
        "kg",
        pi=_PI,
        diameter=diameter,
        length=sized(filler.length, "filler.length")
        if filler.length
        else defaults.input("rod_length"),
        density=density(filler_metal(filler.filler_class, setup.metal)),
    )
    rods = work.add(
        gettext_noop("Rods, with stub ends and drops"),
        "metal / (1 - loss) / one",
        "1",
        metal=metal,
        loss=defaults.input("rod_loss"),
        one=one,
    )
    mass = work.add(gettext_noop("Rod by weight"), "rods * one", "kg", rods=rods, one=one)
    return Item(
        kind="rod",
        spec=key_of("rod", filler.filler_class, filler.diameter, "filler"),
        name=f"{filler.filler_class} {filler.diameter.typed}".strip(),
        quantity=mass.value,
        unit="kg",
        pieces=rods.value,
        steps=tuple(work.steps),
        alternates=tuple(
            key_of("rod", name, filler.diameter, "filler") for name in filler.alternates
        ),
    )


def _electrode_row(kind: str) -> Mapping[str, Any]:
    name = kind.replace(" ", "").upper()
    rows = table("filler")["electrode"]
    return next((row for row in rows if name.startswith(tuple(row["classes"]))), rows[-1])


def _covered(
    work: Worksheet,
    metal: Step,
    setup: Setup,
    electrode: Electrode,
    defaults: Defaults,
    week: int | None,
) -> Item:
    row = _electrode_row(electrode.type)
    diameter = sized(electrode.diameter, "electrode.diameter")
    sizes = [
        size
        for size in row["pieces_per_lb"]
        if abs(size["diameter_in"] * _INCH - diameter.value) < 0.00013
    ]
    usual = defaults.input("electrode_length")
    if sizes:
        source = _(
            "usual length of %(name)s in this size (%(status)s)",
            name=electrode.type,
            status=STATUS[row["status"]],
        )
        usual = Input(sizes[0]["length_in"] * _INCH, "m", source)
    length = sized(electrode.length, "electrode.length") if electrode.length else usual
    if sizes:
        low, high = sizes[0]["low"], sizes[0]["high"]
        source = _(
            "%(low)s to %(high)s to the pound (%(status)s)",
            low=low,
            high=high,
            status=STATUS[row["status"]],
        )
        one = work.add(
            gettext_noop("Weight of one electrode"),
            "pound / to_the_pound * length / table_length",
            "kg",
            pound=_POUND,
            to_the_pound=Input((low + high) / 2, "1", source),
            length=length,
            table_length=Input(sizes[0]["length_in"] * _INCH, "m", _("length the count is for")),
        )
    else:
        one = work.add(
            gettext_noop("Weight of one electrode, core wire and covering"),
            f"{ROUND_MASS} * covering",
            "kg",
            pi=_PI,
            diameter=diameter,
            length=length,
            density=density(filler_metal(electrode.type, setup.metal)),
            covering=read_default(table("filler")["covering_factor"]).stated,
        )
    stub = defaults.input("electrode_stub")
    if stub.value >= length.value:
        raise UsageError(
            "electrode.length", _("no longer than the stub that is thrown away"), ("14 in",)
        )
    laid = work.add(
        gettext_noop("Metal from one electrode, stub left over"),
        "one * (length - stub) / length * efficiency",
        "kg",
        one=one,
        length=length,
        stub=stub,
        efficiency=read_default(row["efficiency"]).stated,
    )
    pieces = work.add(
        gettext_noop("Electrodes, with those stuck or broken"),
        "metal / laid / (1 - spoiled)",
        "1",
        metal=metal,
        laid=laid,
        spoiled=habit(
            work,
            gettext_noop("Stuck or broken, over a term"),
            "electrode_spoiled",
            defaults,
            week,
        ),
    )
    mass = work.add(
        gettext_noop("Electrodes by weight"), "pieces * one", "kg", pieces=pieces, one=one
    )
    return Item(
        kind="electrode",
        spec=key_of("electrode", electrode.type, electrode.diameter, "electrode"),
        name=f"{electrode.type} {electrode.diameter.typed}".strip(),
        quantity=mass.value,
        unit="kg",
        pieces=pieces.value,
        steps=tuple(work.steps),
    )


def wire_efficiency(exercise: Exercise, setup: Setup) -> Default:
    """Return the deposition efficiency of a wire by its process and gas."""
    self_shielded = exercise.iso4063 == "114" or setup.gas is None
    gas = gas_name(setup.gas.name) if setup.gas else ""
    for row in table("filler")["wire"]:
        if (
            row["process"] == exercise.process
            and ("gases" not in row or gas in row["gases"])
            and (not row.get("self_shielded") or self_shielded)
        ):
            return read_default(row["efficiency"])
    raise UsageError("process", _("%(process)s burns no wire", process=exercise.process))


def _wire(work: Worksheet, metal: Step, exercise: Exercise, setup: Setup, wire: Electrode) -> Item:
    mass = work.add(
        gettext_noop("Wire by weight, with spatter"),
        "metal / efficiency",
        "kg",
        metal=metal,
        efficiency=wire_efficiency(exercise, setup).stated,
    )
    return Item(
        kind="wire",
        spec=key_of("wire", wire.type, wire.diameter, "electrode"),
        name=f"{wire.type} {wire.diameter.typed}".strip(),
        quantity=mass.value,
        unit="kg",
        pieces=None,
        steps=tuple(work.steps),
    )
