"""What the name of an electrode, wire or rod says: its kind and its metal.

Classes of AWS A5.1 to A5.29 and ISO 6848, from memory. A name that fits none says nothing.
"""

from __future__ import annotations

import re
from functools import lru_cache

KINDS = {
    "tungsten": r"E?W(P|G|TH|T|LA|L|CE|C|ZR|Z|X|S)(-?\d[\d.,]*)?|.*(TUNGSTEN|WOLFRAM|LANTHAN|THORI"
    r"|CERIA|CERIUM|ZIRCON).*|PURE",
    "covered": r"E\d{4,5}(?!\d)(?!.*T\d).*|E(2|3)\d\d[A-Z]*-1[5678].*|ENI.*-\d|ECU.*",
    "cored": r"E\d{1,3}T\d*(-.*)?|E\d{2,3}T\d.*|E(2|3|4)\d\d[A-Z]*T\d.*",
    "metal cored": r"E\d{2,3}C.*|EC\d{3}.*",
    "solid": r"ER\d.*|ER[A-Z]+.*",
    "gas rod": r"RG?\d{2}|R\d{4}.*",
}
METALS = {
    "aluminium": r"(ER|R|E)(1100|1188|2319|3003|4008|4010|4043|4047|4145|4643|4943|5087|5183|5356"
    r"|5554|5556|5654)[A-Z]?",
    "stainless": r"(ER|EC|E)(2209|2594|2\d\d|3\d\d|4[0-46]\d|630)(?!\d)(?!\d*T\d{3}).*",
    "steel": r"(ER|E)(49|55|6\d|7\d|8\d|9\d|1[0-2]\d)(S|T|C|\d{2}(?!\d)).*|RG?(45|60|65)"
    r"|E(6|7)\d?T.*",
}


def _plain(name: str) -> str:
    return re.sub(r"\s+", "", name).upper()


@lru_cache(maxsize=1024)
def kind_of(name: str) -> str:
    """Return "tungsten", "covered", "cored", "metal cored", "solid", "gas rod", or ""."""
    plain = _plain(name)
    return next((kind for kind, known in KINDS.items() if re.fullmatch(known, plain)), "")


@lru_cache(maxsize=1024)
def metal_of_filler(name: str) -> str:
    """Return the metal that a filler's class names, or "" where it does not tell."""
    plain = _plain(name)
    return next((metal for metal, known in METALS.items() if re.fullmatch(known, plain)), "")


def covered_class(name: str) -> str:
    """Return the AWS class with its digits alone, "E7018" of "E7018-1 H4R"; empty if none."""
    match = re.match(r"E\s?(\d{4,5})(?!\d)", name.strip(), re.I)
    return f"E{match[1]}" if match else ""


def position_digit(name: str) -> str:
    """Return the digit of a covered or flux cored class that says the positions; empty if none.

    "1" all positions, "2" flat and horizontal fillets, "4" all and vertical down; of a flux
    cored wire "0" flat and horizontal, "1" all (AWS A5.1 and A5.20, from memory).
    """
    covered = covered_class(name)
    if covered and metal_of_filler(name) != "aluminium":
        return covered[-2]
    cored = re.match(r"E\s?\d{1,2}([01])T", name.strip(), re.I)
    return cored[1] if cored else ""


def usability(name: str) -> str:
    """Return what stands behind the T of a flux cored wire: "1", "11", "8", "GS"; else ""."""
    match = re.match(r"E\s?\d{2,3}T[X-]?-?(\d{1,2}|GS|G)", name.strip(), re.I)
    return match[1].upper() if match else ""


def low_hydrogen(name: str) -> bool:
    """Say whether a covered electrode is basic: its class ends in 15, 16, 18, 28 or 48."""
    covered = covered_class(name)
    return kind_of(name) == "covered" and covered[-2:] in ("15", "16", "18", "28", "48")


def cellulosic(name: str) -> bool:
    """Say whether a covered electrode has a cellulose covering: its class ends in 10 or 11."""
    return kind_of(name) == "covered" and covered_class(name)[-2:] in ("10", "11")
