"""Classes: who is in them, who teaches them, when and where they meet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from django.conf import settings
from django.db import models
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from curriculum.core.machines import LARGEST, Machine
from shared.fields import MeasureField

if TYPE_CHECKING:
    from datetime import date

    from shared.people.models import Campus, User


class Booth(models.Model):
    """A place to weld, with the processes its machines can do."""

    campus = models.ForeignKey("people.Campus", models.PROTECT, related_name="booths")
    name = models.CharField(_("name"), max_length=20)
    row = models.PositiveSmallIntegerField(_("row on the floor plan"), default=1)
    column = models.PositiveSmallIntegerField(_("column on the floor plan"), default=1)
    processes = models.JSONField(_("processes"), default=list)
    is_down = models.BooleanField(_("machine down"), default=False)
    note = models.CharField(_("note"), max_length=200, blank=True)

    class Meta:
        ordering = ["row", "column", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["campus", "name"], name="booth_name_once"),
            models.UniqueConstraint(
                fields=["campus", "row", "column"],
                name="booth_place_once",
                violation_error_message=_("Another booth stands at this place of the plan."),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class BoothMachine(models.Model):
    """What a booth's machine gives on one process, off its rating plate."""

    booth = models.ForeignKey(Booth, models.CASCADE, related_name="machines")
    process = models.CharField(_("process"), max_length=10)
    rated_current_a: float  # columns of the quantities below
    duty_ratio: float
    largest_current_a: float
    rated_current = MeasureField("current", high=LARGEST, null=False, bare_unit="A")
    duty = MeasureField("fraction", high=1, null=False, bare_unit="%")
    largest_current = MeasureField("current", high=LARGEST, null=False, bare_unit="A")

    class Meta:
        ordering = ["process", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["booth", "process"], name="boothmachine_process_once"),
            models.CheckConstraint(
                condition=models.Q(
                    rated_current_a__gt=0,
                    duty_ratio__gt=0,
                    largest_current_a__gte=models.F("rated_current_a"),
                ),
                name="boothmachine_plate",
                violation_error_message=_("The largest output is at least the rated one."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.process} {self.rated_current_a:g} A"

    @property
    def percent(self) -> float:
        """The duty cycle as a rating plate writes it."""
        return 100 * self.duty_ratio

    @property
    def plate(self) -> Machine:
        """The rating as the setup check takes it."""
        return Machine(
            process=self.process,
            rated_current=self.rated_current_a,
            duty=self.duty_ratio,
            largest_current=self.largest_current_a,
        )


class Closure(models.Model):
    """A date on which a campus has no shop."""

    campus = models.ForeignKey("people.Campus", models.PROTECT, related_name="closures")
    date = models.DateField(_("date"))
    label = models.CharField(_("reason"), max_length=80, blank=True)

    class Meta:
        ordering = ["date"]
        constraints = [
            models.UniqueConstraint(fields=["campus", "date"], name="closure_once"),
        ]

    def __str__(self) -> str:
        return f"{self.date} {self.label}"


class ShopClassQuerySet(models.QuerySet["ShopClass"]):
    def visible_to(self, user: User) -> Self:
        """A student's own, an instructor's own, the campus's for clerk and manager."""
        if user.only_student:
            return self.filter(enrolments__student=user).distinct()
        return self.filter(
            models.Q(enrolments__student=user)
            | models.Q(teachings__instructor=user)
            | models.Q(
                campus__memberships__user=user,
                campus__memberships__role__in=["clerk", "manager"],
            )
        ).distinct()

    def taught_by(self, user: User) -> Self:
        """Those the user teaches, and the campus's for a manager; none in a PIN session."""
        if user.only_student:
            return self.none()
        return self.filter(
            models.Q(teachings__instructor=user)
            | models.Q(campus__memberships__user=user, campus__memberships__role="manager")
        ).distinct()


class ShopClass(models.Model):
    """A class of students that meets in the shop for a term."""

    class Pace(models.TextChoices):
        OWN = "own", _("each at their own pace")
        CLASS = "class", _("with the class, session by session")

    campus = models.ForeignKey("people.Campus", models.PROTECT, related_name="classes")
    name = models.CharField(_("name"), max_length=80)
    starts = models.DateField(_("first day"))
    ends = models.DateField(_("last day"))
    pace = models.CharField(_("pace"), max_length=5, choices=Pace, default=Pace.OWN)
    attempt_cap = models.PositiveSmallIntegerField(_("attempts before moving on"), default=6)
    redo_odds = models.FloatField(_("odds gained by each redo"), default=1.5)
    opinion_weight = models.FloatField(_("weight of the library's chance, in coupons"), default=8)
    attendance = models.FloatField(_("share of students present"), default=0.9)
    closed_at = models.DateTimeField(null=True, blank=True)

    objects = ShopClassQuerySet.as_manager()

    class Meta:
        ordering = ["-starts", "name"]
        verbose_name_plural = "shop classes"
        constraints = [
            models.UniqueConstraint(fields=["campus", "name"], name="shopclass_name_once"),
            models.CheckConstraint(
                condition=models.Q(ends__gte=models.F("starts")),
                name="shopclass_dates",
                violation_error_message=_("The last day cannot stand before the first."),
            ),
            models.CheckConstraint(
                condition=models.Q(
                    attempt_cap__gte=1,
                    attempt_cap__lte=20,
                    redo_odds__gt=0,
                    redo_odds__lte=10,
                    opinion_weight__gt=0,
                    opinion_weight__lte=1_000,
                    attendance__gte=0,
                    attendance__lte=1,
                ),
                name="shopclass_figures",
                violation_error_message=_("Attempts 1 to 20, odds to 10, share 0 to 1."),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("curriculum:shop_class", args=[self.pk])


class Teaching(models.Model):
    shop_class = models.ForeignKey(ShopClass, models.CASCADE, related_name="teachings")
    instructor = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="teachings"
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["shop_class", "instructor"], name="teaching_once"),
        ]

    def __str__(self) -> str:
        return f"{self.instructor_id} {self.shop_class_id}"


class EnrolmentQuerySet(models.QuerySet["Enrolment"]):
    def staying(self, day: date) -> Self:
        """Those who have not left by `day`, also who joins later."""
        return self.filter(models.Q(left__isnull=True) | models.Q(left__gt=day))

    def present_on(self, day: date) -> Self:
        """Those whose dates in the class include `day`."""
        joined = models.Q(joined__isnull=True) | models.Q(joined__lte=day)
        return self.staying(day).filter(joined)


class Enrolment(models.Model):
    """A student in a class; leavers are kept."""

    shop_class = models.ForeignKey(ShopClass, models.PROTECT, related_name="enrolments")
    student = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="enrolments")
    code = models.CharField(_("letters for the coupon mark"), max_length=4)
    group = models.CharField(_("group"), max_length=20, blank=True)
    joined = models.DateField(_("first day in the class"), null=True, blank=True)
    left = models.DateField(_("first day no longer in it"), null=True, blank=True)
    attendance = models.FloatField(_("share of sessions present"), null=True, blank=True)

    objects = EnrolmentQuerySet.as_manager()

    class Meta:
        ordering = ["student__sort_name", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["shop_class", "student"], name="enrolment_once"),
            models.UniqueConstraint(fields=["shop_class", "code"], name="enrolment_code_once"),
            models.CheckConstraint(
                condition=models.Q(attendance__isnull=True)
                | models.Q(attendance__gte=0, attendance__lte=1),
                name="enrolment_attendance",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.shop_class_id}"


class SessionQuerySet(models.QuerySet["Session"]):
    def planned(self) -> Self:
        return self.filter(state=Session.State.PLANNED)

    def of_campus(self, campus: Campus) -> Self:
        return self.filter(shop_class__campus=campus)


class Session(models.Model):
    """One shop meeting: a local date with start and end in the campus's zone."""

    class State(models.TextChoices):
        PLANNED = "planned", _("planned")
        THEORY = "theory", _("theory only")
        LOST = "lost", _("lost")

    shop_class = models.ForeignKey(ShopClass, models.CASCADE, related_name="sessions")
    date = models.DateField(_("date"))
    start = models.TimeField(_("start"))
    end = models.TimeField(_("end"))
    net_minutes = models.PositiveIntegerField(_("minutes at the booth"))
    state = models.CharField(_("state"), max_length=10, choices=State, default=State.PLANNED)
    note = models.CharField(_("note"), max_length=200, blank=True)

    objects = SessionQuerySet.as_manager()

    class Meta:
        ordering = ["date", "start", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["shop_class", "date", "start"], name="session_once"),
            models.CheckConstraint(
                condition=models.Q(end__gt=models.F("start")),
                name="session_times",
                violation_error_message=_("A session ends after it starts."),
            ),
            models.CheckConstraint(
                condition=models.Q(net_minutes__lte=1_440), name="session_minutes"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.date:%Y-%m-%d}"

    def get_absolute_url(self) -> str:
        return reverse("grading:session", args=[self.pk])


class Attendance(models.Model):
    """Whether a student was in a session; no row: not said."""

    session = models.ForeignKey(Session, models.CASCADE, related_name="attendances")
    student = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="attendances"
    )
    present = models.BooleanField(_("present"))

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["session", "student"], name="attendance_once"),
        ]

    def __str__(self) -> str:
        return f"{self.session_id} {self.student_id} {self.present}"


class Signoff(models.Model):
    """A safety sign-off that a student holds on a campus."""

    campus = models.ForeignKey("people.Campus", models.PROTECT, related_name="signoffs")
    student = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="signoffs")
    name = models.CharField(_("sign-off"), max_length=60)
    given_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    given_on = models.DateField(_("given on"))

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["campus", "student", "name"], name="signoff_once"),
        ]

    def __str__(self) -> str:
        return self.name
