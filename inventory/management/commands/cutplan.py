"""How sheets and bars are cut into blanks: `contract.md` cutplan/1."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils.translation import gettext as _

from inventory.core.cutting import REASONS, SECONDS, Problem, plan_as_json, solve
from inventory.management.case_file import read_case_file
from shared.management.base import Fault, JsonCommand, Refused, WrongCall

MOST_SECONDS = 3600.0


class Command(JsonCommand):
    help = (
        "Plan how sheets and bars are cut: for the blanks of a class in the database, or of a "
        "case file (JSON)."
    )
    contract = "cutplan/1"

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("class_name", nargs="?", metavar="CLASS", help="name of the class")
        parser.add_argument("--case", type=Path, metavar="FILE", help="a case file; no database")
        days = "of a class: sessions %s this day count; without it next week's"
        parser.add_argument("--from", type=_day, metavar="DATE", dest="first", help=days % "from")
        parser.add_argument("--to", type=_day, metavar="DATE", dest="last", help=days % "to")
        parser.add_argument(
            "--figure", choices=("likely", "ample"), default="ample", help="of a class"
        )
        parser.add_argument(
            "--seconds",
            type=_seconds,
            default=SECONDS,
            metavar="S",
            help="how long to search at most; a plan that is proven ends it earlier",
        )

    def answer(self, **options: Any) -> Mapping[str, Any]:
        name, path = options["class_name"], options["case"]
        if (name is None) == (path is None):
            raise WrongCall(_("Name a class, or a case file with --case: one of the two."))
        if path is None:
            return _of_class(name, **options)
        problem = read_case_file(path, Problem.from_case, '{"stock": […], "pieces": […]}')
        return plan_as_json(solve(problem, seconds=options["seconds"]))

    def table(self, answer: Mapping[str, Any]) -> str:
        return "\n".join(_table(answer))


def _of_class(
    name: str,
    *,
    first: date | None,
    last: date | None,
    figure: str,
    seconds: float,
    **_options: Any,
) -> Mapping[str, Any]:
    """Return the plan for the blanks of a class in these days, or next week."""
    from inventory.services.class_cutting import class_cut_plan
    from inventory.services.forecast import class_named

    try:
        shop_class = class_named(name)
    except LookupError as error:
        raise Refused([Fault("CLASS", name, str(error))]) from error
    today = shop_class.campus.today()
    monday = today + timedelta(days=7 - today.weekday())
    begin = first or (min(monday, last) if last else monday)
    end = last or begin + timedelta(days=6)
    for where, day, least in (("--from", begin, today), ("--to", end, begin)):
        if day < least:
            text = _("is over; the earliest is %(day)s") % {"day": least.isoformat()}
            raise Refused([Fault(where, day.isoformat(), text, (least.isoformat(),))])
    return class_cut_plan(shop_class, begin, end, figure=figure, seconds=seconds)


def _day(text: str) -> date:
    return date.fromisoformat(text)


def _seconds(text: str) -> float:
    value = float(text)
    if not 0 < value <= MOST_SECONDS:
        raise ValueError
    return value


def _table(answer: Mapping[str, Any]) -> Iterable[str]:
    for row in answer["stock_used"]:
        yield _("%(count)d × %(stock)s") % row
        for cut in row["cuts"]:
            yield "  " + _("%(number)d. along the %(side)s at %(setting).4f m") % {
                "number": cut["number"],
                "side": _("length") if cut["runs"] == "length" else _("width"),
                "setting": cut["setting"],
            }
        for piece in row["pieces"]:
            yield "  " + _("piece %(id)s: %(size)s") % {"id": piece["id"], "size": _size(piece)}
        for rest in row["remnants"]:
            yield "  " + _("remnant: %(size)s") % {"size": _size(rest)}
    for row in answer["unplaceable"]:
        yield _("Not planned: %(count)d of %(piece)s: %(why)s") % {
            "count": row["count"],
            "piece": row["piece"],
            "why": _(REASONS[row["reason"]]),
        }
    for row in answer.get("missing", ()):
        yield _("Not planned: %(count)d of %(piece)s: %(why)s") % row
    for row in answer.get("problems", ()):
        yield f"  {row['where']}  {row['message']}"
    known = {"cost": answer["cost"], "bound": answer["bound"], "gap": f"{answer['gap']:.1%}"}
    if answer["proven"]:
        yield _("Cost %(cost)s; no plan is cheaper.") % known
    else:
        yield _("Cost %(cost)s; no plan costs less than %(bound)s, so %(gap)s at most.") % known


def _size(part: Mapping[str, Any]) -> str:
    """Return the size and the place of a part, m."""
    if part["width"] is None:
        return f"{part['length']:.4f} m @ {part['x']:.4f}"
    size = f"{part['length']:.4f} × {part['width']:.4f} m"
    return f"{size} @ {part['x']:.4f}, {part['y']:.4f}"
