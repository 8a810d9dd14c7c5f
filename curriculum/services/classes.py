"""Sessions of a class: made from a weekly pattern, lost and found again, with the plan behind."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, time
from typing import TYPE_CHECKING, Any

from django.db import IntegrityError, transaction

from curriculum.core import term_plan
from curriculum.models import Booth, Closure, Session, ShopClass, Teaching
from curriculum.services import plan as plans
from shared.people.audit import audit
from shared.people.models import AuditEntry, Campus, Membership, Role, User

if TYPE_CHECKING:
    from curriculum.services.plan import Moved

STATE_ACTION = "session.state"


class HasHistory(Exception):
    """A session where somebody was present, placed or given work is not removed, but lost."""


class NotInClass(Exception):
    """A student who is not in the class, or not any more."""


class AlreadyThere(Exception):
    """The class has a session at this date and time."""


@dataclass(frozen=True, slots=True)
class PatternPreview:
    """What a weekly pattern gives: sessions to make, those there already, days that are closed."""

    new: tuple[term_plan.SessionSlot, ...]
    there: tuple[term_plan.SessionSlot, ...]
    closed: tuple[Closure, ...]


@transaction.atomic
def save_class(*, shop_class: ShopClass, by: User) -> ShopClass:
    """Store a class; a new one is taught by the instructor who makes it."""
    new = shop_class.pk is None
    shop_class.save()
    if new and by.has_role(Role.INSTRUCTOR, shop_class.campus):
        Teaching.objects.create(shop_class=shop_class, instructor=by)
    audit(by, "class.added" if new else "class.changed", shop_class, campus=shop_class.campus)
    return shop_class


@transaction.atomic
def set_teaching(*, shop_class: ShopClass, instructors: Iterable[User], by: User) -> None:
    """Let exactly these people teach the class."""
    ShopClass.objects.select_for_update().get(pk=shop_class.pk)
    wanted = {person.pk for person in instructors}
    before = set(shop_class.teachings.values_list("instructor", flat=True))
    if wanted == before:
        return
    shop_class.teachings.exclude(instructor__in=wanted).delete()
    Teaching.objects.bulk_create(
        Teaching(shop_class=shop_class, instructor_id=pk) for pk in sorted(wanted - before)
    )
    detail = {"before": sorted(before), "after": sorted(wanted)}
    audit(by, "class.teaching", shop_class, campus=shop_class.campus, detail=detail)


def instructors_of(campus: Campus) -> Any:
    """Return the people who may teach at a campus."""
    members = Membership.objects.filter(campus=campus, role=Role.INSTRUCTOR).values("user")
    return User.objects.present().filter(pk__in=members)


def preview_pattern(
    *,
    shop_class: ShopClass,
    start: date,
    end: date,
    weekdays: Sequence[int],
    starts_at: time,
    ends_at: time,
    net_minutes: int,
) -> PatternPreview:
    """Say which sessions a pattern gives; raise `ValueError` with a sentence for a bad one."""
    closures = {
        row.date: row for row in shop_class.campus.closures.filter(date__gte=start, date__lte=end)
    }
    slots = term_plan.sessions_from_pattern(
        start, end, weekdays, starts_at, ends_at, closures, net_minutes
    )
    known = set(shop_class.sessions.values_list("date", "start"))
    return PatternPreview(
        tuple(slot for slot in slots if (slot.date, slot.start) not in known),
        tuple(slot for slot in slots if (slot.date, slot.start) in known),
        tuple(row for day, row in sorted(closures.items()) if day.weekday() in weekdays),
    )


@transaction.atomic
def make_sessions(*, shop_class: ShopClass, by: User, **pattern: Any) -> int:
    """Make the sessions of a pattern that are not there yet; return how many."""
    ShopClass.objects.select_for_update().get(pk=shop_class.pk)
    new = preview_pattern(shop_class=shop_class, **pattern).new
    Session.objects.bulk_create(
        Session(
            shop_class=shop_class,
            date=slot.date,
            start=slot.start,
            end=slot.end,
            net_minutes=int(slot.net_minutes),
        )
        for slot in new
    )
    if new:
        audit(
            by,
            "sessions.made",
            shop_class,
            campus=shop_class.campus,
            detail={"sessions": len(new)},
        )
    return len(new)


@transaction.atomic
def save_session(*, session: Session, by: User) -> None:
    """Store a new or changed session; raise `AlreadyThere` for a date and time twice."""
    new = session.pk is None
    try:
        with transaction.atomic():
            session.save()
    except IntegrityError:
        raise AlreadyThere from None
    action = "session.added" if new else "session.changed"
    audit(by, action, session, campus=session.shop_class.campus, detail={"date": session.date})


@transaction.atomic
def remove_session(*, session: Session, by: User) -> Moved:
    """Take a session out of the term; what was to begin in it or later moves on.

    Raises `HasHistory` where something is known about it.
    """
    known = (session.attendances, session.places, session.assignments)
    if any(rows.exists() for rows in known) or _in_use(session):
        raise HasHistory
    moved = _shift(session) if session.state == Session.State.PLANNED else plans.Moved()
    audit(
        by,
        "session.removed",
        session.shop_class,
        campus=session.shop_class.campus,
        detail={"date": session.date},
    )
    session.delete()
    return moved


def _in_use(session: Session) -> bool:
    """Whether rows of an app to the right (coupons) name the session."""
    own = {"attendances", "places", "assignments", "plan_entries"}
    return any(
        relation.related_model._base_manager.filter(**{relation.field.name: session}).exists()
        for relation in Session._meta.related_objects
        if relation.get_accessor_name() not in own
    )


@transaction.atomic
def set_session_state(*, session: Session, state: str, by: User, note: str | None = None) -> Moved:
    """Say that a session is lost, theory only or as planned, and move what follows in the plan.

    A session without booth time lets everything from it on begin one session later, once,
    however often it is said; "planned" again puts back what has not been moved since.
    """
    ShopClass.objects.select_for_update().get(pk=session.shop_class_id)
    before = Session.objects.get(pk=session.pk).state
    if before == state:
        return plans.Moved()
    session.state = state
    session.note = session.note if note is None else note
    session.save(update_fields=["state", "note"])
    moved = plans.Moved()
    if before == Session.State.PLANNED:
        moved = _shift(session)
    elif state == Session.State.PLANNED:
        moved = _shift_back(session)
    audit(
        by,
        STATE_ACTION,
        session,
        campus=session.shop_class.campus,
        detail={"before": before, "after": state, **moved.detail()},
    )
    return moved


def _shift(session: Session) -> Moved:
    known = plans.load_plan(session.shop_class)
    place = known.places[session.pk]
    found = term_plan.shift_after_lost(known.entries, known.slots, place)
    return plans.store_targets(known, found.targets)


def _shift_back(session: Session) -> Moved:
    """Undo the shift of this session where nobody has moved the entry since."""
    told = AuditEntry.objects.filter(
        action=STATE_ACTION, target_type=session._meta.label_lower, target_id=str(session.pk)
    )
    last = next((one for one in told if one.detail.get("before") == "planned"), None)
    return plans.put_back(session.shop_class, last.detail if last else {})


def busy_on(campus: Campus, days: Iterable[date]) -> list[Session]:
    """Return the planned sessions of a campus that fall on these days."""
    rows = Session.objects.planned().of_campus(campus).filter(date__in=list(days))
    return list(rows.select_related("shop_class"))


@transaction.atomic
def set_booth_down(*, booth: Booth, down: bool, by: User) -> bool:
    """Say that the machine of a booth is down, or up again; return whether that was news."""
    changed = Booth.objects.filter(pk=booth.pk, is_down=not down).update(is_down=down)
    if changed:
        action = "booth.down" if down else "booth.up"
        audit(by, action, booth, campus=booth.campus)
    booth.is_down = down
    return bool(changed)


def by_number(sessions: Iterable[Session]) -> dict[int, int]:
    """Return the number of each session in its class, from 1, by key."""
    return {session.pk: number for number, session in enumerate(sessions, start=1)}
