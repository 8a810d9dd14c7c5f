"""One key for one thing on the shelf, shared by what a setup needs and by what is in stock."""

from __future__ import annotations

import re
from functools import lru_cache

BASE_UNIT = {
    "sheet": "m2",
    "bar": "m2",
    "pipe": "m2",
    "backing": "m2",
    "rod": "kg",
    "electrode": "kg",
    "wire": "kg",
    "gas": "m3",
    "tungsten": "1",
    "wear": "1",
    "abrasive": "1",
    "sundry": "1",
}
"""Kinds of stock with the unit of their quantities; a pipe's area is its wall, rolled out."""

_NAMED = {
    "metal": ("sheet", "bar", "pipe", "backing"),
    "class": ("rod", "electrode", "wire", "tungsten"),
    "name": ("gas", "wear", "abrasive", "sundry"),
}
_NUMBERS = {
    "sheet": ("thickness_m",),
    "bar": ("thickness_m", "width_m"),
    "backing": ("thickness_m", "width_m"),
    "pipe": ("thickness_m", "width_m"),
    "rod": ("diameter_m",),
    "electrode": ("diameter_m",),
    "wire": ("diameter_m",),
    "tungsten": ("diameter_m",),
}
_METALS = {
    "mild steel": "steel",
    "low-carbon steel": "steel",
    "carbon steel": "steel",
    "stainless steel": "stainless",
    "aluminum": "aluminium",
}
_SYMBOLS = {
    "argon": "ar",
    "carbon dioxide": "co2",
    "helium": "he",
    "oxygen": "o2",
    "nitrogen": "n2",
    "hydrogen": "h2",
}
_GASES = {symbol: name for name, symbol in _SYMBOLS.items()} | {"c2h2": "acetylene"}
_PART = re.compile(r"(ar|co2|he|o2|n2|h2)\b")
_SHARE = re.compile(r"(?<![a-z0-9.])\d+(?:\.\d+)?(?![a-z0-9.])")


def nearest_tenth_um(metres: float) -> int:
    """Return a length in whole micrometres on a grid of 0.1 mm, halves upwards.

    So 1/8 in and 3.2 mm agree, 1/16 in and 1.6 mm, 0.035 in and 0.9 mm, 16 ga sheet and 1.5 mm,
    while 11 ga (3.0 mm) stays apart from 1/8 in. Pairs that round apart, such as 0.045 in and
    1.2 mm wire, are different items.
    """
    if not 0 < metres < 10:
        raise ValueError(f"a size must lie between 0 and 10 m, got {metres}")
    return (round(metres * 1e6) + 50) // 100 * 100


@lru_cache(maxsize=1024)
def gas_name(text: str) -> str:
    """Return the canonical name of a gas: "argon", "75 ar/25 co2" (largest share first)."""
    name = " ".join(text.casefold().replace("₂", "2").split())
    if name in _GASES:
        return _GASES[name]
    if name == "c25":
        return "75 ar/25 co2"
    for word, symbol in _SYMBOLS.items():
        name = re.sub(rf"\b{word}\b", symbol, name)
    if name in _GASES:
        return _GASES[name]
    spaced = re.sub(r"(\d)\s*%?\s*(?=ar\b|co2\b|he\b|o2\b|n2\b|h2\b)", r"\1 ", name)
    parts = _PART.findall(spaced)
    shares = [float(share) for share in _SHARE.findall(spaced.replace("%", " "))]
    if len(parts) > 1 and len(shares) == len(parts) and abs(sum(shares) - 100) < 0.01:
        mixed = sorted(zip(shares, parts, strict=True), key=lambda one: (-one[0], one[1]))
        return "/".join(f"{share:g} {part}" for share, part in mixed)
    return name


def is_air(text: str) -> bool:
    """Tell whether a gas is air: it comes from the shop's compressor, not out of a cylinder."""
    return gas_name(text) in ("air", "compressed air")


def spec_key(
    kind: str,
    *,
    name: str = "",
    metal: str = "",
    thickness_m: float | None = None,
    width_m: float | None = None,
    diameter_m: float | None = None,
) -> str:
    """Return the key that a setup's need and a stock item share.

    Parameters
    ----------
    kind : str
        One of `BASE_UNIT`.
    name : str
        The class of a rod, electrode, wire or tungsten ("E7018"), else the name of the thing.
    metal : str
        For sheet, bar, pipe and backing: steel, stainless, aluminium.
    thickness_m, width_m, diameter_m : float
        Metres, above 0; what the kind does not use is ignored (sheet is matched by metal and
        thickness alone). `width_m` of a pipe is its outside diameter, `diameter_m` of a wear part
        its bore.

    Raises
    ------
    ValueError
        If the kind is unknown, or a part of the key is missing.
    """
    if kind not in BASE_UNIT:
        raise ValueError(f"no such kind of stock: {kind!r}; there are {', '.join(BASE_UNIT)}")
    word = " ".join((metal if kind in _NAMED["metal"] else name).casefold().split())
    if not word:
        raise ValueError(f"{kind} needs {'a metal' if kind in _NAMED['metal'] else 'a name'}")
    if kind in _NAMED["class"]:
        word = word.replace(" ", "").upper()
    elif kind == "gas":
        word = gas_name(word)
    else:
        word = _METALS.get(word, word)
    sizes = {"thickness_m": thickness_m, "width_m": width_m, "diameter_m": diameter_m}
    keyed = [kind, word]
    for which in _NUMBERS.get(kind, ("diameter_m",) if kind == "wear" and diameter_m else ()):
        size = sizes[which]
        if size is None:
            raise ValueError(f"{kind} needs {which.removesuffix('_m')}")
        keyed.append(str(nearest_tenth_um(size)))
    return ":".join(keyed)
