"""Taking an exercise out of use and back, and throwing a draft away."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import models, transaction
from django.utils import timezone

from curriculum.models import (
    Assignment,
    Exercise,
    ExerciseVersion,
    PlanEntry,
    Prerequisite,
    ShopClass,
)
from shared.people.audit import audit

if TYPE_CHECKING:
    from shared.people.models import User


class StillUsed(Exception):
    """Classes plan an exercise or have it open, or exercises name it; both by their names."""

    def __init__(self, classes: list[str], exercises: list[str]) -> None:
        super().__init__(", ".join([*classes, *exercises]))
        self.classes, self.exercises = classes, exercises


@transaction.atomic
def retire(*, exercise: Exercise, by: User) -> bool:
    """Take an exercise out of library and plan search; return whether it was in use.

    What was earned with it stays. Raises `StillUsed` where a class that is not over plans it or
    has it open, or where the newest version of an exercise in use needs it.
    """
    classes = ShopClass.objects.filter(
        models.Q(
            pk__in=PlanEntry.objects.filter(
                exercise=exercise, shop_class__ends__gte=exercise.campus.today()
            ).values("shop_class")
        )
        | models.Q(pk__in=Assignment.objects.open().filter(exercise=exercise).values("shop_class"))
    )
    needing = Prerequisite.objects.filter(
        exercise=exercise,
        kind=Prerequisite.Kind.NEEDS,
        version__in=ExerciseVersion.objects.newest(),
        version__exercise__retired_at=None,
    )
    _check_unused(list(classes.order_by("name").values_list("name", flat=True)), needing)
    changed = Exercise.objects.filter(pk=exercise.pk, retired_at=None).update(
        retired_at=timezone.now()
    )
    if changed:
        audit(by, "exercise.retired", exercise, campus=exercise.campus)
    return bool(changed)


@transaction.atomic
def bring_back(*, exercise: Exercise, by: User) -> bool:
    """Put a retired exercise into use again; return whether it was retired."""
    changed = Exercise.objects.filter(pk=exercise.pk, retired_at__isnull=False).update(
        retired_at=None
    )
    if changed:
        audit(by, "exercise.brought-back", exercise, campus=exercise.campus)
    return bool(changed)


@transaction.atomic
def discard(*, draft: ExerciseVersion, by: User) -> bool:
    """Throw a draft away; return whether its exercise is still there, as it is once published.

    Raises `StillUsed` where the exercise would go with its only draft and others name it.
    """
    exercise = Exercise.objects.select_for_update().get(pk=draft.exercise_id)
    detail = {"exercise": exercise.pk, "version": draft.version}
    row = exercise.draft()
    if row is None or row.pk != draft.pk:  # published meanwhile: nothing goes
        return True
    kept = exercise.versions.exclude(pk=draft.pk).exists()
    if not kept:
        _check_unused([], Prerequisite.objects.filter(exercise=exercise).exclude(version=draft))
    audit(by, "exercise.draft-discarded", draft, campus=exercise.campus, detail=detail)
    row.delete()
    if not kept:
        exercise.delete()
    return kept


def _check_unused(classes: list[str], naming: models.QuerySet[Prerequisite]) -> None:
    numbers = naming.order_by("version__exercise__number").values_list(
        "version__exercise__number", flat=True
    )
    if exercises := list(dict.fromkeys(numbers)):
        raise StillUsed(classes, exercises)
    if classes:
        raise StillUsed(classes, [])
