"""The term plan of a class: loaded in a constant number of queries, moved, shifted, put back."""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from django.db import models, transaction

from curriculum.core import booth_load, term_plan
from curriculum.core.sentence import Sentence as _
from curriculum.core.term_plan import Booth, Entry, IllegalMove, SessionSlot
from curriculum.models import (
    Exercise,
    ExerciseVersion,
    PlanEntry,
    Prerequisite,
    Session,
    ShopClass,
)
from shared.people.audit import audit
from shared.people.models import AuditEntry

if TYPE_CHECKING:
    from shared.people.models import User

TARGETS_ACTION = "plan.targets"


class NotPublished(Exception):
    """Only an exercise with a published version can be planned and given to a class."""


@dataclass(frozen=True, slots=True)
class Moved:
    """Entries whose target session changed: from and to; None stands for no session."""

    changes: Sequence[tuple[PlanEntry, Session | None, Session | None]] = ()

    @property
    def past_the_end(self) -> list[PlanEntry]:
        """Those that found no session any more."""
        return [entry for entry, _before, after in self.changes if after is None]

    def detail(self) -> dict[str, Any]:
        """Return what an audit row needs to put everything back."""
        return {
            "moved": [
                [entry.pk, before.pk if before else None, after.pk if after else None]
                for entry, before, after in self.changes
            ]
        }


@dataclass(frozen=True, kw_only=True)
class ClassPlan:
    """A class's plan as rows and as the core sees it; `places` gives a session's place by key."""

    shop_class: ShopClass
    rows: Sequence[PlanEntry]
    sessions: Sequence[Session]
    slots: Sequence[SessionSlot]
    entries: Sequence[Entry]
    booths: Sequence[Booth]
    students: int
    versions: Mapping[int, ExerciseVersion]  # by exercise
    places: Mapping[int, int] = field(default_factory=dict)

    def row(self, entry: Hashable) -> PlanEntry:
        """Return the row of an entry of the core."""
        return next(row for row in self.rows if row.pk == entry)

    def load(self) -> list[booth_load.WeekLoad]:
        """Return needed and available booth minutes by week."""
        return booth_load.load(
            self.entries, self.slots, self.booths, self.students, **self.chances()
        )

    def minutes(self, entry: Entry) -> float:
        """Return the booth minutes an entry takes the class."""
        return booth_load.booth_minutes(entry, self.students, **self.chances())

    def chances(self) -> dict[str, Any]:
        """Return how a class repeats and when it moves on."""
        return {"redo_odds": self.shop_class.redo_odds, "cap": self.shop_class.attempt_cap}


def load_plan(shop_class: ShopClass, *, to_do: Mapping[int, int] | None = None) -> ClassPlan:
    """Load what a plan is made of, in eight queries.

    `to_do` says how many students still have an entry before them, by its key; where nothing is
    said it is every student who has not left the class.
    """
    rows = list(shop_class.plan_entries.select_related("exercise"))
    versions = newest_versions([row.exercise_id for row in rows])
    sessions = list(shop_class.sessions.all())
    places = {session.pk: place for place, session in enumerate(sessions)}
    return ClassPlan(
        shop_class=shop_class,
        rows=rows,
        sessions=sessions,
        places=places,
        slots=[_slot(session) for session in sessions],
        entries=[_entry(row, versions.get(row.exercise_id), places, to_do or {}) for row in rows],
        booths=booths_of(shop_class),
        students=shop_class.enrolments.staying(shop_class.campus.today()).count(),
        versions=versions,
    )


def newest_versions(exercises: Iterable[int]) -> dict[int, ExerciseVersion]:
    """Return the newest published version of each exercise, with its setups and its needs."""
    versions = (
        ExerciseVersion.objects.newest_published()
        .filter(exercise__in=list(exercises))
        .select_related("exercise")
        .prefetch_related(
            models.Prefetch(
                "prerequisites",
                Prerequisite.objects.filter(kind=Prerequisite.Kind.NEEDS).select_related(
                    "exercise"
                ),
                to_attr="needed",
            ),
            "setups",
        )
    )
    return {version.exercise_id: version for version in versions}


def needs_of(version: ExerciseVersion) -> list[Exercise]:
    """Return the exercises a version needs, as `newest_versions` loaded them."""
    needed: list[Prerequisite] = version.needed  # type: ignore[attr-defined]
    return [row.exercise for row in needed]


def booths_of(shop_class: ShopClass, *, without: Collection[str] = ()) -> list[Booth]:
    """Return the booths of a class's campus as the core sees them."""
    return [
        Booth(name=booth.name, processes=frozenset(booth.processes), is_down=booth.is_down)
        for booth in shop_class.campus.booths.all()
        if booth.name not in without
    ]


def setup_keys(row: PlanEntry, version: ExerciseVersion | None) -> list[str]:
    """Return the setups an entry requires: those named, where none is named all there are."""
    there = [setup.key for setup in version.setups.all()] if version else []
    return [key for key in there if key in row.required_setups] or there


def _slot(session: Session) -> SessionSlot:
    return SessionSlot(
        date=session.date,
        start=session.start,
        end=session.end,
        net_minutes=session.net_minutes,
        state=session.state,
    )


def _entry(
    row: PlanEntry,
    version: ExerciseVersion | None,
    places: Mapping[int, int],
    to_do: Mapping[int, int],
) -> Entry:
    target = places.get(row.target_session_id) if row.target_session_id else None
    if version is None:  # never published: nothing is known of what it takes
        return Entry(
            id=row.pk,
            number=row.exercise.number,
            process="",
            minutes=1,
            first_pass=1,
            setups=0,
            target=target,
        )
    return Entry(
        id=row.pk,
        number=row.exercise.number,
        title=version.title,
        process=version.process,
        needs=tuple(exercise.number for exercise in needs_of(version)),
        setups=len(setup_keys(row, version)),
        minutes=version.minutes,
        practice_minutes=version.practice_minutes,
        first_pass=version.first_pass,
        target=target,
        to_do=to_do.get(row.pk),
    )


# -- writes -----------------------------------------------------------------------------------


def _locked(shop_class: ShopClass) -> ClassPlan:
    ShopClass.objects.select_for_update().get(pk=shop_class.pk)  # one change at a time
    return load_plan(shop_class)


def renumber(rows: Sequence[PlanEntry]) -> None:
    """Give the entries of a plan the positions 0, 1, 2 … in this order."""
    for position, row in enumerate(rows):
        row.position = position
    PlanEntry.objects.bulk_update(rows, ["position"])


def store_targets(known: ClassPlan, targets: Mapping[Hashable, int | None]) -> Moved:
    """Write new targets, places in the sessions; return what changed."""
    changes: list[tuple[PlanEntry, Session | None, Session | None]] = []
    for row, entry in zip(known.rows, known.entries, strict=True):
        target = targets.get(row.pk, entry.target)
        if target == entry.target:
            continue
        before = None if entry.target is None else known.sessions[entry.target]
        after = None if target is None else known.sessions[target]
        row.target_session = after
        changes.append((row, before, after))
    PlanEntry.objects.bulk_update([row for row, _before, _after in changes], ["target_session"])
    return Moved(tuple(changes))


def put_back(shop_class: ShopClass, detail: Mapping[str, Any]) -> Moved:
    """Give entries the targets they had before a change, where nobody has moved them since."""
    known = _locked(shop_class)
    there = {row.pk: row for row in known.rows}
    targets: dict[Hashable, int | None] = {}
    for pk, before, after in detail.get("moved", []):
        row = there.get(pk)
        if row and row.target_session_id == after and (before is None or before in known.places):
            targets[pk] = None if before is None else known.places[before]
    return store_targets(known, targets)


@transaction.atomic
def add_entry(*, shop_class: ShopClass, exercise: Exercise, by: User) -> tuple[PlanEntry, bool]:
    """Put an exercise at the end of the plan, or before the first that needs it.

    Returns the entry, and whether it is new. Raises `NotPublished`.
    """
    known = _locked(shop_class)
    there = next((row for row in known.rows if row.exercise_id == exercise.pk), None)
    if there is not None:
        return there, False
    if exercise.campus_id != shop_class.campus_id or exercise.newest_published() is None:
        raise NotPublished
    waiting = [n for n, entry in enumerate(known.entries) if exercise.number in entry.needs]
    place = waiting[0] if waiting else len(known.rows)
    row = PlanEntry.objects.create(shop_class=shop_class, exercise=exercise, position=place)
    renumber([*known.rows[:place], row, *known.rows[place:]])
    _told(by, "plan.added", row)
    return row, True


@transaction.atomic
def remove_entry(*, entry: PlanEntry, by: User) -> None:
    """Take an exercise out of the plan; what was assigned and what came of it stays."""
    shop_class = entry.shop_class
    known = _locked(shop_class)
    _told(by, "plan.removed", entry)
    renumber([row for row in known.rows if row.pk != entry.pk])
    entry.delete()


@transaction.atomic
def move_entry(*, entry: PlanEntry, to: str | int, by: User) -> None:
    """Move an entry up, down or to a place from 0; raise `IllegalMove` with why it may not."""
    known = _locked(entry.shop_class)
    moved = term_plan.move(known.entries, entry.pk, to)
    renumber([known.row(one.id) for one in moved])
    store_targets(known, {one.id: one.target for one in moved})
    _told(by, "plan.moved", entry)


@transaction.atomic
def target_entry(*, entry: PlanEntry, to: str | Session | None, by: User) -> Moved:
    """Let an entry begin in a session, in none, or one planned session "earlier" or "later".

    Raises `IllegalMove` where that session is none of the class, or comes before what it needs.
    """
    known = _locked(entry.shop_class)
    [here] = [one for one in known.entries if one.id == entry.pk]
    target = _next_target(known, here, to) if isinstance(to, str) else None
    if isinstance(to, Session):
        if to.pk not in known.places:
            raise IllegalMove(_("This session is not of this class."))
        target = known.places[to.pk]
    changed = term_plan.set_target(known.entries, entry.pk, target)
    moved = store_targets(known, {one.id: one.target for one in changed})
    _targets_told(by, known.shop_class, moved)
    return moved


def _next_target(known: ClassPlan, here: Entry, to: str) -> int:
    planned = [n for n, slot in enumerate(known.slots) if slot.state == term_plan.PLANNED]
    if here.target is None:  # not placed: where the one before it in the plan begins
        before = [one.target for one in known.entries[: known.entries.index(here)]]
        start = max((one for one in before if one is not None), default=0)
        found = [n for n in planned if n >= start]
    elif to == "earlier":
        found = [n for n in reversed(planned) if n < here.target]
    else:
        found = [n for n in planned if n > here.target]
    if not found:
        words = (
            _("%(label)s begins in the first session already.", label=here.label)
            if to == "earlier"
            else _("%(label)s begins in the last session already.", label=here.label)
        )
        raise IllegalMove(words)
    return found[0]


@transaction.atomic
def require_setups(*, entry: PlanEntry, keys: Sequence[str], by: User) -> None:
    """Say which setups an entry requires; none, or all there are, means all."""
    version = newest_versions([entry.exercise_id]).get(entry.exercise_id)
    there = [setup.key for setup in version.setups.all()] if version else []
    chosen = [key for key in there if key in keys]
    entry.required_setups = [] if len(chosen) == len(there) else chosen
    entry.save(update_fields=["required_setups"])
    _told(by, "plan.setups", entry)


@transaction.atomic
def suggest(*, shop_class: ShopClass, today: date, by: User) -> tuple[Moved, list[Entry]]:
    """Spread what has not begun evenly over the sessions from `today`, in the plan's order.

    An entry whose session has passed stays where it is. Returns what moved, and what found no
    room and has no session now. `undo_targets` takes it back.
    """
    known = _locked(shop_class)
    begun = {
        one.id
        for one in known.entries
        if one.target is not None and known.sessions[one.target].date < today
    }
    to_come = [one for one in known.entries if one.id not in begun]
    slots = [
        slot if slot.date >= today else replace(slot, state=term_plan.LOST) for slot in known.slots
    ]
    found = booth_load.suggest_targets(
        to_come, slots, known.booths, known.students, **known.chances()
    )
    moved = store_targets(known, found.targets)
    _targets_told(by, shop_class, moved)
    return moved, list(found.past_the_end)


def last_targets(shop_class: ShopClass) -> AuditEntry | None:
    """Return the last change of targets of this class, where it moved more than one entry."""
    told = AuditEntry.objects.filter(
        action__startswith=TARGETS_ACTION,
        target_type=shop_class._meta.label_lower,
        target_id=str(shop_class.pk),
    ).first()
    if told is None or told.action != TARGETS_ACTION or len(told.detail.get("moved", [])) < 2:
        return None
    return told


@transaction.atomic
def undo_targets(*, shop_class: ShopClass, by: User) -> Moved:
    """Take back the last change of several targets."""
    told = last_targets(shop_class)
    moved = put_back(shop_class, told.detail if told else {})
    audit(by, f"{TARGETS_ACTION}.undone", shop_class, campus=shop_class.campus)
    return moved


def _targets_told(by: User, shop_class: ShopClass, moved: Moved) -> None:
    if moved.changes:
        audit(by, TARGETS_ACTION, shop_class, campus=shop_class.campus, detail=moved.detail())


def _told(by: User, action: str, entry: PlanEntry) -> None:
    audit(by, action, entry, campus=entry.shop_class.campus, detail={"exercise": entry.exercise_id})
