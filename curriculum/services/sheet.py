"""What an exercise sheet shows, for its page, for paper, and for the pages that include it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from curriculum.core import spec
from curriculum.core.cautions import (
    Caution,
    cautions_for,
    precedence,
    shade_for,
    signoffs_for,
)
from curriculum.core.dial import Dialled, dial, numbered
from curriculum.core.drawing import draw_joint, pass_picture, symbol_svg
from curriculum.core.heat_input import by_pass
from curriculum.core.heat_input import notes as heat_notes
from curriculum.core.joints import JointError
from curriculum.core.limits import Allowed, allowed
from curriculum.core.sentence import Sentence
from curriculum.core.usage import Usage, UsageError, blanks, rods_to_lay_out, usage
from curriculum.models import ExerciseVersion
from curriculum.services.spec_rows import to_spec
from curriculum.services.technique import angle_rows, path_drawing, upright
from shared.units import Measure, Range

# Settings in the order a sheet lists them; those among the five are not said twice.
SETTINGS: dict[str, str] = {
    "current": gettext_noop("Current"),
    "voltage": gettext_noop("Voltage"),
    "wire_feed": gettext_noop("Wire feed"),
    "travel_speed": gettext_noop("Travel speed"),
    "nozzle": gettext_noop("Nozzle"),
    "tip": gettext_noop("Tip"),
    "preflow": gettext_noop("Preflow"),
    "postflow": gettext_noop("Postflow"),
    "start": gettext_noop("Arc start"),
    "stickout": gettext_noop("Stickout"),
    "arc_length": gettext_noop("Arc length"),
    "transfer": gettext_noop("Transfer"),
    "work_angle": gettext_noop("Work angle"),
    "travel_angle": gettext_noop("Travel angle"),
    "travel_direction": gettext_noop("Direction"),
    "rod_angle": gettext_noop("Rod angle"),
    "interpass_max": gettext_noop("Between passes, at most"),
}
GASES: dict[str, str] = {
    "gas": gettext_noop("Shielding gas"),
    "fuel": gettext_noop("Fuel gas"),
    "oxygen": gettext_noop("Oxygen"),
    "cutting_oxygen": gettext_noop("Cutting oxygen"),
    "purge": gettext_noop("Purge gas"),
}
SYMBOL_NOTES: dict[str, str] = {
    "AWS": gettext_noop("Under the line: arrow side. AWS A2.4."),
    "ISO-A": gettext_noop(
        "On the continuous line: arrow side; on the dashed one: other side. ISO 2553, system A."
    ),
    "ISO-B": gettext_noop("Under the line: arrow side. ISO 2553, system B."),
}
"""How a symbol is read after the standard that a campus draws by."""
PASS_SETTINGS = ("current", "voltage", "travel_speed", "work_angle", "travel_angle")


def said(text: str, units: str = "") -> str:
    """Return a sentence of a core, or a text of its tables, in the reader's language.

    `units` is "us" or "metric"; without it a figure in a sentence stands in both.
    """
    if isinstance(text, Sentence):
        return text.in_words(_, units)
    return _(text) if text else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """A setting in words: a quantity, or `word` where it is none; `note` is softer."""

    label: str
    value: Measure | Range | None = None
    word: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PassRow:
    """One pass on a sheet: its number(s), the stated pass, a small picture, its own settings.

    `path` draws how the puddle is led.
    """

    number: str
    stated: spec.Pass
    drawing: SafeString
    path: SafeString
    settings: tuple[Setting, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitRow:
    """One criterion with its limit on this metal."""

    criterion: spec.Criterion
    limit: Allowed


def pick_setup(exercise: spec.Exercise, key: str) -> spec.Setup:
    """Return the setup with that key; raise `KeyError` where the exercise has none."""
    for setup in exercise.setups:
        if setup.key == key:
            return setup
    raise KeyError(key)


def sheet_context(
    version_or_spec: ExerciseVersion | spec.Exercise,
    setup_key: str,
    *,
    units: str,
    left_handed: bool = False,
    paper: bool = False,
    ident: str = "sheet",
    standard: str = "",
) -> dict[str, Any]:
    """Return what `curriculum/_sheet.html` and `curriculum/_dial.html` show of one setup.

    Parameters
    ----------
    version_or_spec : ExerciseVersion or spec.Exercise
        Load a version with `with_content()`, so that the query count stays constant.
    setup_key : str
        Raises `KeyError` where the exercise has no such setup.
    units : str
        "us" or "metric"; figures typed in these units come as typed.
    left_handed : bool
        Draws the hand at its side; on the page what lies at the thumb goes to the left.
    paper : bool
        Draw in ink on white, for a PDF.
    ident : str
        Makes the drawings' ids unique where several sheets stand on a page.
    standard : str
        That of the welding symbol: "AWS", "ISO-A", "ISO-B"; a version's campus says it itself.
    """
    version: ExerciseVersion | None = None
    if isinstance(version_or_spec, ExerciseVersion):
        version, exercise = version_or_spec, to_spec(version_or_spec)
        standard = version.exercise.campus.symbol_standard
    else:
        exercise = version_or_spec
    setup = pick_setup(exercise, setup_key)
    rows = said_dial(exercise, setup)
    used, fault = usage_of(exercise, setup)
    shade = shade_for(exercise, setup)
    limits = [LimitRow(criterion=one, limit=said_limit(one, setup)) for one in exercise.criteria]
    heat = by_pass(exercise, setup)
    drawings = _drawings(exercise, setup, units, paper, ident, standard or "AWS")
    return {
        "units": units,
        "left_handed": left_handed,
        "paper": paper,
        "version": version,
        "exercise": exercise,
        "setup": setup,
        "reviewed": bool(exercise.reviewed_by and exercise.reviewed_on),
        "dial": rows,
        "more": _more(setup, {row.key for row in rows}),
        **drawings,
        "angles": angle_rows(
            exercise, setup, units=units, left_handed=left_handed, paper=paper, ident=ident
        ),
        "passes": _passes(
            exercise, setup, units, paper, left_handed, ident, drawn=bool(drawings["drawing"])
        ),
        "upright": upright(exercise),
        "limits": limits,
        "limit_sources": list(dict.fromkeys(one.source for one in exercise.criteria if one.source)),
        "cautions": [said_caution(one) for one in cautions_for(exercise, setup)],
        "shade": replace(shade, source=said(shade.source)),
        "precedence": said(precedence()),
        "signoffs": signoffs_for(exercise, exercise.criteria),
        "usage": used,
        "usage_fault": fault,
        "is_welded": exercise.process not in spec.CUTTING,
        "heat": heat,
        "heat_stated": [one for one in heat if one.span],
        "heat_notes": [said(note) for note in heat_notes(setup)],
        "lay_out": rods_to_lay_out(used) if used else [],
        "blanks": blanks(setup) if used else [],
    }


def usage_of(exercise: spec.Exercise, setup: spec.Setup) -> tuple[Usage | None, UsageError | None]:
    """Return what one attempt takes, or why that cannot be worked out."""
    try:
        return usage(exercise, setup), None
    except UsageError as error:
        return None, error


def said_dial(exercise: spec.Exercise, setup: spec.Setup) -> list[Dialled]:
    """Return what is dialled in for a setup, in the reader's language."""
    return [
        replace(
            row,
            label=said(row.label),
            word=said(row.word),
            note=said(row.note),
            own=tuple((said(label), value) for label, value in row.own),
        )
        for row in dial(setup, exercise.process)
    ]


def said_caution(one: Caution) -> Caution:
    """Return a caution in the reader's language."""
    return replace(one, heading=said(one.heading), text=said(one.text), source=said(one.source))


def said_limit(criterion: spec.Criterion, setup: spec.Setup) -> Allowed:
    """Return the limit of a criterion on a setup's metal, in the reader's language."""
    found = allowed(criterion, setup.thickness)
    return replace(found, word=said(found.word), note=said(found.note))


def _more(setup: spec.Setup, shown: set[str]) -> list[Setting]:
    """Return what is set besides the five."""
    rows: list[Setting] = []
    for name, label in GASES.items():
        gas: spec.Gas | None = getattr(setup, name)
        if gas is not None and (name not in shown or gas.pressure is not None):
            name = "" if gas.name.casefold() == label.casefold() else said(gas.name)
            rows.append(Setting(label=_(label), value=gas.flow, word=name))
    if setup.polarity and "current" not in shown:
        rows.append(Setting(label=_("Polarity"), word=setup.polarity))
    for name, label in SETTINGS.items():
        value = getattr(setup, name)
        if name in shown or value in (None, ""):
            continue
        if name == "travel_direction" and "travel_angle" in shown:
            continue
        if isinstance(value, str):
            rows.append(Setting(label=_(label), word=said(value)))
        else:
            rows.append(Setting(label=_(label), value=value))
    if setup.electrode and "electrode" not in shown:
        one = setup.electrode
        rows.append(
            Setting(label=_("Electrode"), value=one.diameter, word=one.type, note=one.preparation)
        )
    if setup.filler and "filler" not in shown:
        rows.append(
            Setting(label=_("Rod"), value=setup.filler.diameter, word=setup.filler.filler_class)
        )
    return rows


def _drawings(
    exercise: spec.Exercise, setup: spec.Setup, units: str, paper: bool, ident: str, standard: str
) -> dict[str, Any]:
    """Return the section and the symbol.

    An old version may hold a joint that a later rule refuses: its usage says why, and nothing is
    drawn.
    """
    try:
        section = draw_joint(exercise, setup, system=units, paper=paper, say=_)
    except JointError:
        return {"drawing": "", "symbol": ""}
    symbol = symbol_svg(
        exercise,
        setup,
        system=units,
        standard=standard,
        paper=paper,
        ident=f"{ident}-symbol",
        say=_,
    )
    # The drawing escapes every text it writes.
    return {
        "drawing": SafeString(section.svg(f"{ident}-joint")),
        "drawing_text": section.title,
        "symbol": SafeString(symbol),
        "symbol_note": _(SYMBOL_NOTES[standard]),
    }


def _passes(
    exercise: spec.Exercise,
    setup: spec.Setup,
    units: str,
    paper: bool,
    left_handed: bool,
    ident: str,
    *,
    drawn: bool,
) -> list[PassRow]:
    rows, last = [], 0
    for place, (number, one) in enumerate(numbered(setup.passes), start=1):
        last += one.count
        picture = ""
        if drawn and setup.joint.kind != "none":
            picture = pass_picture(setup, last, system=units, paper=paper)
        rows.append(
            PassRow(
                number=number,
                stated=one,
                drawing=SafeString(picture),
                path=path_drawing(
                    exercise, setup, place, left_handed=left_handed, paper=paper, ident=ident
                ),
                settings=tuple(_own_settings(one)),
            )
        )
    return rows


def _own_settings(one: spec.Pass) -> list[Setting]:
    rows = [
        Setting(label=_(SETTINGS[name]), value=value)
        for name in PASS_SETTINGS
        if (value := getattr(one, name)) is not None
    ]
    if one.polarity:
        rows.append(Setting(label=_("Polarity"), word=one.polarity))
    if one.electrode:
        rows.append(
            Setting(label=_("Electrode"), value=one.electrode.diameter, word=one.electrode.type)
        )
    if one.filler:
        rows.append(
            Setting(label=_("Rod"), value=one.filler.diameter, word=one.filler.filler_class)
        )
    return rows
