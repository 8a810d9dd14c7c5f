"""What came out: attempts with their readings, verdicts and decisions.

Readings, verdicts and decisions are append-only, the database refuses updates; the last one counts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from django.conf import settings
from django.db import models
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from curriculum.models import Assignment, Criterion, Exercise, Session, Setup, ShopClass
from grading.core.verdict import Reading as Taken
from shared.fields import RangeField

if TYPE_CHECKING:
    from shared.people.models import User


class AttemptQuerySet(models.QuerySet["Attempt"]):
    def visible_to(self, user: User) -> Self:
        """A student's own; those of the classes an instructor teaches or a manager runs."""
        return self.filter(
            models.Q(student=user) | models.Q(shop_class__in=ShopClass.objects.taught_by(user))
        )

    def running(self) -> Self:
        """Those that are welded or wait for their verdict; an assignment has one at most."""
        return self.filter(state__in=(Attempt.State.STARTED, Attempt.State.LOGGED))

    def to_judge(self) -> Self:
        """Logged and not yet judged, oldest first."""
        return self.filter(state=Attempt.State.LOGGED).order_by("logged_at", "pk")

    def for_grading(self) -> Self:
        """With what a grading page shows."""
        return self.select_related(
            "student", "shop_class", "assignment__exercise", "setup__version__exercise", "session"
        ).prefetch_related(
            "setup__version__criteria", "setup__passes", "setup__pieces", "readings", "verdicts"
        )


class Attempt(models.Model):
    """One coupon. It pins the setup of the version that was newest when it was started."""

    class State(models.TextChoices):
        STARTED = "started", _("working on it")
        LOGGED = "logged", _("to be judged")
        JUDGED = "judged", _("judged")
        VOID = "void", _("void")

    assignment = models.ForeignKey(Assignment, models.PROTECT, related_name="attempts")
    shop_class = models.ForeignKey(ShopClass, models.PROTECT, related_name="attempts")
    student = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="attempts")
    setup = models.ForeignKey(Setup, models.PROTECT, related_name="attempts")
    session = models.ForeignKey(
        Session, models.SET_NULL, null=True, blank=True, related_name="attempts"
    )
    number = models.PositiveSmallIntegerField(_("coupon"))
    mark = models.CharField(_("mark"), max_length=16)
    state = models.CharField(max_length=10, choices=State, default=State.STARTED)
    started_at = models.DateTimeField()
    logged_at = models.DateTimeField(null=True, blank=True)
    logged_on_paper = models.BooleanField(default=False)
    used_current = RangeField("current", high=2_000)
    used_voltage = RangeField("voltage", high=1_000)
    used_travel_speed = RangeField("speed", high=2)
    used_rods = models.FloatField(_("rods or electrodes used"), null=True, blank=True)
    used_practice_pieces = models.PositiveSmallIntegerField(
        _("practice pieces"), null=True, blank=True
    )
    own_note = models.TextField(_("what I saw"), blank=True)

    objects = AttemptQuerySet.as_manager()

    class Meta:
        ordering = ["started_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["assignment", "number"], name="attempt_number_once"),
            models.UniqueConstraint(
                fields=["shop_class", "mark"],
                name="attempt_mark_once",
                violation_error_message=_("This mark is on another coupon of the class."),
            ),
            models.UniqueConstraint(
                fields=["assignment"],
                condition=models.Q(state__in=["started", "logged"]),
                name="attempt_one_running",
                violation_error_message=_("The last coupon is not judged yet."),
            ),
            models.CheckConstraint(
                condition=models.Q(number__gte=1, number__lte=200), name="attempt_number"
            ),
            models.CheckConstraint(
                condition=models.Q(used_rods__isnull=True)
                | models.Q(used_rods__gte=0, used_rods__lte=1_000),
                name="attempt_rods",
                violation_error_message=_("Rods used lie between 0 and 1000."),
            ),
        ]

    def __str__(self) -> str:
        return self.mark

    def get_absolute_url(self) -> str:
        return reverse("grading:attempt", args=[self.pk])

    @property
    def current_verdict(self) -> Verdict | None:
        """The verdict that counts; no query where verdicts are prefetched."""
        return next(reversed(self.verdicts.all()), None)


class HoldTap(models.Model):
    """An instructor has looked at a hold point of an attempt."""

    attempt = models.ForeignKey(Attempt, models.CASCADE, related_name="hold_taps")
    position = models.PositiveSmallIntegerField()
    text = models.CharField(max_length=200)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["attempt", "position"], name="holdtap_once"),
        ]

    def __str__(self) -> str:
        return self.text


class Reading(models.Model):
    """One value taken on one criterion: SI in `value`, or `passed`, or `detail` for a bend.

    The last row of an attempt, criterion and side (own or the instructor's) counts.
    """

    attempt = models.ForeignKey(Attempt, models.PROTECT, related_name="readings")
    criterion = models.ForeignKey(Criterion, models.PROTECT, related_name="readings")
    own = models.BooleanField(_("the student's own"), default=False)
    value = models.FloatField(null=True, blank=True)
    passed = models.BooleanField(null=True, blank=True)
    detail = models.JSONField(default=dict, blank=True)
    typed = models.CharField(max_length=40, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(value__isnull=True)
                | models.Q(value__gte=-1_000_000, value__lte=1_000_000),
                name="reading_value",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.attempt_id} {self.criterion_id}"

    @property
    def taken(self) -> Taken:
        """The reading as the core judges it."""
        return Taken(value=self.value, passed=self.passed, detail=self.detail)


class Verdict(models.Model):
    """What came of an attempt, with why; the last row of an attempt is the current one."""

    class Kind(models.TextChoices):
        PASS = "pass", _("pass")
        REDO = "redo", _("redo")
        VOID = "void", _("void")

    attempt = models.ForeignKey(Attempt, models.PROTECT, related_name="verdicts")
    kind = models.CharField(max_length=10, choices=Kind)
    computed = models.CharField(max_length=12, blank=True)  # what the rubric said
    score = models.FloatField(null=True, blank=True)
    why = models.TextField(blank=True)  # computed, as a sentence
    cure = models.TextField(blank=True)
    reason = models.CharField(_("reason"), max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(score__isnull=True) | models.Q(score__gte=0, score__lte=1),
                name="verdict_score",
            ),
            models.CheckConstraint(
                condition=models.Q(kind=models.F("computed"))
                | ~models.Q(reason="")
                | models.Q(computed=""),
                name="verdict_overruled_with_reason",
                violation_error_message=_("Say why you overrule the rubric."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.attempt_id} {self.kind}"


class Decision(models.Model):
    """A setup counted as done without a passing coupon, or that taken back; the last one counts."""

    class Kind(models.TextChoices):
        CREDITED = "credited", _("credited")
        MOVED_ON = "moved_on", _("moved on")
        WITHDRAWN = "withdrawn", _("taken back")

    shop_class = models.ForeignKey(ShopClass, models.PROTECT, related_name="decisions")
    student = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="decisions")
    exercise = models.ForeignKey(Exercise, models.PROTECT, related_name="decisions")
    setup_key = models.CharField(max_length=40)
    kind = models.CharField(max_length=10, choices=Kind)
    reason = models.CharField(_("reason"), max_length=300)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(reason=""),
                name="decision_reason",
                violation_error_message=_("Say why."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.student_id} {self.exercise} {self.kind}"


class PracticeLook(models.Model):
    """An instructor looked at practice, without a grade."""

    assignment = models.ForeignKey(Assignment, models.PROTECT, related_name="practice_looks")
    session = models.ForeignKey(Session, models.SET_NULL, null=True, blank=True, related_name="+")
    note = models.CharField(_("note"), max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.assignment_id} {self.at}"
