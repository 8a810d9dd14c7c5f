"""The blanks of a session: what its coupons take, against what lies on the shelf."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import Sum

from curriculum.core.spec import Exercise, Setup
from curriculum.core.usage import Blank, UsageError, blanks
from curriculum.models import ExerciseVersion, Session
from curriculum.services import to_spec
from grading.models import Attempt
from grading.services.day import load_day
from inventory.core.sizes import Size, of_metres
from inventory.models import Movement, SizedStock, StockItem
from inventory.services.pieces import hand_out
from inventory.services.size_rows import Form, is_cut, is_flat, size_of

if TYPE_CHECKING:
    from datetime import date

    from shared.people.models import User

Kind = Movement.Kind


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """Blanks of one size: `needed` by the coupons of the session, `out` handed out for it so far.

    `item` None: no shelf holds that metal and thickness; no `rows`: no blank of that size was ever
    cut or received, so the shop does not keep it by size.
    """

    blank: Blank
    size: Size
    item: StockItem | None
    rows: tuple[SizedStock, ...]
    exercises: tuple[str, ...]
    needed: int
    out: int

    @property
    def shelf(self) -> int:
        return sum(row.count for row in self.rows)

    @property
    def still(self) -> int:
        """How many are still to be handed out."""
        return max(0, self.needed - self.out)

    @property
    def short(self) -> int:
        """How many of those the shelf does not have."""
        return max(0, self.still - max(0, self.shelf))

    @property
    def can_go(self) -> bool:
        return bool(self.still and self.rows and self.item and not self.item.quarantined)

    def shares(self) -> Iterator[tuple[SizedStock, int]]:
        """Yield which rows give how many: what is there first, the rest off the first of them."""
        left, shares = self.still, {row.pk: 0 for row in self.rows}
        for row in self.rows:
            taken = min(left, max(0, row.count))
            shares[row.pk] += taken
            left -= taken
        shares[self.rows[0].pk] += left
        yield from ((row, shares[row.pk]) for row in self.rows if shares[row.pk])


def session_blanks(session: Session) -> list[Line]:
    """Return the blanks of a session by metal, thickness and size, in a constant number of queries.

    Each coupon that was begun in it took its blanks, each that is next will; a blank that serves
    several coupons of a student is handed out once for them.
    """
    needs: dict[tuple[str, Size], int] = defaultdict(int)
    told: dict[tuple[str, Size], Blank] = {}
    numbers: dict[tuple[str, Size], set[str]] = defaultdict(set)
    for number, setup, coupons in _coupons(session):
        for blank in _blanks(setup):
            flat = blank.spec.startswith(f"{StockItem.Kind.SHEET}:")
            size = of_metres(blank.length, blank.width if flat else None).long_side_first
            key = blank.spec, size
            needs[key] += blank.count * -(-coupons // blank.serves)
            told.setdefault(key, blank)
            numbers[key].add(number)
    items = {
        item.spec_key: item
        for item in StockItem.objects.filter(
            campus=session.shop_class.campus_id, spec_key__in={spec for spec, _size in needs}
        ).select_related("campus")
        if is_cut(item)
    }
    rows: dict[tuple[int, Size], list[SizedStock]] = defaultdict(list)
    known = {item.pk: item for item in items.values()}
    for row in SizedStock.objects.filter(item__in=known, form=Form.BLANK).order_by("pk"):
        row.item = known[row.item_id]
        rows[row.item_id, size_of(row)].append(row)
    out = _handed_out(session)
    lines = []
    for (spec, size), needed in needs.items():
        item = items.get(spec)
        fitting = tuple(rows[item.pk, size]) if item and is_flat(item) == bool(size.width) else ()
        lines.append(
            Line(
                blank=told[spec, size],
                size=size,
                item=item,
                rows=fitting,
                exercises=tuple(sorted(numbers[spec, size])),
                needed=needed,
                out=sum(out.get(row.pk, 0) for row in fitting),
            )
        )
    return sorted(lines, key=lambda line: (line.blank.spec, line.size.sides))


def _coupons(session: Session) -> Iterator[tuple[str, Setup, int]]:
    """Yield exercise, setup and how many coupons of it a student begins in the session."""
    begun: dict[tuple[int, int], int] = defaultdict(int)
    rows = Attempt.objects.filter(session=session).values_list("student", "setup", "setup__version")
    versions = set()
    for student, setup, version in rows:
        begun[student, setup] += 1
        versions.add(version)
    specs = {
        version.pk: to_spec(version)
        for version in ExerciseVersion.objects.with_content().filter(pk__in=versions)
    }
    setups = _setups(specs, versions)
    # by the student, so that a blank that serves several of one's coupons counts once
    counted: dict[tuple[int, str, str], tuple[Setup, int]] = {}
    for (student, setup), count in begun.items():
        number, spec = setups[setup]
        counted[student, number, spec.key] = spec, count
    for row in load_day(session).here:
        if row.work and row.work.attempt is None:
            key = row.student.pk, row.work.exercise.number, row.work.setup.key
            _spec, count = counted.get(key, (None, 0))
            counted[key] = row.work.setup, count + 1
    for (_student, number, _key), (spec, count) in counted.items():
        yield number, spec, count


def _setups(specs: dict[int, Exercise], versions: Iterable[int]) -> dict[int, tuple[str, Setup]]:
    found = {}
    for version in ExerciseVersion.objects.filter(pk__in=versions).prefetch_related("setups"):
        spec = specs[version.pk]
        keyed = {setup.key: setup for setup in spec.setups}
        for row in version.setups.all():
            found[row.pk] = spec.number, keyed[row.key]
    return found


def _blanks(setup: Setup) -> list[Blank]:
    try:
        return blanks(setup)
    except UsageError:  # the sheet of the setup says what is wrong with its pieces
        return []


def _prefix(session: Session) -> str:
    return f"blanks:{session.pk}:"


def _handed_out(session: Session) -> dict[int, int]:
    """Return the pieces handed out for the session, by size row; what was reversed is not."""
    rows = (
        Movement.objects.filter(
            batch__startswith=_prefix(session), kind=Kind.ISSUE, reversed_by=None
        )
        .order_by()
        .values("sized")
        .annotate(total=Sum("pieces"))
    )
    return {row["sized"]: -row["total"] for row in rows}


@transaction.atomic
def hand_out_blanks(*, session: Session, key: str, by: User, on: date) -> int:
    """Hand out what the session still needs of the sizes that are kept; return the pieces.

    Who comes second finds nothing left to hand out: the session is locked meanwhile. `key` tells
    one act from another, at most 40 letters. What the shelf lacks goes book short.
    """
    Session.objects.select_for_update().get(pk=session.pk)
    total = 0
    batch = f"{_prefix(session)}{key}"
    for line in session_blanks(session):
        if not line.can_go:
            continue
        for row, pieces in line.shares():
            hand_out(
                sized=row,
                pieces=pieces,
                key=f"{batch}:{row.pk}",
                by=by,
                on=on,
                reason=str(session),
                batch=batch,
            )
            total += pieces
    return total
