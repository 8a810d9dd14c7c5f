"""What cuts blanks: shear, saws, flame and plasma."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from django.db import models
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from shared.fields import MeasureField
from shared.people.models import Role

if TYPE_CHECKING:
    from shared.people.models import User


class CuttingMachineQuerySet(models.QuerySet["CuttingMachine"]):
    def visible_to(self, user: User) -> Self:
        """Those of the campuses where the user buys, teaches or manages."""
        return self.filter(
            campus__memberships__user=user,
            campus__memberships__role__in=[Role.INSTRUCTOR, Role.CLERK, Role.MANAGER],
        ).distinct()

    def working(self) -> Self:
        return self.filter(is_down=False)


class CuttingMachine(models.Model):
    """A machine that cuts blanks, with what a cut takes and what it can hold and cut.

    An empty limit is no limit; an empty thickness says that the metal is not cut on it.
    """

    class Kind(models.TextChoices):
        SHEAR = "shear", _("shear")
        BANDSAW = "bandsaw", _("bandsaw")
        COLD_SAW = "cold saw", _("cold saw")
        CHOP_SAW = "chop saw", _("chop saw")
        FLAME = "flame", _("cutting torch")
        PLASMA = "plasma", _("plasma torch")

    campus = models.ForeignKey("people.Campus", models.PROTECT, related_name="cutting_machines")
    kind = models.CharField(_("kind"), max_length=10, choices=Kind)
    name = models.CharField(_("name"), max_length=60)
    kerf_m: float  # columns of the quantities below
    trim_m: float
    narrowest_m: float
    longest_m: float | None
    kerf = MeasureField("length", high=0.05, null=False, verbose_name=_("what a cut takes"))
    trim = MeasureField("length", high=0.2, null=False, verbose_name=_("trimmed off each edge"))
    narrowest = MeasureField(
        "length", high=1, null=False, verbose_name=_("narrowest strip it holds")
    )
    longest = MeasureField("length", high=100, verbose_name=_("longest cut"))
    steel = MeasureField("length", high=0.5, verbose_name=_("thickest steel"))
    stainless = MeasureField("length", high=0.5, verbose_name=_("thickest stainless"))
    aluminium = MeasureField("length", high=0.5, verbose_name=_("thickest aluminium"))
    stages = models.PositiveSmallIntegerField(_("stages of cuts"), default=2)
    signoff = models.CharField(_("sign-off needed"), max_length=60, blank=True)
    note = models.CharField(_("note"), max_length=200, blank=True)
    is_down = models.BooleanField(_("machine down"), default=False)

    objects = CuttingMachineQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["campus", "name"],
                name="cuttingmachine_name_once",
                violation_error_message=_("There is a machine of this name; write another."),
            ),
            models.CheckConstraint(
                condition=models.Q(stages__in=[2, 3]),
                name="cuttingmachine_stages",
                violation_error_message=_("Cuts go in 2 or 3 stages."),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("inventory:machine", args=[self.pk])

    def cuts(self, metal: str, thickness_m: float) -> bool:
        """Say whether it cuts `metal` (steel, stainless, aluminium) of a thickness in metres."""
        thickest: float | None = getattr(self, f"{metal}_m", None)
        return thickest is not None and thickness_m <= thickest + 1e-9
