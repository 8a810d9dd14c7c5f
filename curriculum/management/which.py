"""Which setup a command is asked about: NUMBER/KEY in the library, or one of a --file."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.core.exceptions import ObjectDoesNotExist
from django.core.management.base import CommandParser
from django.utils.translation import gettext as _

from curriculum.core.library import BYTES_MAX, read_exercises
from curriculum.core.spec import Exercise, Setup
from shared.management.base import Fault, Refused, WrongCall


def add_which(parser: CommandParser) -> None:
    """Take NUMBER/KEY or --file, with which NUMBER/KEY picks a setup of the file."""
    parser.add_argument("which", nargs="?", metavar="NUMBER/KEY", help="a setup in the library")
    parser.add_argument(
        "--file", type=Path, help="a library file with one exercise, read without a database"
    )


def chosen(options: Mapping[str, Any]) -> tuple[Exercise, str, Setup]:
    """Return the exercise, the setup's place in messages, and the setup that was asked for.

    Raises `Refused` with what is wrong with the file or unknown, `WrongCall` without a question.
    """
    which: str | None = options["which"]
    if options["file"] is not None:
        return _from_file(options["file"], which or "")
    if which:
        return _from_library(which)
    raise WrongCall(_("Name a setup as NUMBER/KEY, or give a --file."))


def _pick(exercise: Exercise, key: str) -> tuple[int, Setup]:
    keys = tuple(setup.key for setup in exercise.setups)
    for place, setup in enumerate(exercise.setups):
        if key in ("", setup.key):
            return place, setup
    message = _("The exercise has no setup “%(key)s”.") % {"key": key}
    raise Refused([Fault("setup", key, message, keys)])


def _from_file(file: Path, which: str) -> tuple[Exercise, str, Setup]:
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
    number, _slash, key = which.partition("/")
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
