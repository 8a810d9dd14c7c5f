"""`library FILE --check|--load` and `library --dump`: exercises as a file."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.core.management.base import CommandParser
from django.db import DatabaseError, transaction
from django.utils.translation import gettext

from curriculum.core.library import read_exercises
from curriculum.core.library_write import write_exercises
from curriculum.management.findings import ORDER, accepted_by, finding_lines, finding_rows
from shared.management.base import Fault, JsonCommand, Refused, WrongCall

if TYPE_CHECKING:
    from collections.abc import Mapping

    from curriculum.core.spec import Exercise
    from shared.people.models import Campus


class Command(JsonCommand):
    """Answers {"added", "new_versions", "unchanged", "errors"}; a dump {"exercises", "toml"}.

    A check adds "findings": what the setup check has to say of each setup; it refuses nothing.
    """

    help = (
        "Check a file of exercises, load it into the library, or write the library out as one. "
        "All faults of a file come in one answer, and nothing of a faulty file is stored."
    )
    contract = "library/1"
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the file and what to do with it."""
        super().add_arguments(parser)
        parser.add_argument("file", nargs="?", help="a TOML file, or - for standard input")
        what = parser.add_mutually_exclusive_group(required=True)
        what.add_argument(
            "--check", action="store_true", help="find faults and changes, store nothing"
        )
        what.add_argument("--load", action="store_true", help="store what is new")
        what.add_argument("--dump", action="store_true", help="write the library as such a file")
        parser.add_argument("--campus", help="name of the campus, where there are several")

    def answer(self, **options: Any) -> dict[str, Any]:
        """Return what came of the file, or the library."""
        if options["dump"]:
            if options["file"]:
                raise WrongCall("--dump writes the library and takes no file.")
            return self.dump(self.campus(options["campus"]))
        if not options["file"]:
            raise WrongCall("Name the file to read.")
        text = read_text(options["file"])
        if options["check"]:
            return self.compare(text, options["campus"])
        campus = self.campus(options["campus"])
        from curriculum.services import load_library

        with transaction.atomic():
            exercises = exercises_for(campus, text)
            change = load_library(campus=campus, contents=exercises, by=None)
        return told(change)

    def compare(self, text: str, name: str | None) -> dict[str, Any]:
        """Read the file; without a usable database every exercise of it is new."""
        from curriculum.services.library import compare_library
        from shared.people.models import Campus

        try:
            empty = not Campus.objects.exists()
        except DatabaseError:  # no tables yet: a file can be checked before the shop is set up
            empty = True
        if empty and name is None:
            exercises = exercises_of(text, frozenset())
            answer: dict[str, Any] = {
                "added": [one.number for one in exercises],
                "new_versions": [],
                "unchanged": [],
                "errors": [],
            }
        else:
            campus = self.campus(name)
            exercises = exercises_for(campus, text)
            answer = told(compare_library(campus=campus, contents=exercises))
        return answer | {"findings": findings_of(exercises)}

    def dump(self, campus: Campus) -> dict[str, Any]:
        """Return the newest version of every exercise, as TOML too."""
        from curriculum.services import dump_library

        exercises = dump_library(campus=campus)
        return {
            "exercises": [one.number for one in exercises],
            "toml": write_exercises(exercises),
            "errors": [],
        }

    def table(self, answer: Mapping[str, Any]) -> str:
        """Return the file of a dump as it is, else the numbers by what came of them."""
        if "toml" in answer:
            return str(answer["toml"])
        labels = {"added": "new", "new_versions": "new version", "unchanged": "unchanged"}
        lines = [
            f"{label:<12}{len(answer[key]):>5}  {', '.join(answer[key])}".rstrip()
            for key, label in labels.items()
        ]
        for row in answer.get("findings", []):
            lines += [f"{row['exercise']}/{row['setup']}", *finding_lines([row], row["accepted"])]
        return "\n".join(lines)

    def campus(self, name: str | None) -> Campus:
        """Return the campus of that name, or the only one."""
        from shared.people.models import Campus

        campuses = list(Campus.objects.filter(**({"name": name} if name else {}))[:2])
        if len(campuses) == 1:
            return campuses[0]
        names = list(Campus.objects.order_by("name").values_list("name", flat=True)[:20])
        message = "There is no campus yet." if not names else "Name the campus with --campus."
        raise Refused([Fault("campus", name or "", message, names)])


def read_text(name: str) -> str:
    """Return the text of a file; raise `Refused` where it cannot be read as UTF-8."""
    try:
        data = sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()
        return data.decode("utf-8-sig")
    except OSError as error:
        raise Refused(
            [Fault("file", name, f"The file cannot be read: {error.strerror}.")]
        ) from None
    except UnicodeDecodeError:
        message = "The file is not UTF-8 text."
        raise Refused([Fault("file", name, message, ["UTF-8"])]) from None


def known_numbers(campus: Campus) -> frozenset[str]:
    """Return the numbers the library has, so that a file may name them."""
    from curriculum.models import Exercise as ExerciseRow

    return frozenset(ExerciseRow.objects.filter(campus=campus).values_list("number", flat=True))


def exercises_of(text: str, known: frozenset[str]) -> list[Exercise]:
    """Return the exercises of a file; raise `Refused` with all its faults."""
    exercises, faults = read_exercises(text, known_numbers=known)
    if faults:
        raise Refused(
            Fault(one.where, one.got, one.message.in_words(gettext), one.accepts) for one in faults
        )
    return exercises


def exercises_for(campus: Campus, text: str) -> list[Exercise]:
    """Return the exercises of a file as the library would take them in; raise `Refused`."""
    from curriculum.services.editing import circle_faults

    exercises = exercises_of(text, known_numbers(campus))
    if faults := circle_faults(campus, exercises):
        raise Refused(
            Fault(one.where, one.got, one.message.in_words(gettext), one.accepts) for one in faults
        )
    return exercises


def findings_of(exercises: list[Exercise]) -> list[dict[str, Any]]:
    """Return what has to be looked at in the setups of a file, what is outside first."""
    rows = [
        {
            "exercise": exercise.number,
            "setup": setup.key,
            **row,
            "accepted": accepted_by(exercise) if row["level"] == "look" else None,
        }
        for exercise in exercises
        for setup in exercise.setups
        for row in finding_rows(exercise, setup)
        if row["level"] != "ok"
    ]
    return sorted(rows, key=lambda row: ORDER[row["level"]])


def told(change: Any) -> dict[str, Any]:
    """Return what changed, as the answer names it."""
    return {
        "added": list(change.added),
        "new_versions": list(change.new_versions),
        "unchanged": list(change.unchanged),
        "errors": [],
    }
