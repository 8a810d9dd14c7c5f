"""The blanks that classes will ask for, by size, less those that lie on the shelf."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from django.utils.translation import gettext as _

from curriculum.core.usage import Blank, UsageError, blanks
from curriculum.models import ExerciseVersion, ShopClass
from curriculum.models import Session as ShopSession
from curriculum.services import to_spec
from inventory.core.blanks import PiecesNeeded, pieces_needed
from inventory.core.case import read_case
from inventory.core.forecast import LIKELY
from inventory.core.sizes import Size, of_metres
from inventory.models import CutPlan, StockItem
from inventory.services.forecast import Basis, Problem, forecast_basis
from inventory.services.size_rows import base_units_of, is_cut, is_flat
from inventory.services.sized import blanks_on_shelf

if TYPE_CHECKING:
    from shared.people.models import Campus

NAMED = 6  # exercises that a line names


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankLine:
    """Blanks of one size of one item: `on_shelf` are those that the days before leave over."""

    item: StockItem
    size: Size
    wanted_for: str
    needed: int
    on_shelf: int

    @property
    def to_cut(self) -> int:
        return max(self.needed - self.on_shelf, 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class MissingBlanks:
    """Blanks that no item here can be cut into, and why."""

    name: str
    wanted_for: str
    needed: int
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BlanksNeeded:
    lines: tuple[BlankLine, ...]
    missing: tuple[MissingBlanks, ...]
    problems: tuple[Problem, ...]
    sessions: int


def blanks_needed(
    classes: Sequence[ShopClass],
    first: date,
    last: date,
    *,
    figure: str = CutPlan.Figure.AMPLE,
    campus: Campus | None = None,
) -> BlanksNeeded:
    """Return the blanks for the sessions of `classes` from `first` to `last`.

    The forecast's simulation with the sizes of blank for items: what a setup hands out, over the
    attempts it serves. Queries: a constant number for each class.
    """
    where = campus or classes[0].campus
    today = where.today()
    as_of = today if first > today else first - timedelta(days=1)
    basis = forecast_basis(classes, as_of, campus=where)
    uses, sizes, exercises = _uses(basis)
    data = {**basis.data, "items": []}
    data["tasks"] = [{**row, "uses": uses.get(row["id"], [])} for row in data["tasks"]]
    case = read_case(data)
    quantile = LIKELY if figure == CutPlan.Figure.LIKELY else case.service
    found = pieces_needed(case, first, last, as_of=as_of, quantile=quantile)
    lines, missing = _against_shelf(basis, found, sizes, exercises)
    coming = ShopSession.objects.filter(
        shop_class__in=classes, state=ShopSession.State.PLANNED, date__range=(first, last)
    )
    return BlanksNeeded(
        lines=tuple(sorted(lines, key=_order)),
        missing=tuple(missing),
        problems=basis.problems,
        sessions=coming.count(),
    )


def _order(line: BlankLine) -> tuple[Any, ...]:
    return line.item.kind, line.item.name, -line.size.length, -(line.size.width or 0)


def _uses(
    basis: Basis,
) -> tuple[dict[str, list[dict[str, Any]]], dict[str, Blank], dict[str, list[str]]]:
    """Return the uses of each task in blanks, a blank by its id, and the exercises that ask."""
    rows = ExerciseVersion.objects.with_content().filter(
        pk__in={task.version_id for task in basis.tasks.values()}
    )
    specs = {row.pk: to_spec(row) for row in rows}
    uses: dict[str, list[dict[str, Any]]] = {}
    kinds: dict[str, Blank] = {}
    exercises: dict[str, list[str]] = defaultdict(list)
    for name, task in basis.tasks.items():
        setups = specs[task.version_id].setups
        setup = next((one for one in setups if one.key == task.key), None)
        if setup is None:
            continue
        try:
            found = blanks(setup)
        except UsageError:
            continue  # among the problems of the basis already
        for blank in found:
            key = _key(blank, basis.items.get(blank.spec))
            kinds.setdefault(key, blank)
            if task.number not in exercises[key]:
                exercises[key].append(task.number)
            each = blank.count / blank.serves
            uses.setdefault(name, []).append(
                {
                    "item": key,
                    "quantity": each,
                    "cv": 0.0,
                    "practice": each * (setup.practice_pieces or 0),
                }
            )
    return uses, kinds, exercises


def size_of_blank(blank: Blank, item: StockItem | None) -> Size:
    """Return the size a blank is cut to: both sides of sheet, of bar and pipe the length."""
    flat = is_flat(item) if item else blank.form in ("sheet", "plate")
    return of_metres(blank.length, blank.width if flat else None).long_side_first


def _key(blank: Blank, item: StockItem | None) -> str:
    size = size_of_blank(blank, item)
    return f"{blank.spec}|{size.length}|{size.width or ''}"


def _against_shelf(
    basis: Basis,
    found: Mapping[str, PiecesNeeded],
    kinds: Mapping[str, Blank],
    exercises: Mapping[str, Sequence[str]],
) -> tuple[list[BlankLine], list[MissingBlanks]]:
    shelf = blanks_on_shelf(basis.items.values())
    lines: list[BlankLine] = []
    missing: list[MissingBlanks] = []
    for key, pieces in found.items():
        blank, wanted_for = kinds[key], named(exercises[key])
        item = basis.items.get(blank.spec)
        size = size_of_blank(blank, item)
        if not pieces.within:
            continue
        if item is None or (why := _why_not(item, size)):
            name = " × ".join(blank.typed)
            why = _("no item of the shelf has its metal and thickness") if item is None else why
            missing.append(
                MissingBlanks(
                    name=f"{blank.name} {name}".strip(),
                    wanted_for=wanted_for,
                    needed=pieces.within,
                    why=why,
                )
            )
            continue
        there = max(shelf[item.pk].get(size, 0) - pieces.before, 0)
        lines.append(
            BlankLine(
                item=item,
                size=size,
                wanted_for=wanted_for,
                needed=pieces.within,
                on_shelf=min(there, pieces.within),
            )
        )
    return lines, missing


def _why_not(item: StockItem, size: Size) -> str:
    if item.quarantined:
        return _("its grade is unknown: it is in quarantine")
    if not is_cut(item):
        return _("it is kept by the piece here, not cut")
    try:
        base_units_of(item, size)
    except ValueError:
        return _("its item does not tell what size it is")
    return ""


def named(exercises: Sequence[str]) -> str:
    """Return exercises in a row: "201, 203"; of many the first few."""
    shown = ", ".join(exercises[:NAMED])
    return shown if len(exercises) <= NAMED else f"{shown} …"
