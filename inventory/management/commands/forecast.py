"""What a class will use up, when to order it, and who finishes: `contract.md` forecast/1."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils.translation import gettext as _

from inventory.core.case import read_case
from inventory.core.forecast import MAX_RUNS, RUNS, SEED, forecast
from inventory.management.case_file import read_case_file
from shared.management.base import Fault, JsonCommand, Refused, WrongCall


class Command(JsonCommand):
    help = "Forecast what a class uses up: of a class in the database, or of a case file (JSON)."
    contract = "forecast/1"

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("class_name", nargs="?", metavar="CLASS", help="name of the class")
        parser.add_argument("--case", type=Path, metavar="FILE", help="a case file; no database")
        parser.add_argument(
            "--as-of",
            type=_day,
            metavar="DATE",
            help="only sessions after this day count; without it: today for a class, "
            "all sessions for a case file",
        )
        parser.add_argument("--runs", type=_whole(1, MAX_RUNS), default=RUNS, metavar="N")
        parser.add_argument("--seed", type=_whole(0, 2**63), default=SEED, metavar="N")

    def answer(self, **options: Any) -> Mapping[str, Any]:
        name, path, as_of = options["class_name"], options["case"], options["as_of"]
        if (name is None) == (path is None):
            raise WrongCall(_("Name a class, or a case file with --case: one of the two."))
        if path is None:
            return _of_class(name, as_of, runs=options["runs"], seed=options["seed"])
        case = read_case_file(path, read_case, '{"sessions": […], …}')
        return forecast(case, runs=options["runs"], seed=options["seed"], as_of=as_of).as_json()

    def table(self, answer: Mapping[str, Any]) -> str:
        return "\n".join(_table(answer))


def _of_class(name: str, as_of: date | None, *, runs: int, seed: int) -> Mapping[str, Any]:
    """Return the forecast of a class in the database, with the names of items and students."""
    from inventory.services.forecast import class_named, forecast_basis, reckon

    try:
        shop_class = class_named(name)
    except LookupError as error:
        raise Refused([Fault("CLASS", name, str(error))]) from error
    basis = forecast_basis([shop_class], as_of or shop_class.campus.today())
    answer = reckon(basis, runs=runs, seed=seed).as_json()
    for item in answer["items"]:
        item["name"] = basis.items[item["item"]].name
    for need in answer["unmatched"]:
        need["name"], need["unit"] = basis.needs[need["item"]].name, basis.needs[need["item"]].unit
    for one in answer["finish"]:
        one["name"] = basis.students[one["student"]]
    problems = [{"where": one.where, "message": one.message} for one in basis.problems]
    return {**answer, "class": shop_class.name, "problems": problems}


def _day(text: str) -> date:
    return date.fromisoformat(text)


def _whole(low: int, high: int) -> Any:
    def whole_number(text: str) -> int:
        value = int(text)
        if not low <= value <= high:
            raise ValueError
        return value

    return whole_number


def _table(answer: Mapping[str, Any]) -> Iterable[str]:
    days = answer["sessions"]
    if days:
        yield _("%(count)d sessions from %(first)s to %(last)s") % {
            "count": len(days),
            "first": days[0],
            "last": days[-1],
        }
    else:
        yield _("No sessions left.")
    rows = [
        [
            item.get("name", item["item"]),
            _figure(item["total"]["likely"]),
            _figure(item["total"]["ample"]),
            _figure(item["on_hand"]),
            _figure(item["on_order"]),
            item["unit"],
            item["runs_out"] or "–",
            (item["order_by"] or "–") + (" " + _("late") if item["late"] else ""),
            str(item["packs"]),
            item["cost_ample"] or "–",
        ]
        for item in answer["items"]
    ]
    head = [_("Item"), _("Likely"), _("Ample"), _("Shelf"), _("On order"), _("Unit")]
    head += [_("Runs out"), _("Order by"), _("Packs"), _("Cost")]
    yield ""
    yield from _columns([head, *rows], right=(1, 2, 3, 4, 8, 9))
    if answer["unmatched"]:
        yield ""
        yield _("Matches no stock item:")
        for need in answer["unmatched"]:
            tasks = ", ".join(need["tasks"])
            name, unit = need.get("name", need["item"]), need.get("unit", "")
            yield f"  {name}  {_figure(need['mean'])} {unit}".rstrip() + f"  ({tasks})"
    if answer.get("problems"):
        yield ""
        yield _("Not in the forecast:")
        for problem in answer["problems"]:
            yield f"  {problem['where']}  {problem['message']}"
    if answer["finish"]:
        yield ""
        finish = [[f.get("name", f["student"]), f"{f['p']:.0%}"] for f in answer["finish"]]
        yield from _columns([[_("Student"), _("Finishes all")], *finish], right=(1,))
    yield ""
    yield _("Likely: half of all terms need no more. Ample: enough in %(share)s of terms.") % {
        "share": f"{answer['service']:.0%}"
    }


def _figure(value: float) -> str:
    return f"{value:.4g}" if abs(value) < 1000 else f"{value:.0f}"


def _columns(rows: Sequence[Sequence[str]], right: Sequence[int]) -> Iterable[str]:
    widths = [max(len(row[n]) for row in rows) for n in range(len(rows[0]))]
    for row in rows:
        cells = (
            cell.rjust(width) if n in right else cell.ljust(width)
            for n, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        yield "  ".join(cells).rstrip()
