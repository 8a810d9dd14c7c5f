"""Cutting plans: what was to be cut for whom, how, and what came off."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Self

from django.conf import settings
from django.db import models
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from inventory.models.cutting import CuttingMachine
from inventory.models.ledger import PIECES_MAX, SIDE_MAX_UM
from inventory.models.stock import StockItem, money_from_e4
from shared.people.models import Role

if TYPE_CHECKING:
    from shared.people.models import User

SILENT = timedelta(seconds=60)  # a search that has not reported for so long is over


class CutPlanQuerySet(models.QuerySet["CutPlan"]):
    def visible_to(self, user: User) -> Self:
        """Those of the campuses where the user buys, teaches or manages."""
        return self.filter(
            campus__memberships__user=user,
            campus__memberships__role__in=[Role.INSTRUCTOR, Role.CLERK, Role.MANAGER],
        ).distinct()

    def with_parts(self) -> Self:
        """With all that a page about plans reads, in a fixed number of queries."""
        return self.select_related("campus", "made_by").prefetch_related(
            "classes",
            models.Prefetch(
                "parts", CutPart.objects.select_related("item__campus", "machine", "done_by")
            ),
            "parts__pieces",
        )


class CutPlan(models.Model):
    """Blanks for some classes and days, planned together; cut up material by material."""

    class State(models.TextChoices):
        OPEN = "open", _("to be cut")
        DONE = "done", _("cut and booked")
        CANCELLED = "cancelled", _("given up")

    class Figure(models.TextChoices):
        LIKELY = "likely", _("likely")
        AMPLE = "ample", _("ample")

    campus = models.ForeignKey("people.Campus", models.PROTECT, related_name="cut_plans")
    number = models.PositiveIntegerField(_("number"))
    classes = models.ManyToManyField("curriculum.ShopClass", blank=True, related_name="cut_plans")
    first = models.DateField(_("from"))
    last = models.DateField(_("to"))
    figure = models.CharField(max_length=6, choices=Figure, default=Figure.AMPLE)
    state = models.CharField(max_length=9, choices=State, default=State.OPEN)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    left_out = models.JSONField(default=list, blank=True)  # what no item of the shelf stands for

    objects = CutPlanQuerySet.as_manager()

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["campus", "number"], name="cutplan_number_once"),
            models.CheckConstraint(
                condition=models.Q(last__gte=models.F("first")),
                name="cutplan_days",
                violation_error_message=_("The last day lies before the first."),
            ),
        ]

    def __str__(self) -> str:
        return str(_("Cutting plan %(number)d") % {"number": self.number})

    def get_absolute_url(self) -> str:
        return reverse("inventory:cutting_plan", args=[self.pk])


class CutPart(models.Model):
    """The part of a plan that is of one material on one machine.

    A machine that is taken out later leaves the plan as it is: its figures stand in `problem`.
    `problem` is the case that was planned and `plan` its answer, as the `cutplan` command writes
    both; a plan is stored after `check_plan` passed it. Without a machine or stock there is no
    plan, and `lack` says which. `seen` is the item's newest movement when it was planned, `batch`
    that of the movements it was booked by: when those are reversed, it is to be cut again.
    """

    class Lack(models.TextChoices):
        NONE = "", _("nothing")
        MACHINE = "machine", _("no machine here cuts it")
        METAL = "metal", _("that machine does not cut this metal")
        STOCK = "stock", _("no sheet or bar of it is on the shelf or on offer")
        QUARANTINE = "quarantine", _("its grade is unknown: it is in quarantine")

    plan = models.ForeignKey(CutPlan, models.CASCADE, related_name="parts")
    item = models.ForeignKey(StockItem, models.PROTECT, related_name="cut_parts")
    machine = models.ForeignKey(
        CuttingMachine, models.SET_NULL, null=True, blank=True, related_name="cut_parts"
    )
    lack = models.CharField(max_length=10, choices=Lack, default=Lack.NONE, blank=True)
    problem = models.JSONField()
    answer = models.JSONField(null=True)
    seen = models.PositiveBigIntegerField()
    done_at = models.DateTimeField(null=True)
    done_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )
    spent_e4 = models.PositiveBigIntegerField(_("price of what was cut up"), null=True)
    batch = models.CharField(max_length=80, blank=True, default="", db_index=True)
    # a longer search: whose run may write, when it ends at the latest, when it last reported
    search = models.UUIDField(null=True)
    search_ends = models.DateTimeField(null=True)
    search_beat = models.DateTimeField(null=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "item"], name="cutpart_item_once"),
            models.CheckConstraint(
                condition=models.Q(done_at__isnull=True) | models.Q(spent_e4__isnull=False),
                name="cutpart_done_spent",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.plan_id}: {self.item_id}"

    @property
    def can_be_cut(self) -> bool:
        """Whether there is a plan with something to cut that is not done."""
        return bool(self.done_at is None and self.answer and self.answer["stock_used"])

    @property
    def spent(self) -> Decimal:
        return money_from_e4(self.spent_e4 or 0)

    def searching(self, now: datetime) -> bool:
        """Say whether a longer search is under way: it has reported within a minute."""
        return (
            self.search is not None
            and self.search_beat is not None
            and now - self.search_beat < SILENT
        )


class CutPiece(models.Model):
    """Blanks of one size in a plan: how many were needed, there already, to be cut, and cut."""

    part = models.ForeignKey(CutPart, models.CASCADE, related_name="pieces")
    length_um = models.PositiveIntegerField(_("length, µm"))
    width_um = models.PositiveIntegerField(_("width, µm"), null=True, blank=True)
    rotate = models.BooleanField(_("may be turned"), default=True)
    wanted_for = models.CharField(_("for exercise"), max_length=120, blank=True)
    needed = models.PositiveIntegerField(_("needed"), null=True)
    on_shelf = models.PositiveIntegerField(_("on the shelf for it"), null=True)
    count = models.PositiveIntegerField(_("to cut"))
    made = models.PositiveIntegerField(_("cut"), null=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(length_um__range=(1, SIDE_MAX_UM))
                & (models.Q(width_um__isnull=True) | models.Q(width_um__range=(1, SIDE_MAX_UM))),
                name="cutpiece_size",
            ),
            models.CheckConstraint(
                condition=models.Q(count__range=(1, PIECES_MAX))
                & (models.Q(made__isnull=True) | models.Q(made__lte=PIECES_MAX)),
                name="cutpiece_count",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.count} × {self.length_um} × {self.width_um}"
