"""How sheets and bars are cut into blanks: `contract.md` cutplan/1."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils.translation import gettext as _

from inventory.core.cutting import REASONS, SECONDS, Problem, plan_as_json, solve
from inventory.management.case_file import read_case_file
from shared.management.base import JsonCommand

MOST_SECONDS = 3600.0


class Command(JsonCommand):
    help = "Plan how the sheets and bars of a case file (JSON) are cut."
    contract = "cutplan/1"

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--case", type=Path, metavar="FILE", required=True, help="a case file")
        parser.add_argument(
            "--seconds",
            type=_seconds,
            default=SECONDS,
            metavar="S",
            help="how long to search at most; a plan that is proven ends it earlier",
        )

    def answer(self, **options: Any) -> Mapping[str, Any]:
        problem = read_case_file(
            options["case"], Problem.from_case, '{"stock": […], "pieces": […]}'
        )
        return plan_as_json(solve(problem, seconds=options["seconds"]))

    def table(self, answer: Mapping[str, Any]) -> str:
        return "\n".join(_table(answer))


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
