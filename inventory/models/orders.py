"""Requisitions and what came of them."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Self

from django.conf import settings
from django.db import models
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from inventory.models.ledger import Movement
from inventory.models.stock import Pack, StockItem, money_from_e4

if TYPE_CHECKING:
    from shared.people.models import User


class RequisitionQuerySet(models.QuerySet["Requisition"]):
    def visible_to(self, user: User) -> Self:
        return self.filter(
            campus__memberships__user=user, campus__memberships__role__in=["clerk", "manager"]
        ).distinct()


class Requisition(models.Model):
    """What is to be bought: edited, approved, then received in parts."""

    class State(models.TextChoices):
        DRAFT = "draft", _("being written")
        APPROVED = "approved", _("approved, on order")
        DONE = "done", _("all received")
        CANCELLED = "cancelled", _("cancelled")

    campus = models.ForeignKey("people.Campus", models.PROTECT, related_name="requisitions")
    number = models.PositiveIntegerField(_("number"))
    state = models.CharField(max_length=10, choices=State, default=State.DRAFT)
    shop_class = models.ForeignKey(
        "curriculum.ShopClass", models.PROTECT, null=True, blank=True, related_name="requisitions"
    )
    account = models.CharField(_("account or grant"), max_length=80, blank=True)
    note = models.TextField(_("note"), blank=True)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    approved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    approved_at = models.DateTimeField(null=True, blank=True)

    objects = RequisitionQuerySet.as_manager()

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["campus", "number"], name="requisition_number_once"),
        ]

    def __str__(self) -> str:
        return f"R{self.number}"

    def get_absolute_url(self) -> str:
        return reverse("inventory:requisition", args=[self.pk])


class RequisitionLine(models.Model):
    requisition = models.ForeignKey(Requisition, models.CASCADE, related_name="lines")
    item = models.ForeignKey(StockItem, models.PROTECT, related_name="requisition_lines")
    pack = models.ForeignKey(Pack, models.PROTECT, related_name="+")
    packs = models.PositiveIntegerField(_("packs"))
    price_e4 = models.PositiveBigIntegerField(_("price in ten-thousandths"))
    order_by = models.DateField(_("order by"), null=True, blank=True)
    expected = models.DateField(_("expected"), null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["requisition", "pack"], name="requisitionline_once"),
            models.CheckConstraint(
                condition=models.Q(packs__gte=1, packs__lte=100_000),
                name="requisitionline_packs",
                violation_error_message=_("Order at least 1 pack, at most 100 000."),
            ),
            models.CheckConstraint(
                condition=models.Q(price_e4__lte=10**13), name="requisitionline_price"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.packs} × {self.pack}"

    @property
    def price(self) -> Decimal:
        return money_from_e4(self.price_e4)

    @property
    def cost(self) -> Decimal:
        return self.price * self.packs


class ReceiptLine(models.Model):
    """A part delivery against a line: what came, and whether it was what was ordered."""

    class Outcome(models.TextChoices):
        RIGHT = "right", _("as ordered")
        WRONG = "wrong", _("wrong item, sent back")

    line = models.ForeignKey(RequisitionLine, models.PROTECT, related_name="receipts")
    packs = models.PositiveIntegerField(_("packs"))
    outcome = models.CharField(max_length=10, choices=Outcome, default=Outcome.RIGHT)
    movement = models.OneToOneField(
        Movement, models.PROTECT, null=True, blank=True, related_name="receipt_line"
    )
    note = models.CharField(_("note"), max_length=200, blank=True)
    received_on = models.DateField(_("received on"))
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    reversed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(packs__gte=1, packs__lte=100_000), name="receiptline_packs"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.packs} {self.outcome}"
