"""A cutting plan: which stock is cut, by which cuts in which order, and what comes of it.

Lengths and places are metres. A place is measured from the corner of the stock as it lies: x
along its length, y along its width. Parts of a bar have y 0 and width None, and each of its cuts
runs across it ("width").
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any

from shared.units.tables import gettext_noop

REASONS = {
    "size": gettext_noop("larger than any stock here, less its trim"),
    "strip": gettext_noop("no stock is wide enough for the narrowest strip that the machine holds"),
    "cut": gettext_noop("needs a longer cut than the machine makes"),
    "thickness": gettext_noop("thicker than the machine cuts"),
    "stock": gettext_noop("there is not enough stock"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A rectangle that exists at some time while a sheet is cut.

    `Layout.parts[0]` is the stock as it comes: a "blank" where it is one already, without a cut.

    `kind` is "stock", "sheet" (what trimming leaves), "strip", "stack" (a length of a strip that
    is still to be cut to width), or what is left in the end: "blank" (with the id of its `piece`),
    "remnant" or "scrap". `rotated`: the blank's length lies along the width of the stock.
    """

    kind: str
    x: float
    y: float
    length: float
    width: float | None
    piece: str | None = None
    rotated: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One cut from edge to edge of a part.

    Cuts stand in the order of work, `number` from 1. `part` is what is cut, `off` what comes off
    at its low edge and `rest` what lies beyond the kerf: places in `Layout.parts`, None where
    the cut leaves nothing. `stage` is 0 for trim, 1 for strips, 2 for lengths of a strip, 3 for
    widths. `runs` is the side of the stock that the cut runs along, "length" or "width".
    `setting`, m, is where the gauge stands: the size of what comes off, from the gauge edge.
    `at`, m, is the line on the stock where the kerf begins: x where the cut runs along the
    width, else y.
    """

    number: int
    stage: int
    part: int
    runs: str
    setting: float
    at: float
    off: int | None
    rest: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """How `count` pieces of one stock are cut, all alike."""

    stock: str
    count: int
    parts: tuple[Part, ...]
    cuts: tuple[Cut, ...]

    def of_kind(self, kind: str) -> tuple[Part, ...]:
        """Return the parts of one kind, in the order in which they come off."""
        return tuple(part for part in self.parts if part.kind == kind)

    @property
    def blanks(self) -> tuple[Part, ...]:
        return self.of_kind("blank")

    @property
    def remnants(self) -> tuple[Part, ...]:
        return self.of_kind("remnant")

    @property
    def scrap(self) -> tuple[Part, ...]:
        return self.of_kind("scrap")


@dataclass(frozen=True, slots=True, kw_only=True)
class Unplaceable:
    """Pieces that cannot be had: how many of which, and why.

    `reason` is a key of `REASONS`.
    """

    piece: str
    count: int
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """All layouts, with what they cost against what no plan can undercut.

    `bound` is money: every plan for the pieces that are placed costs at least that much.
    `proven`: no plan is cheaper. `setups` counts the gauge settings when all cuts of one stage
    and setting are made together.
    """

    layouts: tuple[Layout, ...]
    unplaceable: tuple[Unplaceable, ...]
    cost: Decimal
    bound: Decimal

    @property
    def proven(self) -> bool:
        return self.cost <= self.bound

    @property
    def gap(self) -> float:
        """Return what a plan could be cheaper at most, as a share of the cost; 0 to 1."""
        return float(1 - self.bound / self.cost) if self.cost > self.bound else 0.0

    @property
    def settings(self) -> frozenset[tuple[int, float]]:
        """Return stage and gauge setting, m, of every set-up."""
        return frozenset((cut.stage, cut.setting) for one in self.layouts for cut in one.cuts)

    @property
    def setups(self) -> int:
        return len(self.settings)

    @property
    def largest_remnant(self) -> float:
        """Return the area of the largest remnant, m2 (of bars: its length, m); 0 without one."""
        rests = [rest for layout in self.layouts for rest in layout.remnants]
        return max((rest.length * (rest.width or 1.0) for rest in rests), default=0.0)


def plan_as_json(plan: Plan) -> dict[str, Any]:
    """Return the plan as the `cutplan` command prints it; `plan_of_json` reads it back."""
    return {
        "stock_used": [_layout_as_json(layout) for layout in plan.layouts],
        "unplaceable": [asdict(row) for row in plan.unplaceable],
        "cost": _money(plan.cost),
        "bound": _money(plan.bound),
        "gap": plan.gap,
        "proven": plan.proven,
        "setups": plan.setups,
    }


def plan_of_json(data: Mapping[str, Any]) -> Plan:
    """Return the plan that `plan_as_json` wrote."""
    return Plan(
        layouts=tuple(
            Layout(
                stock=row["stock"],
                count=row["count"],
                parts=tuple(Part(**part) for part in row["parts"]),
                cuts=tuple(
                    Cut(**{key: cut[key] for key in Cut.__dataclass_fields__})
                    for cut in row["cuts"]
                ),
            )
            for row in data["stock_used"]
        ),
        unplaceable=tuple(Unplaceable(**row) for row in data["unplaceable"]),
        cost=Decimal(data["cost"]),
        bound=Decimal(data["bound"]),
    )


def _money(amount: Decimal) -> str:
    """Return an amount with two decimals, with four where it needs them."""
    return str(max(round(amount, 2), round(amount, 4), key=lambda one: one == amount))


def _layout_as_json(layout: Layout) -> dict[str, Any]:
    return {
        "stock": layout.stock,
        "count": layout.count,
        "cuts": [
            {**asdict(cut), "from": [*start], "to": [*end]} for cut, start, end in _lines(layout)
        ],
        "pieces": [
            {
                "id": blank.piece,
                **_place(blank),
                "rotated": blank.rotated,
            }
            for blank in layout.blanks
        ],
        "remnants": [_place(rest) for rest in layout.remnants],
        "scrap": [_place(rest) for rest in layout.scrap],
        "parts": [asdict(part) for part in layout.parts],
    }


def _place(part: Part) -> dict[str, Any]:
    return {"x": part.x, "y": part.y, "length": part.length, "width": part.width}


def _lines(layout: Layout) -> Iterator[tuple[Cut, tuple[float, float], tuple[float, float]]]:
    """Yield each cut with the two ends of its line."""
    for cut in layout.cuts:
        part = layout.parts[cut.part]
        if cut.runs == "width":
            yield cut, (cut.at, part.y), (cut.at, part.y + (part.width or 0.0))
        else:
            yield cut, (part.x, cut.at), (part.x + part.length, cut.at)
