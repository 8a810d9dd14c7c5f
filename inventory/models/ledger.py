"""The stock ledger: movements, sizes of sheet, bar, remnant and blank, open packs."""

from __future__ import annotations

from typing import Self

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from inventory.models.stock import QUANTITY_MAX, Pack, StockItem
from shared.fields import MeasureField

PIECES_MAX = 10**6
SIDE_MAX_UM = 10**8  # 100 m


class SizedStockQuerySet(models.QuerySet["SizedStock"]):
    def kept(self) -> Self:
        """All sizes but the remnants that are gone: those never come again."""
        return self.exclude(form=SizedStock.Form.REMNANT, count=0)


class SizedStock(models.Model):
    """A size of sheet, bar, remnant or blank of an item, and how many of it are there.

    Sides are whole micrometres: of sheet a length along its grain and a width, of bar and pipe the
    length alone. `each` is the base units in one, rounded once. `count` is at all times the sum of
    the pieces of its movements, below zero where the book is short; their area is part of the
    item's `on_hand`, what that holds beyond them is not told apart by size.
    """

    class Form(models.TextChoices):
        FULL = "full", _("full size")
        REMNANT = "remnant", _("remnant")
        BLANK = "blank", _("blank")

    item = models.ForeignKey(StockItem, models.PROTECT, related_name="sizes")
    form = models.CharField(_("form"), max_length=8, choices=Form)
    length_um = models.PositiveIntegerField(_("length, µm"))
    width_um = models.PositiveIntegerField(_("width, µm"), null=True, blank=True)
    label = models.CharField(_("mark or note"), max_length=60, blank=True)
    each = models.PositiveBigIntegerField(_("base units in one"))
    count = models.IntegerField(_("pieces"), default=0, editable=False)

    objects = SizedStockQuerySet.as_manager()

    class Meta:
        ordering = ["form", "-length_um", "-width_um", "label", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["item", "form", "length_um", "width_um", "label"],
                condition=models.Q(width_um__isnull=False),
                name="sizedstock_flat_once",
            ),
            models.UniqueConstraint(
                fields=["item", "form", "length_um", "label"],
                condition=models.Q(width_um__isnull=True),
                name="sizedstock_long_once",
            ),
            models.CheckConstraint(
                condition=models.Q(length_um__range=(1, SIDE_MAX_UM))
                & (models.Q(width_um__isnull=True) | models.Q(width_um__range=(1, SIDE_MAX_UM)))
                & models.Q(each__range=(1, QUANTITY_MAX)),
                name="sizedstock_size",
            ),
            models.CheckConstraint(
                condition=models.Q(count__range=(-PIECES_MAX, PIECES_MAX)),
                name="sizedstock_count",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.form} {self.length_um} × {self.width_um} {self.label}".strip()

    @property
    def book_short(self) -> bool:
        return self.count < 0


class Movement(models.Model):
    """One line of the stock ledger. Append-only: a wrong one is reversed, never edited.

    `on_hand` of an item is at all times the sum of its movements, `count` of a size the sum of
    their pieces; `services.move` writes all of it. Lines of one `batch` were one act, such as a
    cut, and are reversed together.
    """

    class Kind(models.TextChoices):
        RECEIVE = "receive", _("received")
        OPEN = "open", _("pack opened")
        EXCHANGE = "exchange", _("cylinder exchanged")
        CUT = "cut", _("cut into blanks")
        ISSUE = "issue", _("handed out")
        COUNT = "count", _("counted")
        RETURN = "return", _("returned")
        SCRAP = "scrap", _("thrown away")
        REGRADE = "regrade", _("graded, put with its kind")
        REVERSE = "reverse", _("reversed")

    item = models.ForeignKey(StockItem, models.PROTECT, related_name="movements")
    kind = models.CharField(max_length=10, choices=Kind)
    quantity = models.BigIntegerField(_("quantity in base units"))
    key = models.CharField(max_length=80, unique=True)
    on = models.DateField(_("date"))
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)
    reason = models.CharField(_("reason"), max_length=200, blank=True)
    pack = models.ForeignKey(Pack, models.PROTECT, null=True, blank=True, related_name="+")
    sized = models.ForeignKey(
        SizedStock, models.PROTECT, null=True, blank=True, related_name="movements"
    )
    pieces = models.IntegerField(_("pieces of that size"), null=True, blank=True)
    batch = models.CharField(max_length=80, blank=True, default="", db_index=True)
    reverses = models.OneToOneField(
        "self", models.PROTECT, null=True, blank=True, related_name="reversed_by"
    )

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(quantity__gte=-QUANTITY_MAX, quantity__lte=QUANTITY_MAX),
                name="movement_quantity",
            ),
            models.CheckConstraint(
                condition=models.Q(sized__isnull=True, pieces__isnull=True)
                | models.Q(sized__isnull=False, pieces__range=(-PIECES_MAX, PIECES_MAX)),
                name="movement_pieces",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.quantity}"


class OpenPack(models.Model):
    """A pack taken from the shelf and in use; what is left in it is computed from attempts."""

    item = models.ForeignKey(StockItem, models.PROTECT, related_name="open_packs")
    pack = models.ForeignKey(Pack, models.PROTECT, related_name="+")
    movement = models.OneToOneField(Movement, models.PROTECT, related_name="open_pack")
    opened_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)
    mark = models.CharField(_("mark or number"), max_length=30, blank=True)
    left = models.PositiveBigIntegerField(
        _("left when finished, base units"), null=True, blank=True
    )
    leftover = models.OneToOneField(
        Movement, models.PROTECT, null=True, blank=True, related_name="finished_pack"
    )

    class Meta:
        ordering = ["opened_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(left__isnull=True) | models.Q(left__lte=QUANTITY_MAX),
                name="openpack_left",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item_id} {self.opened_at}"

    @property
    def size(self) -> int:
        """What was taken off the shelf with it, base units; the pack on offer may have changed."""
        return -self.movement.quantity


class CylinderReading(models.Model):
    """What was read off an open cylinder, and the gas left in it by that. Append-only.

    It trues the estimate of what is left; the ledger moves at exchange alone.
    """

    open_pack = models.ForeignKey(OpenPack, models.PROTECT, related_name="readings")
    key = models.CharField(max_length=80, unique=True)
    pressure = MeasureField("pressure", high=3e7)
    weight = MeasureField("mass", high=4000)
    tare = MeasureField("mass", high=4000)
    temperature = MeasureField("temperature", low=273, high=324)
    left = models.PositiveBigIntegerField(_("left in it, base units"))
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(left__lte=QUANTITY_MAX), name="cylinderreading_left"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.open_pack_id} {self.at} {self.left}"
