"""Which metal the words for a base metal name."""

from __future__ import annotations

import re

STAINLESS = re.compile(
    r"stainless|inox|\b(?:aisi |type )?(?:30[1-9]l?|31[0-7]l?|321|347|4[0134]\d|17-4)\b"
)
ALUMINIUM = re.compile(
    r"alumini?um|\b[1-7]\d{3}-[hto]\d*\b|\b(?:1100|3003|5052|5083|5086|6061|6063)\b"
)
STEEL = re.compile(r"steel|\ba ?\d{2,3}m?\b|\bs(?:235|275|355)\w*|\bcrs\b|\bhrs\b|\biron\b|galv")


def metal_of(base_metal: str) -> str | None:
    """Return the metal that words for a base metal name, or None where they do not tell.

    "A36 plate" and "low-carbon steel sheet" are steel, "304 sheet" is stainless, "3003-H14" is
    aluminium. Designations from memory of ASTM, AISI and Aluminum Association numbering.
    """
    text = re.sub(r"stainless(?: steel)? brush", "", base_metal.casefold())
    if STAINLESS.search(text):
        return "stainless"
    if ALUMINIUM.search(text):
        return "aluminium"
    return "steel" if STEEL.search(text) else None
