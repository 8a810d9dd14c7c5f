"""What is done at the shelf: one small form for each, and the weekly count."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from curriculum.core.gas import GasError, left_share
from curriculum.services.sheet import said
from inventory.core.base_units import QUANTITY_MAX, Scale
from inventory.core.cylinders import Cylinder
from inventory.core.open_packs import read_left
from inventory.forms.fields import AmountField, such_as
from inventory.models import Movement, OpenPack, Pack, StockItem
from inventory.services.shelf import DIGITS, InUse, ShelfRow

MOST_PACKS = 20
REASON_LENGTH = 200


def reason_field(**more: Any) -> forms.CharField:
    """Return a field for a reason, as long as the ledger keeps it."""
    options: dict[str, Any] = {"label": gettext_lazy("Reason or note"), "required": False} | more
    return forms.CharField(max_length=REASON_LENGTH, **options)


class MoveForm(forms.Form):
    """When and why; what is moved stands in the classes below."""

    on = forms.DateField(
        label=gettext_lazy("Date"),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    reason = reason_field()

    def __init__(self, *args: Any, item: StockItem, scale: Scale, **kwargs: Any) -> None:
        self.item, self.scale, self.today = item, scale, item.campus.today()
        super().__init__(*args, **kwargs)
        self.initial.setdefault("on", self.today)
        self.order_fields(["amount", "pack", "packs", "replaces", "left", "stays", "on", "reason"])

    @property
    def packs_on_offer(self) -> list[Pack]:
        return sorted(
            (pack for pack in self.item.packs.all() if pack.is_active),
            key=lambda pack: (not pack.preferred, pack.name),
        )

    def clean_on(self) -> date:
        on: date = self.cleaned_data["on"]
        if on > self.today:
            raise ValidationError(
                _("That day is still to come; write today, %(today)s, or a day before."),
                params={"today": self.today.isoformat()},
            )
        return on

    def pack_field(self) -> forms.ModelChoiceField:
        packs = self.packs_on_offer
        return forms.ModelChoiceField(
            label=_("Pack"),
            queryset=Pack.objects.filter(item=self.item, is_active=True),
            empty_label=None,
            initial=packs[0].pk if packs else None,
        )


class AmountForm(MoveForm):
    """So much received, cut, handed out or taken back."""

    def __init__(self, *args: Any, kind: Movement.Kind, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kind = kind
        self.fields["amount"] = AmountField(
            self.scale, low=1, label=_("Amount"), help_text=such_as(self.scale.examples)
        )
        if kind == Movement.Kind.RECEIVE and len(self.packs_on_offer) > 1:
            self.fields["pack"] = self.pack_field()
        self.order_fields(["amount", "pack", "on", "reason"])

    def clean_amount(self) -> int:
        amount: int = self.cleaned_data["amount"]
        inwards = self.kind in (Movement.Kind.RECEIVE, Movement.Kind.RETURN)
        if abs(self.item.on_hand + (amount if inwards else -amount)) > QUANTITY_MAX:
            raise ValidationError(_("The shelf cannot hold so much; write a smaller amount."))
        return amount

    @property
    def pack(self) -> Pack | None:
        """The pack that came: as picked, else the only one on offer."""
        packs = self.packs_on_offer
        picked: Pack | None = self.cleaned_data.get("pack")
        return picked or (packs[0] if len(packs) == 1 else None)


class OpenForm(MoveForm):
    """So many packs opened."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["pack"] = self.pack_field()
        self.fields["packs"] = forms.IntegerField(
            label=_("Packs"), min_value=1, max_value=MOST_PACKS, initial=1
        )
        self.order_fields(["pack", "packs", "on", "reason"])


def left_field(in_use: Sequence[InUse], scale: Scale, **more: Any) -> AmountField:
    """Return a field for what is left in a pack: an amount, a share, a cylinder's gauge.

    A gauge is read as that of the first of `in_use`; of a cylinder the usual share is left.
    """
    most = max((one.pack.size for one in in_use), default=QUANTITY_MAX)
    cylinder = in_use[0].cylinder if in_use else None
    examples = (*scale.examples[:1], "25 %", *gauge_examples(cylinder, scale))
    if in_use and in_use[0].pack.item.moved_by == StockItem.MovedBy.EXCHANGE:
        more["initial"] = f"{left_share().value * 100:g} %"
    return AmountField(
        scale,
        required=False,
        read=lambda text: left_by(text, scale, most, cylinder),
        help_text=_("%(such_as)s Empty: nothing.") % {"such_as": such_as(examples)},
        **more,
    )


def gauge_examples(cylinder: Cylinder | None, scale: Scale) -> tuple[str, ...]:
    """Return how a gauge may be written, as far as it tells the content."""
    if cylinder is None or cylinder.weighed:
        return ()
    now, full = ("500", "2200 psi") if scale.system == "us" else ("35", "150 bar")
    known = cylinder.water is not None
    return (f"{now} {full.split()[1]}" if known else f"{now} / {full}",)


def left_by(text: str, scale: Scale, most: int, cylinder: Cylinder | None) -> int:
    """Read what is left; raise ValidationError where a gauge tells nothing, else UnitError."""
    try:
        return read_left(text, scale, most, cylinder)
    except GasError as error:
        raise ValidationError(said(error.message, scale.system), code="gas") from error


class ExchangeForm(MoveForm):
    """A full cylinder in the place of one in use, or beside it."""

    def __init__(self, *args: Any, in_use: Sequence[InUse], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.in_use = in_use
        self.fields["pack"] = self.pack_field()
        self.fields["mark"] = forms.CharField(
            label=_("Mark or number on the full one"), max_length=30, required=False
        )
        if in_use:
            self.fields["replaces"] = forms.ChoiceField(
                label=_("In the place of"),
                required=False,
                choices=[
                    *((str(one.pack.pk), _opened(one)) for one in in_use),
                    ("", _("none: one cylinder more in use")),
                ],
                initial=str(in_use[0].pack.pk),
            )
            self.fields["left"] = left_field(in_use, self.scale, label=_("Gas left in the old one"))
            self.fields["stays"] = forms.BooleanField(
                label=_("The old one stays in the shop, with its gas"), required=False
            )
        self.order_fields(["pack", "mark", "replaces", "left", "stays", "on", "reason"])

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or self.cleaned_data
        replaces = self.replaces
        left = found.get("left") or 0
        if replaces is None and left and not self.has_error("left"):
            self.add_error(
                "left", _("No cylinder goes: leave this empty, or pick the one it is in.")
            )
        elif replaces is not None and left > replaces.size:
            most = self.scale.show(replaces.size)
            self.add_error(
                "left", _("It never held so much; write at most %(most)s.") % {"most": most}
            )
        return found

    @property
    def replaces(self) -> OpenPack | None:
        picked = self.cleaned_data.get("replaces")
        return next((one.pack for one in self.in_use if str(one.pack.pk) == picked), None)


def _opened(one: InUse) -> str:
    day = one.pack.opened_at.astimezone(one.pack.item.campus.zone).date()
    words = {"pack": one.name, "day": day.isoformat(), "left": one.shown}
    return _("%(pack)s of %(day)s, about %(left)s left") % words


class FinishForm(forms.Form):
    """What is left in a pack that is put away."""

    def __init__(self, *args: Any, one: InUse, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["left"] = left_field([one], one.scale, label=_("Left in it"))
        if one.pack.item.moved_by == StockItem.MovedBy.EXCHANGE:
            self.fields["stays"] = forms.BooleanField(
                label=_("The cylinder stays in the shop, with its gas"), required=False
            )


class ReverseForm(forms.Form):
    """Why a movement was wrong."""

    reason = reason_field(label=gettext_lazy("What was wrong"), required=True)


class CountForm(forms.Form):
    """One line of the count: what was found, and why it is not what the book says."""

    def __init__(self, *args: Any, row: ShelfRow, **kwargs: Any) -> None:
        kwargs["prefix"] = f"item-{row.item.pk}"
        super().__init__(*args, **kwargs)
        self.row = row
        self.fields["found"] = AmountField(
            row.scale, label=_("Counted"), required=False, help_text=""
        )
        self.fields["reason"] = reason_field(label=_("Why it differs"))

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or self.cleaned_data
        counted = found.get("found")
        if counted is None:
            return found
        variance = counted - self.row.item.on_hand
        scale = self.row.scale
        if variance and scale.figure(counted, DIGITS) == self.row.on_hand:
            found["found"] = self.row.item.on_hand  # the book to the last digit shown
        elif variance and not found.get("reason"):
            words = {"amount": scale.show(abs(variance))}
            text = (
                _("%(amount)s more than the book says: write why, as far as known.")
                if variance > 0
                else _("%(amount)s less than the book says: write why, as far as known.")
            )
            self.add_error("reason", text % words)
        return found

    @property
    def found(self) -> int | None:
        """What was counted, base units; None where the line was left empty."""
        found: int | None = self.cleaned_data.get("found")
        return found
