"""Densities of metals, and what a filler's class says of its metal (`tables/materials.toml`)."""

from __future__ import annotations

from curriculum.core.defaults import sourced, table
from curriculum.core.sentence import Sentence as _
from curriculum.core.steps import Input


def metals() -> tuple[str, ...]:
    """Return the metals that have a density."""
    return tuple(table("materials")["metal"])


def density(metal: str) -> Input:
    """Return the density of `metal` in kg/m³ with its source.

    Raises
    ------
    ValueError
        If the metal has no row; the message names those that have.
    """
    row = table("materials")["metal"].get(metal)
    if row is None:
        known = ", ".join(metals())
        raise ValueError(
            _("no density for %(metal)s; there are %(known)s", metal=metal, known=known)
        )
    source = _("%(metal)s: %(source)s", metal=_(metal), source=sourced(row))
    return Input(float(row["density_kg_m3"]), "kg/m3", source)


def filler_metal(filler_class: str, base_metal: str) -> str:
    """Return the metal of a filler by its class, or the base metal where the class says nothing."""
    name = filler_class.replace(" ", "").upper()
    for row in table("materials")["filler_class"]:
        if name.startswith(row["prefix"]):
            return str(row["metal"])
    return base_metal
