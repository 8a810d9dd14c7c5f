"""The library: exercises, their frozen versions, and what a version says."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from django.conf import settings
from django.db import models
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from shared.fields import MeasureField, RangeField, quantity_constraints
from shared.text import fold

if TYPE_CHECKING:
    from shared.people.models import Campus, User

EDITORS = ("instructor", "manager")  # roles that write the library
LENGTH_MAX_M = 10.0
CURRENT_MAX_A = 2_000.0
VOLTAGE_MAX_V = 1_000.0
SPEED_MAX_M_S = 2.0
FLOW_MAX_M3_S = 0.1
TIME_MAX_S = 86_400.0
PRESSURE_MAX_PA = 4e7
ANGLE_MAX_DEG = 360.0
TEMPERATURE_MAX_K = 2_000.0


def _readable_by(user: User, exercise: str, state: str) -> models.Q:
    """What instructors and managers of a campus may read, and what is published for the rest.

    `exercise` and `state` are the look-ups that lead to the exercise ("" for itself) and state.
    """
    edited = [campus for campus, role in user.held if role in EDITORS]
    return models.Q(**{f"{exercise}campus__in": edited}) | models.Q(
        **{f"{exercise}campus__in": user.campus_ids, state: ExerciseVersion.State.PUBLISHED}
    )


class ExerciseQuerySet(models.QuerySet["Exercise"]):
    def visible_to(self, user: User) -> Self:
        """Those with a version the user may read."""
        return self.filter(_readable_by(user, "", "versions__state")).distinct()

    def editable_by(self, user: User) -> Self:
        """Those of the campuses where the user instructs or manages."""
        return self.filter(campus__in=[campus for campus, role in user.held if role in EDITORS])

    def of_campus(self, campus: Campus) -> Self:
        return self.filter(campus=campus)

    def published(self) -> Self:
        return self.filter(versions__state=ExerciseVersion.State.PUBLISHED).distinct()


class Exercise(models.Model):
    """One job practice of a campus; what it says stands in its versions."""

    campus = models.ForeignKey("people.Campus", models.PROTECT, related_name="exercises")
    number = models.CharField(_("number"), max_length=20)
    created_at = models.DateTimeField(auto_now_add=True)
    retired_at = models.DateTimeField(null=True, blank=True)

    objects = ExerciseQuerySet.as_manager()

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(
                fields=["campus", "number"],
                name="exercise_number_once",
                violation_error_message=_("This number is taken in the library."),
            ),
        ]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        return reverse("curriculum:exercise", args=[self.pk])

    def newest_published(self) -> ExerciseVersion | None:
        return (
            self.versions.filter(state=ExerciseVersion.State.PUBLISHED).order_by("-version").first()
        )

    def draft(self) -> ExerciseVersion | None:
        return self.versions.filter(state=ExerciseVersion.State.DRAFT).first()


class ExerciseVersionQuerySet(models.QuerySet["ExerciseVersion"]):
    def visible_to(self, user: User) -> Self:
        """All of the campuses where the user instructs or manages; elsewhere the published."""
        return self.filter(_readable_by(user, "exercise__", "state"))

    def editable_by(self, user: User) -> Self:
        """The drafts of the campuses where the user instructs or manages."""
        edited = [campus for campus, role in user.held if role in EDITORS]
        return self.filter(exercise__campus__in=edited, state=ExerciseVersion.State.DRAFT)

    def matching(self, text: str) -> Self:
        """Those whose number, title, process, position, weld or objective has every word."""
        found = self
        for word in fold(text).split():
            found = found.filter(search_text__contains=word)
        return found

    def newest_published(self) -> Self:
        """The newest published version of each exercise."""
        newest = (
            ExerciseVersion.objects.filter(
                exercise=models.OuterRef("exercise"), state=ExerciseVersion.State.PUBLISHED
            )
            .order_by("-version")
            .values("pk")[:1]
        )
        return self.filter(pk=models.Subquery(newest))

    def newest(self) -> Self:
        """The newest version of each exercise, a draft too."""
        newest = (
            ExerciseVersion.objects.filter(exercise=models.OuterRef("exercise"))
            .order_by("-version")
            .values("pk")[:1]
        )
        return self.filter(pk=models.Subquery(newest))

    def with_content(self) -> Self:
        """With all that `services.to_spec` reads, in a constant number of queries."""
        return self.select_related("exercise__campus").prefetch_related(
            "prerequisites__exercise", "setups__passes", "setups__pieces", "criteria"
        )


class ExerciseVersion(models.Model):
    """The frozen unit: text, steps, cautions, setups, passes and criteria of an exercise."""

    class State(models.TextChoices):
        DRAFT = "draft", _("draft")
        PUBLISHED = "published", _("published")

    class Priority(models.TextChoices):
        MUST = "must", _("must")
        SHOULD = "should", _("should")
        EXTRA = "extra", _("extra")

    exercise = models.ForeignKey(Exercise, models.PROTECT, related_name="versions")
    version = models.PositiveIntegerField(_("version"))
    state = models.CharField(max_length=10, choices=State, default=State.DRAFT)
    title = models.CharField(_("title"), max_length=120)
    objective = models.TextField(_("objective"), blank=True)
    process = models.CharField(_("process"), max_length=10)
    iso4063 = models.CharField(_("ISO 4063 number"), max_length=10, blank=True)
    position = models.CharField(_("position"), max_length=20, blank=True)
    position_iso = models.CharField(_("position after ISO 6947"), max_length=20, blank=True)
    weld = models.CharField(_("weld"), max_length=200, blank=True)
    priority = models.CharField(
        _("priority"), max_length=10, choices=Priority, default=Priority.MUST
    )
    first_pass = models.FloatField(_("chance that a first coupon passes"))
    minutes = models.FloatField(_("booth minutes of one attempt"))
    practice_minutes = models.FloatField(_("practice minutes before the first coupon"), default=0)
    sessions = models.FloatField(_("sessions"), null=True, blank=True)
    steps = models.JSONField(_("steps"), default=list, blank=True)
    tools = models.JSONField(_("tools"), default=list, blank=True)
    clothing = models.JSONField(_("clothing"), default=list, blank=True)
    cautions = models.JSONField(_("cautions"), default=list, blank=True)
    signoffs = models.JSONField(_("sign-offs needed"), default=list, blank=True)
    hold_points = models.JSONField(_("hold points"), default=list, blank=True)
    notes = models.JSONField(_("notes"), default=list, blank=True)
    reviewed_by = models.CharField(_("reviewed by"), max_length=120, blank=True)
    reviewed_on = models.DateField(_("reviewed on"), null=True, blank=True)
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    created_at = models.DateTimeField(auto_now_add=True)
    published_at = models.DateTimeField(null=True, blank=True)
    search_text = models.TextField(blank=True, editable=False)

    objects = ExerciseVersionQuerySet.as_manager()

    class Meta:
        ordering = ["exercise__number", "-version"]
        constraints = [
            models.UniqueConstraint(fields=["exercise", "version"], name="exerciseversion_once"),
            models.UniqueConstraint(
                fields=["exercise"],
                condition=models.Q(state="draft"),
                name="exerciseversion_one_draft",
                violation_error_message=_("There is a draft of this exercise already."),
            ),
            models.CheckConstraint(
                condition=models.Q(state="draft")
                | (~models.Q(reviewed_by="") & models.Q(reviewed_on__isnull=False)),
                name="exerciseversion_reviewed",
                violation_error_message=_(
                    "To publish, name the qualified person who reviewed it, and the date."
                ),
            ),
            models.CheckConstraint(
                condition=models.Q(first_pass__gt=0, first_pass__lte=1),
                name="exerciseversion_first_pass",
                violation_error_message=_("The chance must be above 0 and at most 1."),
            ),
            models.CheckConstraint(
                condition=models.Q(
                    minutes__gt=0,
                    minutes__lte=2_000,
                    practice_minutes__gte=0,
                    practice_minutes__lte=10_000,
                ),
                name="exerciseversion_minutes",
                violation_error_message=_("Minutes of one attempt lie between 0 and 2000."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.exercise.number} {self.title}"

    def save(self, **kwargs: object) -> None:
        self.search_text = fold(
            self.exercise.number, self.title, self.process, self.position, self.weld, self.objective
        )
        super().save(**kwargs)  # type: ignore[arg-type]

    def get_absolute_url(self) -> str:
        return reverse("curriculum:version", args=[self.pk])

    @property
    def is_draft(self) -> bool:
        return self.state == self.State.DRAFT


class Prerequisite(models.Model):
    """An exercise that is needed before a version's exercise, or helps it."""

    class Kind(models.TextChoices):
        NEEDS = "needs", _("needed before")
        HELPS = "helps", _("helps")

    version = models.ForeignKey(ExerciseVersion, models.CASCADE, related_name="prerequisites")
    exercise = models.ForeignKey(Exercise, models.PROTECT, related_name="+")
    kind = models.CharField(max_length=5, choices=Kind)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["version", "exercise"], name="prerequisite_once"),
        ]

    def __str__(self) -> str:
        return f"{self.exercise} {self.kind}"


class Setup(models.Model):
    """One parameter set of a version: base metal and thickness with all that is dialled in."""

    version = models.ForeignKey(ExerciseVersion, models.CASCADE, related_name="setups")
    position = models.PositiveIntegerField(default=0)
    key = models.CharField(_("key"), max_length=40)
    base_metal = models.CharField(_("base metal"), max_length=200)
    metal = models.CharField(_("metal"), max_length=20, default="steel")
    coating = models.CharField(_("coating"), max_length=60, blank=True)
    thickness = MeasureField("length", high=LENGTH_MAX_M)
    weld_length = MeasureField("length", high=LENGTH_MAX_M)

    joint_kind = models.CharField(_("joint"), max_length=20)
    joint_root_opening = RangeField("length", high=LENGTH_MAX_M)
    joint_root_face = MeasureField("length", high=LENGTH_MAX_M)
    joint_groove_angle = MeasureField("angle", high=ANGLE_MAX_DEG)
    joint_bevel_angle = MeasureField("angle", high=ANGLE_MAX_DEG)
    joint_corner_angle = MeasureField("angle", high=ANGLE_MAX_DEG)
    joint_groove_radius = MeasureField("length", high=LENGTH_MAX_M)
    joint_leg = RangeField("length", high=LENGTH_MAX_M)
    joint_leg_2 = RangeField("length", high=LENGTH_MAX_M)
    joint_overlap = MeasureField("length", high=LENGTH_MAX_M)
    joint_gap = RangeField("length", high=LENGTH_MAX_M)
    joint_contour = models.CharField(_("contour"), max_length=10, default="flat")
    joint_convexity = MeasureField("length", high=LENGTH_MAX_M)
    joint_face_reinforcement = RangeField("length", high=LENGTH_MAX_M)
    joint_root_reinforcement = RangeField("length", high=LENGTH_MAX_M)
    joint_face_width = RangeField("length", high=LENGTH_MAX_M)
    joint_bead_width = RangeField("length", high=LENGTH_MAX_M)
    joint_bead_height = RangeField("length", high=LENGTH_MAX_M)
    joint_beads = models.PositiveIntegerField(_("beads"), default=1)
    joint_bead_overlap = models.FloatField(_("overlap of beads"), default=0.0)
    joint_backing = models.BooleanField(_("backing"), default=False)
    joint_runoff = MeasureField("length", high=LENGTH_MAX_M)
    joint_melt_through = models.BooleanField(_("melt-through"), default=False)

    symbol_other_side = models.BooleanField(_("on the other side too"), default=False)
    symbol_all_around = models.BooleanField(_("all around"), default=False)
    symbol_field = models.BooleanField(_("welded on site"), default=False)
    symbol_length = MeasureField("length", high=LENGTH_MAX_M)
    symbol_pitch = MeasureField("length", high=LENGTH_MAX_M)
    symbol_count = models.PositiveIntegerField(_("welds in a row"), null=True, blank=True)
    symbol_staggered = models.BooleanField(_("staggered"), default=False)
    symbol_depth = MeasureField("length", high=LENGTH_MAX_M)
    symbol_effective = MeasureField("length", high=LENGTH_MAX_M)
    symbol_back = models.CharField(_("back or backing weld"), max_length=10, blank=True)
    symbol_backing_removed = models.BooleanField(_("backing removed"), default=False)
    symbol_flush = models.BooleanField(_("flush"), default=False)
    symbol_finish = models.CharField(_("finish"), max_length=1, blank=True)
    symbol_blended = models.BooleanField(_("toes blended"), default=False)
    symbol_quality = models.CharField(_("quality level"), max_length=1, blank=True)
    symbol_tail = models.CharField(_("in the tail"), max_length=24, blank=True)

    electrode_type = models.CharField(_("electrode"), max_length=40, blank=True)
    electrode_diameter = MeasureField("length", high=0.05)
    electrode_length = MeasureField("length", high=2)
    electrode_preparation = models.CharField(_("preparation"), max_length=200, blank=True)
    filler_class = models.CharField(_("filler class"), max_length=40, blank=True)
    filler_diameter = MeasureField("length", high=0.05)
    filler_length = MeasureField("length", high=2)
    filler_alternates = models.JSONField(_("alternates"), default=list, blank=True)
    gas_name = models.CharField(_("shielding gas"), max_length=60, blank=True)
    gas_flow = RangeField("flow", high=FLOW_MAX_M3_S)
    gas_pressure = MeasureField("pressure", high=PRESSURE_MAX_PA)
    fuel_name = models.CharField(_("fuel gas"), max_length=60, blank=True)
    fuel_flow = RangeField("flow", high=FLOW_MAX_M3_S)
    fuel_pressure = MeasureField("pressure", high=PRESSURE_MAX_PA)
    oxygen_name = models.CharField(_("oxygen"), max_length=60, blank=True)
    oxygen_flow = RangeField("flow", high=FLOW_MAX_M3_S)
    oxygen_pressure = MeasureField("pressure", high=PRESSURE_MAX_PA)
    cutting_oxygen_name = models.CharField(_("cutting oxygen"), max_length=60, blank=True)
    cutting_oxygen_flow = RangeField("flow", high=FLOW_MAX_M3_S)
    cutting_oxygen_pressure = MeasureField("pressure", high=PRESSURE_MAX_PA)
    purge_name = models.CharField(_("purge gas"), max_length=60, blank=True)
    purge_flow = RangeField("flow", high=FLOW_MAX_M3_S)
    purge_pressure = MeasureField("pressure", high=PRESSURE_MAX_PA)
    purge_time = MeasureField("time", high=TIME_MAX_S)
    tip = MeasureField("length", high=0.05)
    nozzle = MeasureField("length", high=0.1)
    polarity = models.CharField(_("polarity"), max_length=4, blank=True)
    current = RangeField("current", high=CURRENT_MAX_A)
    voltage = RangeField("voltage", high=VOLTAGE_MAX_V)
    travel_speed = RangeField("speed", high=SPEED_MAX_M_S)
    wire_feed = RangeField("speed", high=SPEED_MAX_M_S)
    preflow = RangeField("time", high=TIME_MAX_S)
    postflow = RangeField("time", high=TIME_MAX_S)
    start = models.CharField(_("arc start"), max_length=40, blank=True)
    stickout = RangeField("length", high=LENGTH_MAX_M)
    arc_length = RangeField("length", high=LENGTH_MAX_M)
    work_angle = RangeField("angle", high=ANGLE_MAX_DEG)
    travel_angle = RangeField("angle", high=ANGLE_MAX_DEG)
    travel_direction = models.CharField(_("push or drag"), max_length=10, blank=True)
    rod_angle = RangeField("angle", high=ANGLE_MAX_DEG)
    transfer = models.CharField(_("transfer"), max_length=20, blank=True)
    interpass_max = MeasureField("temperature", high=TEMPERATURE_MAX_K)
    fit_up = models.TextField(_("fit-up"), blank=True)
    tacks = models.PositiveIntegerField(_("tacks"), null=True, blank=True)
    tack_length = MeasureField("length", high=LENGTH_MAX_M)
    tack_note = models.CharField(_("tacks, note"), max_length=200, blank=True)
    practice_pieces = models.PositiveIntegerField(_("practice pieces"), null=True, blank=True)

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["version", "key"],
                name="setup_key_once",
                violation_error_message=_("Two setups of an exercise need different keys."),
            ),
            models.CheckConstraint(
                condition=models.Q(joint_bead_overlap__gte=0, joint_bead_overlap__lte=0.9),
                name="setup_bead_overlap",
            ),
        ]

    def __str__(self) -> str:
        return self.key


class SetupPass(models.Model):
    """One pass of a setup, or several alike; empty settings mean "as the setup"."""

    setup = models.ForeignKey(Setup, models.CASCADE, related_name="passes")
    position = models.PositiveIntegerField(default=0)
    technique = models.CharField(_("technique"), max_length=60)
    bead = models.CharField(_("bead shape"), max_length=200, blank=True)
    count = models.PositiveIntegerField(_("passes alike"), default=1)
    current = RangeField("current", high=CURRENT_MAX_A)
    voltage = RangeField("voltage", high=VOLTAGE_MAX_V)
    travel_speed = RangeField("speed", high=SPEED_MAX_M_S)
    polarity = models.CharField(_("polarity"), max_length=4, blank=True)
    work_angle = RangeField("angle", high=ANGLE_MAX_DEG)
    travel_angle = RangeField("angle", high=ANGLE_MAX_DEG)
    electrode_type = models.CharField(_("electrode"), max_length=40, blank=True)
    electrode_diameter = MeasureField("length", high=0.05)
    electrode_length = MeasureField("length", high=2)
    electrode_preparation = models.CharField(_("preparation"), max_length=200, blank=True)
    filler_class = models.CharField(_("filler class"), max_length=40, blank=True)
    filler_diameter = MeasureField("length", high=0.05)
    filler_length = MeasureField("length", high=2)
    filler_alternates = models.JSONField(_("alternates"), default=list, blank=True)
    note = models.TextField(_("note"), blank=True)

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(count__gte=1, count__lte=200), name="setuppass_count"
            ),
        ]

    def __str__(self) -> str:
        return self.technique


class Piece(models.Model):
    """Blanks of one size that one attempt of a setup takes."""

    setup = models.ForeignKey(Setup, models.CASCADE, related_name="pieces")
    position = models.PositiveIntegerField(default=0)
    name = models.CharField(_("name"), max_length=60, blank=True)
    count = models.PositiveIntegerField(_("count"))
    thickness = MeasureField("length", high=LENGTH_MAX_M)
    width = MeasureField("length", high=LENGTH_MAX_M)
    length = MeasureField("length", high=LENGTH_MAX_M)
    form = models.CharField(_("form"), max_length=20, default="sheet")
    metal = models.CharField(_("metal"), max_length=20, blank=True)
    prep = models.CharField(_("preparation"), max_length=200, blank=True)
    reuse = models.PositiveIntegerField(_("further attempts"), default=0)
    reuse_note = models.CharField(_("how it is used again"), max_length=200, blank=True)

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(count__gte=1, count__lte=100), name="piece_count"
            ),
            models.CheckConstraint(condition=models.Q(reuse__lte=100), name="piece_reuse"),
        ]

    def __str__(self) -> str:
        return self.name or self.form


class Criterion(models.Model):
    """One thing that is measured or judged on a coupon, with its limit and source.

    Values are SI in `si_unit` ("m", "deg", "1"), beside the text as typed.
    """

    class Kind(models.TextChoices):
        MEASURED = "measured", _("measured")
        GAUGE = "gauge", _("goes or does not")
        SHARE = "share", _("share of the length")
        JUDGED = "judged", _("judged")
        COUNTED = "counted", _("counted")
        BEND = "bend", _("guided bend")

    version = models.ForeignKey(ExerciseVersion, models.CASCADE, related_name="criteria")
    position = models.PositiveIntegerField(default=0)
    name = models.CharField(_("name"), max_length=160)
    kind = models.CharField(_("kind"), max_length=10, choices=Kind)
    unit = models.CharField(_("unit"), max_length=10, blank=True)
    si_unit = models.CharField(max_length=10, blank=True)
    min_value = models.FloatField(null=True, blank=True)
    min_typed = models.CharField(max_length=40, blank=True)
    max_value = models.FloatField(null=True, blank=True)
    max_typed = models.CharField(max_length=40, blank=True)
    per_thickness = models.FloatField(null=True, blank=True)
    cap_value = models.FloatField(null=True, blank=True)
    cap_typed = models.CharField(max_length=40, blank=True)
    mandatory = models.BooleanField(_("alone means redo"), default=False)
    weight = models.FloatField(_("weight"), default=1)
    tool = models.CharField(_("tool"), max_length=80, blank=True)
    step_value = models.FloatField(null=True, blank=True)
    step_typed = models.CharField(max_length=40, blank=True)
    source = models.CharField(_("source"), max_length=200, blank=True)
    cure = models.CharField(_("cure"), max_length=300, blank=True)

    class Meta:
        ordering = ["position", "pk"]
        verbose_name_plural = "criteria"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(weight__gte=0, weight__lte=1_000), name="criterion_weight"
            ),
            *quantity_constraints(
                "criterion", {"min_value": (-1e6, 1e6), "max_value": (-1e6, 1e6)}
            ),
        ]

    def __str__(self) -> str:
        return self.name
