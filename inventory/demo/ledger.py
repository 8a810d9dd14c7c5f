"""Five weeks of movements, in step with the coupons that were welded."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from random import Random

from curriculum.core.usage import usage
from curriculum.demo.classes import both_classes, held_sessions
from curriculum.models import Attendance, ExerciseVersion, Setup
from curriculum.services import to_spec
from grading.models import Attempt
from inventory.models import Movement, OpenPack, Pack, StockItem
from inventory.services import count_shelf, finish_pack, move, open_pack, receive_packs, reverse
from shared.demo import Scene, demo_step
from shared.people.models import User

from .shelf import MICRO, stock

COUNTS = (
    # item, share of the book that was found, reason
    ("Steel sheet 14 ga", 0.955, "an offcut was thrown away"),
    ("Contact tip 0.035 in", 0.7, "found burnt ones in the drawer"),
    ("Flat bar 1/4 × 4 in", 1.0, "weekly count"),
)
RESIDUE = 0.07  # of a cylinder goes back with it
TWICE = "Wire ER70S-6 0.030 in"


@dataclass(frozen=True, slots=True)
class Week:
    """What each coupon of one week took, in base units by specification, and who was there."""

    first: date
    last: date
    coupons: list[tuple[datetime, dict[str, float]]]
    students: int


def _needs_of(setups: set[int]) -> dict[int, dict[str, float]]:
    """Return what one attempt takes of each specification, by setup, in base units."""
    rows = Setup.objects.filter(pk__in=setups).values_list("pk", "version", "key")
    versions = {
        row.pk: to_spec(row)
        for row in ExerciseVersion.objects.with_content().filter(setups__in=setups).distinct()
    }
    needs = {}
    for pk, version, key in rows:
        exercise = versions[version]
        setup = next(one for one in exercise.setups if one.key == key)
        sums: dict[str, float] = defaultdict(float)
        for item in usage(exercise, setup).items:
            sums[item.spec] += item.quantity * (1 if item.unit == "1" else MICRO)
        needs[pk] = sums
    return needs


def weeks(scene: Scene) -> list[Week]:
    """Return the weeks in which there was shop, with what the logged coupons took."""
    sessions = {
        session.pk: session.date
        for shop_class in both_classes(scene)
        for session in held_sessions(scene, shop_class)
    }
    logged = Attempt.objects.exclude(state=Attempt.State.STARTED).filter(session__in=sessions)
    coupons = list(logged.order_by("logged_at", "pk").values_list("session", "setup", "logged_at"))
    needs = _needs_of({setup for _session, setup, _at in coupons})
    present = Attendance.objects.filter(session__in=sessions, present=True)
    by_monday: dict[date, list[int]] = defaultdict(list)
    for pk, day in sorted(sessions.items(), key=lambda item: item[1]):
        by_monday[day - timedelta(days=day.weekday())].append(pk)
    found = []
    for pks in by_monday.values():
        used = [(at, needs[setup]) for session, setup, at in coupons if session in pks and at]
        students = present.filter(session__in=pks).values("student").distinct().count()
        found.append(Week(sessions[pks[0]], sessions[pks[-1]], used, students))
    return found


class Book:
    """Moves one item through the weeks."""

    def __init__(self, scene: Scene, item: StockItem, by: User, chance: Random) -> None:
        self.scene, self.item, self.by = scene, item, by
        self.pack: Pack = item.packs.get()
        self.waste = item.factor * chance.uniform(0.9, 1.2)
        self.used = 0.0
        self.taken = 0
        self.packs = 0
        self.open: OpenPack | None = None

    def key(self, what: str) -> str:
        return f"demo:{what}:{self.item.pk}"

    def week(self, number: int, week: Week) -> None:
        """Write what the shelf lost in one week, in the way this item is moved."""
        moved = StockItem.MovedBy(self.item.moved_by)
        by_pack = moved in (StockItem.MovedBy.OPEN, StockItem.MovedBy.EXCHANGE)
        self.used += self.item.per_student_week * week.students / self.item.every_weeks
        for at, needs in week.coupons:
            self.used += needs.get(self.item.spec_key, 0.0) * self.waste
            while by_pack and self.used > self.taken:
                self.take_pack(at)
        if by_pack:
            return
        quantity = math.ceil(self.used) - self.taken
        if not quantity:
            return
        is_cut = moved == StockItem.MovedBy.CUT
        self.taken += quantity
        move(
            item=self.item,
            kind=Movement.Kind.CUT if is_cut else Movement.Kind.ISSUE,
            quantity=-quantity,
            key=self.key(f"week {number}"),
            by=self.by,
            on=week.first - timedelta(days=1) if is_cut else week.first,
        )

    def take_pack(self, now: datetime) -> None:
        """Open the next pack, or exchange the cylinder, and close the one before."""
        on = now.astimezone(self.item.campus.zone).date()
        is_gas = self.item.moved_by == StockItem.MovedBy.EXCHANGE
        left = round(RESIDUE * self.pack.size) if is_gas else 0
        self.packs += 1
        if self.open is not None:
            key = self.key(f"finish {self.packs}")
            finish_pack(open_pack=self.open, left=left, key=key, by=self.by, on=on)
            OpenPack.objects.filter(pk=self.open.pk).update(finished_at=now)
        key = self.key(f"open {self.packs}")
        self.open = open_pack(pack=self.pack, key=key, by=self.by, on=on)
        OpenPack.objects.filter(pk=self.open.pk).update(opened_at=now)
        self.taken += self.pack.size - left


def _books(scene: Scene, by: User) -> Iterator[Book]:
    for item in StockItem.objects.filter(campus=scene.campus).select_related("campus"):
        yield Book(scene, item, by, scene.chance(item.name))


@demo_step("inventory.ledger", "Five weeks of stock movements")
def movements(scene: Scene) -> None:
    """Fill the shelves before the term, take from them week by week, count some of them."""
    clerk, instructor = scene.person("clerk"), scene.person("instructor")
    books = {book.item.name: book for book in _books(scene, instructor)}
    found = weeks(scene)
    before = found[0].first - timedelta(days=6)
    for row in stock()["item"]:
        book = books[row["name"]]
        receive_packs(
            pack=book.pack,
            packs=row["opening"],
            key=book.key("opening"),
            by=clerk,
            on=before,
            reason="stock before the term",
        )
    for number, week in enumerate(found):
        for book in books.values():
            book.week(number, week)
    twice = books[TWICE]
    wrong = receive_packs(pack=twice.pack, packs=1, key=twice.key("twice"), by=clerk, on=before)
    reverse(movement=wrong, by=clerk, reason="entered twice", key=twice.key("reverse"))
    for name, share, reason in COUNTS:
        book = books[name]
        book.item.refresh_from_db(fields=["on_hand"])
        count_shelf(
            item=book.item,
            counted=max(0, round(book.item.on_hand * share)),
            key=book.key("count"),
            by=clerk,
            reason=reason,
            on=found[-1].last,
        )
