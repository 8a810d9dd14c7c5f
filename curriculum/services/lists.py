"""Who is in which class, for the tablets and for who may see whom."""

from __future__ import annotations

from collections.abc import Iterable

from curriculum.models import Enrolment, ShopClass
from shared.people.models import Campus, User
from shared.people.rosters import ClassList


def class_lists(campus: Campus) -> list[ClassList]:
    """Return the classes of the day with who is in them: today's, else those that run."""
    today = campus.today()
    running = ShopClass.objects.filter(campus=campus, starts__lte=today, ends__gte=today)
    classes = list(running.filter(sessions__date=today).distinct()) or list(running)
    rows = (
        Enrolment.objects.present_on(today)
        .filter(shop_class__in=classes, student__is_active=True, student__erased_at=None)
        .select_related("student")
    )
    people: dict[int, list[tuple[int, str]]] = {one.pk: [] for one in classes}
    for row in rows:
        people[row.shop_class_id].append((row.student_id, row.student.name))
    return [(one.name, people[one.pk]) for one in classes if people[one.pk]]


def students_of(instructor: User) -> Iterable[int]:
    """Return who is or was in a class that this person teaches."""
    taught = Enrolment.objects.filter(shop_class__teachings__instructor=instructor)
    return taught.values_list("student", flat=True)
