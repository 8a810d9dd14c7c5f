"""Items of the shelf, the packs they are bought in, and who sells them."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Self

from django.db import models
from django.urls import reverse
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from shared.fields import MeasureField

if TYPE_CHECKING:
    from shared.people.models import User

QUANTITY_MAX = 10**15
WEEKS_MAX = 104
MONEY_SCALE = 10_000


def money_from_e4(e4: int) -> Decimal:
    """Return ten-thousandths as a Decimal amount."""
    return Decimal(e4) / MONEY_SCALE


class Supplier(models.Model):
    campus = models.ForeignKey("people.Campus", models.PROTECT, related_name="suppliers")
    name = models.CharField(_("name"), max_length=80)
    delivery_weekdays = models.JSONField(
        _("delivery days"), default=list, blank=True, help_text=_("0 Monday to 6 Sunday; none: any")
    )

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["campus", "name"], name="supplier_once"),
        ]

    def __str__(self) -> str:
        return self.name


class StockItemQuerySet(models.QuerySet["StockItem"]):
    def visible_to(self, user: User) -> Self:
        """Those of the campuses where the user buys, teaches or manages."""
        return self.filter(
            campus__memberships__user=user,
            campus__memberships__role__in=["instructor", "clerk", "manager"],
        ).distinct()

    def active(self) -> Self:
        return self.filter(is_active=True)


class StockItem(models.Model):
    """Something the shop keeps on a shelf, matched to a setup's need by `spec_key`."""

    class Kind(models.TextChoices):
        SHEET = "sheet", _("sheet")
        BAR = "bar", _("bar")
        PIPE = "pipe", _("pipe")
        BACKING = "backing", _("backing")
        ROD = "rod", _("bare rod")
        ELECTRODE = "electrode", _("covered electrode")
        WIRE = "wire", _("wire")
        GAS = "gas", _("gas")
        TUNGSTEN = "tungsten", _("tungsten")
        WEAR = "wear", _("wear part")
        ABRASIVE = "abrasive", _("abrasive")
        SUNDRY = "sundry", _("per student and week")

    class BaseUnit(models.TextChoices):
        MG = "mg", _("milligram")
        MM2 = "mm2", _("square millimetre")
        MM = "mm", _("millimetre")
        ML = "mL", _("millilitre")
        PIECE = "piece", _("piece")

    class MovedBy(models.TextChoices):
        CUT = "cut", _("when blanks are cut")
        OPEN = "open", _("when a pack is opened")
        EXCHANGE = "exchange", _("when a cylinder is exchanged")
        ISSUE = "issue", _("when it is handed out")

    campus = models.ForeignKey("people.Campus", models.PROTECT, related_name="stock_items")
    kind = models.CharField(_("kind"), max_length=10, choices=Kind)
    name = models.CharField(_("name"), max_length=120)
    spec_key = models.CharField(_("specification"), max_length=120)
    base_unit = models.CharField(_("base unit"), max_length=6, choices=BaseUnit)
    moved_by = models.CharField(_("what moves the shelf"), max_length=10, choices=MovedBy)
    piece_mg = models.PositiveBigIntegerField(_("mass of one piece, mg"), null=True, blank=True)
    on_hand = models.BigIntegerField(_("on the shelf"), default=0, editable=False)
    is_active = models.BooleanField(_("in use"), default=True)
    quarantined = models.BooleanField(_("grade unknown: in quarantine"), default=False)
    per_student_week = models.PositiveBigIntegerField(_("per student and week"), default=0)
    # whole base units in so many weeks: a pair of gloves lasts a dozen
    every_weeks = models.PositiveSmallIntegerField(_("in so many weeks"), default=1)
    factor = models.FloatField(_("use on top of handed-in coupons"), default=1.8)
    bias_cv = models.FloatField(_("doubt about that factor"), default=0.10)
    use_cv = models.FloatField(_("spread of one attempt's use"), default=0.15)
    count_due = models.DateField(_("count asked for"), null=True, blank=True)
    manifold = models.PositiveSmallIntegerField(
        _("cylinders on the manifold"), null=True, blank=True
    )
    learned_to = models.ForeignKey(
        "Movement", models.PROTECT, null=True, blank=True, editable=False, related_name="+"
    )  # the count up to which the factor has learned
    history = HistoricalRecords(excluded_fields=["on_hand", "learned_to"])

    objects = StockItemQuerySet.as_manager()

    class Meta:
        ordering = ["kind", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["campus", "spec_key"],
                name="stockitem_spec_once",
                violation_error_message=_("The shelf has an item of this specification."),
            ),
            models.CheckConstraint(
                condition=models.Q(on_hand__gte=-QUANTITY_MAX, on_hand__lte=QUANTITY_MAX),
                name="stockitem_on_hand",
            ),
            models.CheckConstraint(
                condition=models.Q(every_weeks__gte=1, every_weeks__lte=WEEKS_MAX),
                name="stockitem_every_weeks",
                violation_error_message=_("Use is stated for 1 to 104 weeks."),
            ),
            models.CheckConstraint(
                condition=models.Q(
                    factor__gt=0,
                    factor__lte=20,
                    bias_cv__gte=0,
                    bias_cv__lte=5,
                    use_cv__gte=0,
                    use_cv__lte=5,
                ),
                name="stockitem_figures",
                violation_error_message=_("Factor above 0 to 20; doubt and spread 0 to 5."),
            ),
            models.CheckConstraint(
                condition=models.Q(manifold__isnull=True) | models.Q(manifold__range=(1, 100)),
                name="stockitem_manifold",
                violation_error_message=_("A manifold has 1 to 100 cylinders."),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("inventory:item", args=[self.pk])

    @property
    def book_short(self) -> bool:
        return self.on_hand < 0


class Pack(models.Model):
    """The unit an item is bought in, with price and the days it takes.

    A cylinder may state its water capacity and what it is filled to, or the weight of its gas.
    """

    item = models.ForeignKey(StockItem, models.CASCADE, related_name="packs")
    supplier = models.ForeignKey(
        Supplier, models.PROTECT, null=True, blank=True, related_name="packs"
    )
    name = models.CharField(_("pack"), max_length=80)
    size = models.PositiveBigIntegerField(_("content in base units"))
    length_um = models.PositiveIntegerField(_("length, µm"), null=True, blank=True)
    width_um = models.PositiveIntegerField(_("width, µm"), null=True, blank=True)
    water = MeasureField("volume", high=2, verbose_name=_("water capacity"))
    fill_pressure = MeasureField("pressure", high=3e7, verbose_name=_("filled to"))
    fill_temperature = MeasureField(
        "temperature", low=273, high=324, verbose_name=_("temperature of filling")
    )
    net_weight = MeasureField("mass", high=2000, verbose_name=_("weight of its gas"))
    price_e4 = models.PositiveBigIntegerField(_("price in ten-thousandths"))
    lead_days = models.PositiveSmallIntegerField(_("lead time, working days"), default=5)
    approval_days = models.PositiveSmallIntegerField(_("approval, working days"), default=8)
    preferred = models.BooleanField(_("bought by default"), default=True)
    is_active = models.BooleanField(_("on offer"), default=True)
    history = HistoricalRecords()

    class Meta:
        ordering = ["-preferred", "name"]
        constraints = [
            models.UniqueConstraint(fields=["item", "name"], name="pack_name_once"),
            models.UniqueConstraint(
                fields=["item"],
                condition=models.Q(preferred=True, is_active=True),
                name="pack_one_preferred",
                violation_error_message=_("Another pack of this item is bought by default."),
            ),
            models.CheckConstraint(
                condition=models.Q(size__gt=0, size__lte=QUANTITY_MAX),
                name="pack_size",
                violation_error_message=_("A pack holds more than nothing."),
            ),
            models.CheckConstraint(condition=models.Q(price_e4__lte=10**13), name="pack_price"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def price(self) -> Decimal:
        return money_from_e4(self.price_e4)

    @price.setter
    def price(self, amount: Decimal) -> None:
        self.price_e4 = int((amount * MONEY_SCALE).to_integral_exact())
