"""What a class should do, who was given what, and who stands in which booth."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from .classes import Booth, Session, ShopClass
from .library import Exercise

if TYPE_CHECKING:
    from shared.people.models import User


class PlanEntry(models.Model):
    """An exercise in a class's term plan, with the setups it requires (none named: all)."""

    shop_class = models.ForeignKey(ShopClass, models.CASCADE, related_name="plan_entries")
    exercise = models.ForeignKey(Exercise, models.PROTECT, related_name="plan_entries")
    position = models.PositiveIntegerField(default=0)
    required_setups = models.JSONField(_("required setups"), default=list, blank=True)
    target_session = models.ForeignKey(
        Session, models.SET_NULL, null=True, blank=True, related_name="plan_entries"
    )

    class Meta:
        ordering = ["position", "pk"]
        verbose_name_plural = "plan entries"
        constraints = [
            models.UniqueConstraint(fields=["shop_class", "exercise"], name="planentry_once"),
        ]

    def __str__(self) -> str:
        return f"{self.shop_class_id} {self.exercise}"


class AssignmentQuerySet(models.QuerySet["Assignment"]):
    def visible_to(self, user: User) -> Self:
        """A student's own; those of the classes an instructor teaches or a manager runs."""
        return self.filter(
            models.Q(student=user) | models.Q(shop_class__in=ShopClass.objects.taught_by(user))
        )

    def open(self) -> Self:
        return self.filter(state=Assignment.State.OPEN)


class Assignment(models.Model):
    """An exercise setup given to a student; open until passed, credited, moved on or withdrawn."""

    class State(models.TextChoices):
        OPEN = "open", _("open")
        DONE = "done", _("done")
        WITHDRAWN = "withdrawn", _("withdrawn")

    shop_class = models.ForeignKey(ShopClass, models.PROTECT, related_name="assignments")
    student = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="assignments"
    )
    exercise = models.ForeignKey(Exercise, models.PROTECT, related_name="assignments")
    setup_key = models.CharField(_("setup"), max_length=40)
    session = models.ForeignKey(
        Session, models.SET_NULL, null=True, blank=True, related_name="assignments"
    )
    state = models.CharField(max_length=10, choices=State, default=State.OPEN)
    assigned_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    assigned_at = models.DateTimeField(auto_now_add=True)
    closed_at = models.DateTimeField(null=True, blank=True)

    objects = AssignmentQuerySet.as_manager()

    class Meta:
        ordering = ["assigned_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["shop_class", "student", "exercise", "setup_key"],
                condition=models.Q(state="open"),
                name="assignment_one_open",
                violation_error_message=_("The student has this setup already."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.student_id} {self.exercise} {self.setup_key}"


class Place(models.Model):
    """The booth a student has in a session."""

    session = models.ForeignKey(Session, models.CASCADE, related_name="places")
    student = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="places")
    booth = models.ForeignKey(Booth, models.PROTECT, related_name="places")
    by_hand = models.BooleanField(_("set by hand"), default=False)

    class Meta:
        ordering = ["booth__row", "booth__column", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["session", "booth"],
                name="place_booth_once",
                violation_error_message=_("This booth is taken in this session."),
            ),
            models.UniqueConstraint(fields=["session", "student"], name="place_student_once"),
        ]

    def __str__(self) -> str:
        return f"{self.session_id} {self.booth_id} {self.student_id}"
