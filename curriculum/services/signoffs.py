"""Who holds which sign-off, and which ones exercises ask for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from typing import TYPE_CHECKING

from django.db import models, transaction

from curriculum.core.cautions import signoffs_for
from curriculum.models import PlanEntry, ShopClass, Signoff
from curriculum.services import plan as plans
from curriculum.services.classes import NotInClass
from shared.people.audit import audit
from shared.people.models import User

if TYPE_CHECKING:
    from curriculum.models import ExerciseVersion


def signoffs_of(version: ExerciseVersion) -> list[str]:
    """Return the sign-offs a version needs: those it asks for and those of its machines.

    Criteria are read, so fetch them with many versions.
    """
    return signoffs_for(version, version.criteria.all())


def missing_signoffs(
    shop_class: ShopClass, students: Collection[User], version: ExerciseVersion
) -> dict[int, list[str]]:
    """Return by student key the sign-offs that a version needs and the student lacks."""
    needed = signoffs_of(version)
    held = defaultdict(set)
    for student, name in Signoff.objects.filter(
        campus=shop_class.campus_id, student__in=students, name__in=needed
    ).values_list("student", "name"):
        held[student].add(name)
    return {
        student.pk: [name for name in needed if name not in held[student.pk]]
        for student in students
    }


def signoff_names(shop_class: ShopClass) -> list[str]:
    """Return the sign-offs that the exercises of the class's plan ask for, in their order."""
    exercises = PlanEntry.objects.filter(shop_class=shop_class).values_list("exercise", flat=True)
    versions = plans.newest_versions(exercises)
    models.prefetch_related_objects(list(versions.values()), "criteria")
    needed = (signoffs_of(versions[pk]) for pk in exercises if pk in versions)
    return list(dict.fromkeys(name for names in needed for name in names))


@transaction.atomic
def set_signoff(*, shop_class: ShopClass, student: User, name: str, held: bool, by: User) -> None:
    """Give or take a sign-off; it holds on the whole campus. Raises `NotInClass`."""
    if not shop_class.enrolments.filter(student=student).exists():
        raise NotInClass
    campus = shop_class.campus
    if held:
        signoff, new = Signoff.objects.get_or_create(
            campus=campus,
            student=student,
            name=name,
            defaults={"given_by": by, "given_on": campus.today()},
        )
        if new:
            audit(by, "signoff.given", signoff, campus=campus, detail={"student": student.pk})
        return
    rows = Signoff.objects.filter(campus=campus, student=student, name=name)
    for signoff in rows:
        audit(by, "signoff.taken", signoff, campus=campus, detail={"student": student.pk})
    rows.delete()
