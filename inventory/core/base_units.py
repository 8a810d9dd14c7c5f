"""Base-unit integers at the edge: read as people write stock, shown in units they buy in. Pure.

    scale = Scale("mg", packs=(PackSize("can, 10 lb", 4_535_924),), piece_mg=34_000)
    scale.read("2 cans + 3 lb")   → 10_432_625
    scale.show(10_432_625)        → Shown("23", "lb")
    scale.typed(4_535_924)        → "10 lb", which reads back as 4_535_924

Quantities are whole milligrams, square millimetres, millimetres, millilitres or pieces. Every
conversion is exact and rounded once, to the nearest base unit, halves upwards.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from math import floor

from shared.units import Shown, UnitError
from shared.units.figures import significant_text
from shared.units.reader import LONGEST, Reader
from shared.units.tables import BY_NAME, FOOT, LITRE, POUND, gettext_noop

QUANTITY_MAX = 10**15
DIGITS = 4  # significant, of a figure shown; whole digits are never dropped
MINUS = "−"
LONGEST_SIDE_M = 100

# Base unit → dimension it is written in, base units in one SI unit.
_DIMENSION = {
    "mg": ("mass", 10**6),
    "mm2": ("area", 10**6),
    "mm": ("length", 1000),
    "mL": ("volume", 10**6),
    "piece": ("count", 1),
}
# Base unit → system → unit of a column of figures, its size in SI.
_COLUMN: dict[str, dict[str, tuple[str, Fraction]]] = {
    "mg": {"us": ("lb", POUND), "metric": ("kg", Fraction(1))},
    "mm2": {"us": ("ft²", FOOT**2), "metric": ("m²", Fraction(1))},
    "mm": {"us": ("ft", FOOT), "metric": ("m", Fraction(1))},
    "mL": {"us": ("ft³", FOOT**3), "metric": ("L", LITRE)},
    "piece": {"us": ("", Fraction(1)), "metric": ("", Fraction(1))},
}
_PACKS = ("pack", "packs", "paquete", "paquetes")
_PIECES = ("rod", "electrode", "piece", "pc", "pcs", "varilla", "electrodo", "pieza")
_COUNTED = re.compile(r"(?P<number>[\d.,][\d\s.,/\-]*?)\s*(?:[×x]\s*)?(?P<word>[^\W\d].*)", re.I)
_BARE = re.compile(r"[\d.,][\d\s.,/\-]*|[½⅓⅔¼¾]")
_BY = re.compile(r"\s*(?:×|\*|\bby\b|(?<![a-z])x(?![a-z])|(?<=\d)x(?=\s*\d))\s*", re.I)
_WORD = re.compile(r"[^\W\d]+(?:\s+(?!of\b|de\b)[^\W\d]+)*")


@dataclass(frozen=True, slots=True)
class PackSize:
    """A pack by its name, such as "can, 50 lb", and its content in base units (> 0)."""

    name: str
    size: int

    @property
    def word(self) -> str:
        """What people call one of it: "can", "box", "sheet"; the whole name where it has none."""
        found = _WORD.match(self.name.strip())
        return found[0] if found else self.name.strip()


@dataclass(frozen=True, slots=True)
class Scale:
    """How the quantities of one item are written for one reader.

    Parameters
    ----------
    base : str
        mg, mm2, mm, mL or piece.
    system : str
        "us" (lb, ft², ft, ft³) or "metric" (kg, m², m, L).
    packs : tuple of PackSize
        Packs that may be named, the one bought by default first.
    by_pack : bool
        Show in packs of the first kind, as sheets are counted.
    strip : Fraction, optional
        Square millimetres in a millimetre of bar or pipe: areas are then read and shown as length.
    piece_mg : int, optional
        Mass of one rod or electrode, mg: weights may then be read and shown as pieces.
    """

    base: str
    system: str = "us"
    packs: tuple[PackSize, ...] = ()
    by_pack: bool = False
    strip: Fraction | None = None
    piece_mg: int | None = None

    def __post_init__(self) -> None:
        if self.base not in _DIMENSION:
            raise ValueError(f"base must be one of {', '.join(_DIMENSION)}, got {self.base!r}")
        if self.system not in ("us", "metric"):
            raise ValueError(f"system must be us or metric, got {self.system!r}")
        if any(pack.size < 1 for pack in self.packs):
            raise ValueError("a pack holds more than nothing")
        if self.strip is not None and (self.base != "mm2" or self.strip <= 0):
            raise ValueError(f"strip must be above 0 and is for mm2 alone, got {self.strip}")
        if self.piece_mg is not None and self.piece_mg < 1:
            raise ValueError(f"piece_mg must be 1 or more, got {self.piece_mg}")

    @property
    def unit(self) -> str:
        """The unit of a column of this item's figures; empty for pieces."""
        return self._column[0]

    @property
    def per_unit(self) -> Fraction:
        """Base units in one `unit`."""
        return self._column[1]

    @property
    def _column(self) -> tuple[str, Fraction]:
        if self.by_pack and self.packs:
            return self.packs[0].word, Fraction(self.packs[0].size)
        if self.strip is not None:
            unit, metres = _COLUMN["mm"][self.system]
            return unit, metres * 1000 * self.strip
        unit, si = _COLUMN[self.base][self.system]
        return unit, si * _DIMENSION[self.base][1]

    def figure(self, quantity: float | Fraction, digits: int = DIGITS) -> str:
        """Return `quantity` (base units) in `unit`, to so many significant digits.

        Whole digits are never dropped; below zero it carries a minus sign, not a hyphen.
        """
        number = Fraction(quantity) / self.per_unit
        text = significant_text(abs(number), digits)
        return f"{MINUS}{text}" if number < 0 and text.strip("0.") else text

    def show(self, quantity: float | Fraction, digits: int = DIGITS) -> Shown:
        """Return figure and unit of `quantity` (base units)."""
        return Shown(self.figure(quantity, digits), self.unit)

    def typed(self, quantity: int) -> str:
        """Return the shortest text that `read` takes for exactly `quantity` (0 to 10**15)."""
        if not 0 <= quantity <= QUANTITY_MAX:
            raise ValueError(f"quantity must lie between 0 and {QUANTITY_MAX}, got {quantity}")
        number = Fraction(quantity) / self.per_unit
        places = 0
        while _nearest(round(number, places) * self.per_unit) != quantity:
            places += 1
        return str(Shown(_decimal(round(number, places), places), self.unit))

    def pieces(self, quantity: float | Fraction) -> int | None:
        """Return the rods or electrodes in `quantity`, to the nearest; None if none is known."""
        if self.base == "piece":
            return _nearest(Fraction(quantity))
        return None if self.piece_mg is None else _nearest(Fraction(quantity) / self.piece_mg)

    def in_packs(self, quantity: float | Fraction, pack: PackSize, digits: int = 3) -> str:
        """Return how many of `pack` are in `quantity`: "2.4"."""
        return Scale(self.base, packs=(pack,), by_pack=True).figure(quantity, digits)

    def read(self, text: str) -> int:
        """Return the base units of a text such as "10 lb", "2 sheets", "330 ft3", "2 cans + 3 lb".

        A bare number stands in `unit`, which must stand beside the field. Packs are named by
        their word or whole name, the first of them also as "packs"; rods and electrodes count
        where the weight of one is known; an area may be a size ("4 × 8 ft"), of a bar a length.

        Raises
        ------
        UnitError
            If the text is no such quantity, a pack's word means several, pieces are not whole, or
            it is over 10**15 base units; says what would be accepted.
        """
        shown = text.strip()
        if not shown:
            raise self._fail(gettext_noop("Nothing is written; write such as %(accepts)s."), text)
        if len(shown) > LONGEST:
            raise self._fail(gettext_noop("That is too long; write such as %(accepts)s."), text)
        total = sum((self._part(part.strip(), text) for part in shown.split("+")), Fraction(0))
        if self.base == "piece" and total.denominator != 1:
            raise self._fail(
                gettext_noop("“%(got)s” is no whole number of pieces; write such as %(accepts)s."),
                text,
            )
        quantity = _nearest(total)
        if quantity > QUANTITY_MAX:
            raise self._fail(
                gettext_noop("“%(got)s” is more than a shelf holds; write such as %(accepts)s."),
                text,
            )
        return quantity

    def _part(self, part: str, text: str) -> Fraction:
        found = _COUNTED.fullmatch(part)
        each = self._named(found["word"], text) if found else None
        try:
            if found and each:
                return _count(found["number"]) * each
            return self._measured(part)
        except UnitError as error:
            raise self._fail(
                gettext_noop("“%(got)s” cannot be read; write such as %(accepts)s."), text
            ) from error

    def _measured(self, part: str) -> Fraction:
        if _BARE.fullmatch(part):
            return _count(part) * self.per_unit
        if self.base == "mm2" and len(sides := _BY.split(part)) == 2:
            width, length = _sides(*sides)
            return width * length * 10**6
        if self.strip is not None:
            try:
                return _exact(part, "length") * 1000 * self.strip
            except UnitError:
                pass  # it may be an area
        dimension, factor = _DIMENSION[self.base]
        return _exact(part, dimension) * factor

    def _named(self, word: str, text: str) -> Fraction | None:
        """Return the base units of what `word` names, or None where it names nothing here."""
        name = " ".join(word.casefold().split())
        whole = {pack.size for pack in self.packs if pack.name.casefold() == name}
        sizes = whole or {pack.size for pack in self.packs if name in _spelled(pack.word)}
        if len(sizes) > 1:
            raise self._fail(
                gettext_noop("“%(got)s” may mean several packs; write such as %(accepts)s."),
                text,
                tuple(f"2 × {pack.name}" for pack in self.packs if name in _spelled(pack.word)),
            )
        if sizes:
            return Fraction(sizes.pop())
        if name in _PACKS and self.packs:
            return Fraction(self.packs[0].size)
        if any(name in _spelled(piece) for piece in _PIECES):
            if self.base == "piece":
                return Fraction(1)
            return None if self.piece_mg is None else Fraction(self.piece_mg)
        return None

    @property
    def examples(self) -> tuple[str, ...]:
        """Texts that `read` takes, for the help beside a field."""
        found = ["12"] if self.base == "piece" else []
        if self.base != "piece":
            unit = _COLUMN["mm" if self.strip is not None else self.base][self.system][0]
            found.append(f"10 {unit}")
        if self.packs:
            found.append(f"2 × {self.packs[0].word}")
        if self.piece_mg is not None:
            found.append("40 pcs")
        return tuple(found)

    def _fail(self, template: str, text: str, accepts: tuple[str, ...] | None = None) -> UnitError:
        got = text.strip()[:LONGEST]
        return UnitError(template, got=got, accepts=self.examples if accepts is None else accepts)


@dataclass(frozen=True, slots=True)
class SheetSize:
    """Sides in whole micrometres, as kept with a pack, and the exact area in mm²."""

    width_um: int
    length_um: int
    mm2: int


def read_size(text: str) -> SheetSize:
    """Return the size of a sheet or strip written as "4 × 8 ft", "48 in x 96 in" or "2 in x 20 ft".

    The shorter side is the width; a unit that stands once counts for both. The area is of the
    sides as written, not of the rounded ones. Raises UnitError.
    """
    sides = _BY.split(text.strip()[:LONGEST])
    if len(sides) != 2:
        raise _no_size(text)
    try:
        width, length = sorted(_sides(*sides))
    except UnitError as error:
        raise _no_size(text) from error
    if not 0 < width <= length <= LONGEST_SIDE_M:
        raise _no_size(text)
    return SheetSize(
        max(1, _nearest(width * 10**6)),
        max(1, _nearest(length * 10**6)),
        max(1, _nearest(width * length * 10**6)),
    )


def _no_size(text: str) -> UnitError:
    return UnitError(
        gettext_noop(
            "“%(got)s” is no size; write both sides with their unit, such as %(accepts)s."
        ),
        got=text.strip()[:LONGEST],
        accepts=("48 × 96 in", "4 ft × 8 ft", "1250 × 2500 mm"),
    )


def _sides(first: str, second: str) -> tuple[Fraction, Fraction]:
    """Return two lengths in metres; the first may leave its unit to the second."""
    reader = Reader(second, BY_NAME["length"], None, None)
    other = reader.settle(reader.term())
    reader.end()
    bare = other.unit.symbol if other.unit else None
    return _exact(first, "length", bare), other.si


def _exact(text: str, dimension: str, bare: str | None = None) -> Fraction:
    """Return the SI value of a text, exactly; raise UnitError."""
    reader = Reader(text, BY_NAME[dimension], None, bare)
    term = reader.settle(reader.term())
    reader.end()
    return term.si


def _count(text: str) -> Fraction:
    return _exact(text, "count")


def _spelled(word: str) -> tuple[str, ...]:
    """Return `word` as it may be written, in the singular and the plural."""
    name = " ".join(word.casefold().split())
    return (name, f"{name}s", f"{name}es")


def _nearest(value: Fraction) -> int:
    return floor(value + Fraction(1, 2))


def _decimal(number: Fraction, places: int) -> str:
    """Return a number that has at most `places` decimals, written out."""
    whole, rest = divmod(_nearest(number * 10**places), 10**places)
    return f"{whole}.{rest:0{places}}".rstrip("0") if rest else str(whole)
