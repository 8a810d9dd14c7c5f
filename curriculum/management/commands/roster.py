"""`roster CLASS FILE --check|--load [--whole]`: who is in a class, from a file."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.core.management.base import CommandParser
from django.utils.translation import gettext

from shared.management.base import Fault, JsonCommand, Refused

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from curriculum.core.roster import RowFault
    from curriculum.models import ShopClass


@dataclass(frozen=True, slots=True)
class CellFault(Fault):
    """A fault of the file with its line (the heading is line 1) and its column."""

    row: int = 0
    column: str = ""


class Command(JsonCommand):
    """Answers {"added", "changed", "unchanged", "left", "errors"} with student numbers."""

    help = (
        "Check the roster of a class, or load it. Students are known by their number; all faults "
        "come in one answer and nothing of a faulty file is stored."
    )
    contract = "roster/1"

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the class, the file and what to do with it."""
        super().add_arguments(parser)
        parser.add_argument("shop_class", metavar="CLASS", help="name or number of the class")
        parser.add_argument("file", metavar="FILE", help="a CSV file, or - for standard input")
        what = parser.add_mutually_exclusive_group(required=True)
        what.add_argument("--check", action="store_true", help="say what would change")
        what.add_argument("--load", action="store_true", help="change it")
        parser.add_argument(
            "--whole", action="store_true", help="the file names everybody: the others have left"
        )
        parser.add_argument("--campus", help="name of the campus, where there are several")

    def answer(self, **options: Any) -> dict[str, Any]:
        """Return what came of the file."""
        from curriculum.services import roster
        from shared.http import UploadRefused

        shop_class = which_class(options["shop_class"], options["campus"])
        data = read_bytes(options["file"])
        whole, today = options["whole"], shop_class.campus.today()
        try:
            if options["load"]:
                change = roster.load(
                    shop_class=shop_class, data=data, whole=whole, today=today, by=None
                )
            else:
                found = roster.preview(shop_class=shop_class, data=data, whole=whole, today=today)
                if found.roster.faults:
                    raise roster.RosterRefused(found.roster.faults)
                change = found.comparison
        except UploadRefused as refused:
            raise Refused([CellFault("file", options["file"], str(refused))]) from None
        except roster.RosterRefused as refused:
            raise Refused(told(refused.faults)) from None
        return {
            "added": [one.number for one in change.added],
            "changed": [one.student.number for one in change.changed],
            "unchanged": [one.number for one in change.unchanged],
            "left": [one.number for one in change.left],
            "errors": [],
        }

    def table(self, answer: Mapping[str, Any]) -> str:
        """Return the numbers by what came of them."""
        return "\n".join(
            f"{key:<12}{len(answer[key]):>5}  {', '.join(answer[key])}".rstrip()
            for key in ("added", "changed", "unchanged", "left")
        )


def which_class(name: str, campus: str | None) -> ShopClass:
    """Return the class of that name, or else of that number."""
    from curriculum.models import ShopClass

    classes = ShopClass.objects.select_related("campus")
    if campus:
        classes = classes.filter(campus__name=campus)
    found = list(classes.filter(name=name)[:2])
    if not found and name.isdecimal():
        found = list(classes.filter(pk=int(name)))
    if len(found) == 1:
        return found[0]
    if found:
        campuses = list(classes.filter(name=name).values_list("campus__name", flat=True))
        raise Refused([Fault("class", name, "Name the campus with --campus.", campuses)])
    names = list(classes.values_list("name", flat=True)[:20])
    raise Refused([Fault("class", name, "There is no such class.", names)])


def read_bytes(name: str) -> bytes:
    """Return what stands in a file; raise `Refused` where it cannot be read."""
    try:
        return sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()
    except OSError as error:
        message = f"The file cannot be read: {error.strerror}."
        raise Refused([CellFault("file", name, message)]) from None


def told(faults: Iterable[RowFault]) -> list[CellFault]:
    """Return the faults of a file with their place in words."""
    return [
        CellFault(
            f"row {one.row}, {one.column}",
            one.got,
            one.message.in_words(gettext),
            one.accepts,
            one.row,
            one.column,
        )
        for one in faults
    ]
