"""`usage`: what one attempt of a setup takes, each figure with its steps."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.core.exceptions import ObjectDoesNotExist
from django.core.management.base import CommandParser
from django.utils.translation import gettext as _

from curriculum.core.library import BYTES_MAX, read_exercises
from curriculum.core.spec import Exercise, Setup
from curriculum.core.usage import UsageError, usage
from shared.management.base import Fault, JsonCommand, Refused, WrongCall


class Command(JsonCommand):
    help = "Compute what one attempt of a setup takes: filler, plate, gas, tungsten, wear, time."
    contract = "usage/1"
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("which", nargs="?", metavar="NUMBER/KEY", help="a setup in the library")
        parser.add_argument(
            "--file", type=Path, help="a library file with one exercise, read without a database"
        )
        parser.add_argument(
            "--week", type=int, help="week of the term, 1 to 60; the mean over a term if not given"
        )

    def answer(self, **options: Any) -> Mapping[str, Any]:
        which: str | None = options["which"]
        file: Path | None = options["file"]
        if file is not None:
            exercise, place, setup = _from_file(file, which)
        elif which is not None:
            exercise, place, setup = _from_library(which)
        else:
            raise WrongCall(_("Name a setup as NUMBER/KEY, or give a --file."))
        try:
            used = usage(exercise, setup, week=options["week"])
        except UsageError as error:
            week = error.where == "week"
            where = "week" if week else f"{place}.{error.where}"
            got = str(options["week"]) if week else ""
            message = error.message.in_words(_)
            raise Refused([Fault(where, got, message, error.accepts)]) from error
        return {"exercise": exercise.number, "setup": setup.key} | used.as_json()

    def table(self, answer: Mapping[str, Any]) -> str:
        weld, time = answer["weld"], answer["time"]
        lines = [
            f"{answer['exercise']}/{answer['setup']}",
            _("weld: %(area).2f mm2, %(volume).2f cm3, %(deposit).1f g")
            % {
                "area": weld["area"]["value"] * 1e6,
                "volume": weld["volume"]["value"] * 1e6,
                "deposit": weld["deposit"]["value"] * 1e3,
            },
            _("time: arc %(arc).1f min, gas %(gas).1f min, booth %(booth).0f min")
            % {name: time[name]["value"] / 60 for name in ("arc", "gas", "booth")},
        ]
        if least := weld["least_passes"]:
            lines.append(_("passes: at least %(count)s") % {"count": least["value"]})
        for item in [*answer["items"], *answer["supplies"]]:
            figure = item["quantity"]
            amount = f"{figure['value']:>12.6g} {figure['unit']:<3}"
            pieces = f" {item['pieces']:>8.3g}" if item.get("pieces") is not None else ""
            lines.append(f"{item['kind']:<10} {item['name']:<40} {amount}{pieces}".rstrip())
            lines += [
                f"    {step['label']}: {step['expression']} = {step['value']:.6g} {step['unit']}"
                for step in item["steps"]
            ]
        return "\n".join(lines)


def _pick(exercise: Exercise, key: str | None) -> tuple[int, Setup]:
    keys = tuple(setup.key for setup in exercise.setups)
    for place, setup in enumerate(exercise.setups):
        if key in (None, "", setup.key):
            return place, setup
    message = _("The exercise has no setup “%(key)s”.") % {"key": key}
    raise Refused([Fault("setup", key or "", message, keys)])


def _from_file(file: Path, which: str | None) -> tuple[Exercise, str, Setup]:
    try:
        if file.stat().st_size > BYTES_MAX:
            raise Refused([Fault("", str(file), _("The file is larger than 5 MB."))])
        text = file.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise Refused([Fault("", str(file), _("The file cannot be read."))]) from error
    except UnicodeDecodeError as error:
        raise Refused([Fault("", str(file), _("The file is not UTF-8 text."))]) from error
    exercises, faults = read_exercises(text)
    if faults:
        raise Refused([Fault(one.where, one.got, one.message, one.accepts) for one in faults])
    number, _slash, key = (which or "").partition("/")
    for index, exercise in enumerate(exercises):
        if number in ("", exercise.number):
            place, setup = _pick(exercise, key)
            return exercise, f"exercise[{index}].setup[{place}]", setup
    numbers = tuple(exercise.number for exercise in exercises)
    raise Refused([Fault("exercise", number, _("The file has no such exercise."), numbers)])


def _from_library(which: str) -> tuple[Exercise, str, Setup]:
    from curriculum.services import exercise_spec  # the form with --file needs no database

    number, _slash, key = which.partition("/")
    try:
        exercise = exercise_spec(number)
    except ObjectDoesNotExist as error:
        message = _("There is no exercise “%(number)s”.") % {"number": number}
        raise Refused([Fault("exercise", number, message)]) from error
    place, setup = _pick(exercise, key)
    return exercise, f"setup[{place}]", setup
