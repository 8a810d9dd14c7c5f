"""The words of a quantity: numbers, units, gauges, pipe walls, each read exactly or refused."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from shared.units.tables import (
    BY_NAME,
    INCH,
    SPELLINGS,
    Dimension,
    Unit,
    fold,
    gauge_metals,
    gauges,
    gettext_noop,
    pipes,
    unit,
)
from shared.units.values import UnitError

LONGEST = 80  # characters; a quantity is never longer, and a longer text is not worth reading

_VULGAR = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5",
    "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8",
    "⅞": "7/8", "⅒": "1/10",
}  # fmt: skip
_PLAIN = str.maketrans(
    {mark: f" {text}" for mark, text in _VULGAR.items()}
    | {"⁄": "/", "″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "−": "-", "‑": "-", "—": "–"}
    | {"\u00a0": " ", "\u202f": " ", "\u2009": " ", "³": "3", "²": "2"}
)
_NUMBER = re.compile(
    r"""
    (?P<whole>0*[1-9]\d{0,8})(?:\s*-\s*|\s+)(?P<n>\d{1,9})/(?P<d>\d{1,9})   # 1-1/2, 1 1/2
    | (?P<top>\d{1,9})\s*/\s*(?P<bottom>\d{1,9})                      # 1/16
    | (?P<decimal>(?:\d{1,20}(?:[.,]\d{1,20})?|[.,]\d{1,20})(?:e[+-]?\d{1,20})?)(?![\d.])
    """,
    re.VERBOSE | re.IGNORECASE | re.ASCII,
)
_GAUGE_TERM = re.compile(
    r"(?P<number>\d{1,2})\s*-?\s*(?:ga|gauge|gage)\b\.?"
    r"(?:\s+(?!(?:to|and|or|max|min|at)\b)\(?(?P<metal>[a-z][a-z\- ]*[a-z])\)?(?=\s*$|\s*[,;–]))?",
    re.I,
)
PIPE = re.compile(
    r"(?P<size>[\d/\- ]+?)\s*(?:in\.?|\")?\s*(?:sch(?:edule)?\.?\s*)(?P<schedule>\w+)", re.I
)
PIPE_NAMED = re.compile(r"(?P<size>[\d/\- ]+?)\s*(?:in\.?|\")?\s*(?P<schedule>std|xs|xxs)", re.I)
AT_MOST = re.compile(r"(?:at most|not over|not more than|up to|max\.?|maximum|<=|≤)\s*", re.I)
AT_LEAST = re.compile(r"(?:at least|not under|not less than|min\.?|minimum|>=|≥)\s*", re.I)
OR_LESS = re.compile(r"\s*(?:max\.?|maximum|at most|or less)(?=\s*$)", re.I)
OR_MORE = re.compile(r"\s*(?:min\.?|minimum|at least|or more)(?=\s*$)", re.I)
FROM = re.compile(r"(?:from|between)\s+", re.I)
BETWEEN = re.compile(r"\s*(?:-|–|\b(?:to|and)\b|\.\.\.?|…)\s*", re.I)
_WORD = re.compile(r"[^\W\d]+")
_AFTER_NUMBER = re.compile(r"(?:to|and|max|maximum|min|minimum|at most|at least|or)\b", re.I)
PLUS_MINUS = re.compile(r"\s*(?:±|\+/-|\+-|\+\s*/\s*-)\s*")
COMMA = re.compile(r"\s*[,;]\s*")
_COMPOUND = {("ft", "in"), ("lb", "oz"), ("h", "min"), ("min", "s")}


@dataclass(frozen=True, slots=True)
class Term:
    """One number with its unit as read: `text` is the number in the usual spelling."""

    number: Fraction
    text: str
    unit: Unit | None
    gauge: bool = False  # a gauge number or the wall of a pipe: it brings its own thickness
    symbol: str = ""  # written after the number: the unit's, "ga" or nothing
    si: Fraction = Fraction(0)


class Reader:
    """Reads one text from left to right; `at` is the place reached."""

    def __init__(self, text: str, dimension: Dimension, material: str | None, bare: str | None):
        self.typed = text
        self.text = text.translate(_PLAIN).strip()
        self.at = 0
        self.dimension = dimension
        self.material = material
        self.bare = unit(bare, dimension.name) if bare else None

    def fail(
        self, template: str, accepts: Sequence[str] | None = None, **params: object
    ) -> UnitError:
        examples = self.dimension.examples if accepts is None else accepts
        return UnitError(
            template,
            got=self.typed.strip()[:LONGEST],
            accepts=examples,
            dimension=self.dimension.spoken,
            **params,
        )

    def match(self, pattern: re.Pattern[str]) -> re.Match[str] | None:
        found = pattern.match(self.text, self.at)
        if found:
            self.at = found.end()
        return found

    @property
    def done(self) -> bool:
        return self.at >= len(self.text)

    def blanks(self) -> None:
        while not self.done and self.text[self.at].isspace():
            self.at += 1

    def number(self) -> tuple[Fraction, str]:
        """Return the number at this place and its usual spelling."""
        self.blanks()
        sign = 1
        if self.text.startswith(("-", "+"), self.at):
            sign = -1 if self.text[self.at] == "-" else 1
            self.at += 1
            if sign < 0 and not self.dimension.signed:
                raise self.fail(
                    gettext_noop(
                        "“%(got)s” is below zero; write %(dimension)s such as %(accepts)s."
                    )
                )
        found = self.match(_NUMBER)
        if found is None:
            raise self.fail(
                gettext_noop(
                    "“%(got)s” cannot be read as %(dimension)s; write a number and its unit, "
                    "such as %(accepts)s."
                )
            )
        part = found.groupdict()
        prefix = "-" if sign < 0 else ""
        if part["decimal"]:
            text = part["decimal"]
            if re.fullmatch(r"[1-9]\d{0,2},\d{3}", text):
                plain = text.replace(",", "")
                raise self.fail(
                    gettext_noop(
                        "“%(got)s” may be thousands or a decimal comma; write %(accepts)s."
                    ),
                    [f"{n}{self.text[self.at :]}" for n in (plain, text.replace(",", "."))],
                )
            text = text.replace(",", ".").casefold()
            text = f"0{text}" if text.startswith(".") else text
            exponent = text.partition("e")[2]
            if exponent and abs(int(exponent)) > 30:  # 1e999999 would take minutes to work out
                raise self.fail(
                    gettext_noop(
                        "“%(got)s” is no size that occurs; write %(dimension)s such as %(accepts)s."
                    )
                )
            return sign * Fraction(text), prefix + text
        whole = int(part["whole"] or 0)
        top, bottom = int(part["n"] or part["top"]), int(part["d"] or part["bottom"])
        if bottom == 0:
            raise self.fail(
                gettext_noop("“%(got)s” divides by zero; write %(dimension)s such as %(accepts)s.")
            )
        text = f"{whole}-{top}/{bottom}" if part["whole"] else f"{top}/{bottom}"
        return sign * (whole + Fraction(top, bottom)), prefix + text

    def unit(self) -> Unit | None:
        """Return the unit at this place; None where there is none before the next separator."""
        self.blanks()
        start = self.at
        rest = self.text[start:]
        # The longest spelling first: "deg F" is no angle followed by an F.
        for length in range(min(len(rest), 12), 0, -1):
            if length < len(rest) and rest[length - 1].isalpha() and rest[length].isalpha():
                continue
            if rest[:length] != rest[:length].rstrip():
                continue
            candidates = SPELLINGS.get(fold(rest[:length]), ())
            for candidate in candidates:
                if candidate.dimension == self.dimension.name:
                    self.at = start + length
                    return candidate
            if candidates:
                raise self.fail(
                    gettext_noop(
                        "“%(got)s”: %(unit)s measures %(other)s; %(dimension)s is written such as "
                        "%(accepts)s."
                    ),
                    unit=rest[:length],
                    other=BY_NAME[candidates[0].dimension].spoken,
                )
        if (word := _WORD.match(rest)) and not _AFTER_NUMBER.match(rest):
            raise self.fail(
                gettext_noop(
                    "“%(unit)s” in “%(got)s” is no unit for %(dimension)s; write one such as "
                    "%(accepts)s."
                ),
                unit=word[0],
            )
        return None

    def term(self) -> Term:
        """Return the number and unit at this place, or the gauge, or the wall of a pipe."""
        self.blanks()
        if self.dimension.name == "length":
            if found := self.match(_GAUGE_TERM):
                return self.gauge(int(found["number"]), found["metal"] or "")
            for pattern in (PIPE, PIPE_NAMED):
                if found := pattern.match(self.text, self.at):
                    wall = pipe_wall(self, found["size"], found["schedule"])[1]
                    text = found[0].strip()
                    self.at = found.end()
                    return Term(wall, text, None, True, si=wall * INCH)
        number, text = self.number()
        found_unit = self.unit()
        if found_unit is None:
            return Term(number, text, None)
        total = _si(number, found_unit)
        before = self.at
        # 4 ft 6 in, 1 lb 2 oz
        if not found_unit.offset and (
            nxt := re.compile(r"[\s\-]*(?=\d)").match(self.text, self.at)
        ):
            self.at = nxt.end()
            try:
                second, second_text = self.number()
                second_unit = self.unit()
            except UnitError:
                second_unit = None
            if second_unit and (found_unit.symbol, second_unit.symbol) in _COMPOUND:
                return Term(
                    second,
                    f"{text} {found_unit.symbol} {second_text}",
                    second_unit,
                    si=total + _si(second, second_unit),
                )
            self.at = before
        return Term(number, text, found_unit, si=total)

    def gauge(self, number: int, metal: str) -> Term:
        """Return the sheet thickness of a gauge number of the named or given metal."""
        name = metal.strip(" ()") or self.material or ""
        self.material = name  # "11 to 14 ga steel" names it once
        if not name:
            raise self.fail(
                gettext_noop(
                    "“%(got)s”: a gauge means a different thickness for each metal; name the metal "
                    "or write the thickness, such as %(accepts)s."
                ),
                [f"{number} ga steel", "0.060 in", "1.5 mm"],
            )
        table = gauges(name)
        if table is None:
            raise self.fail(
                gettext_noop(
                    "“%(got)s”: there is no gauge table for %(metal)s, only for %(metals)s; "
                    "write the thickness, such as %(accepts)s."
                ),
                ["0.060 in", "1.5 mm"],
                metal=name,
                metals=", ".join(gauge_metals()),
            )
        if number not in table:
            raise self.fail(
                gettext_noop(
                    "“%(got)s”: gauges of %(metal)s go from %(first)s to %(last)s; write one of "
                    "these or the thickness, such as %(accepts)s."
                ),
                [f"{max(table)} ga", "0.060 in", "1.5 mm"],
                metal=name,
                first=min(table),
                last=max(table),
            )
        return Term(Fraction(number), str(number), None, True, "ga", table[number] * INCH)

    def settle(self, term: Term, other: Unit | None = None, *, gauge: bool = False) -> Term:
        """Return `term` with a value: by its own unit, else `other`, else the field's."""
        if term.gauge or term.unit is not None:
            return term
        if gauge and term.text.isdecimal():
            return self.gauge(int(term.text), "")
        if other is None and self.bare is not None:
            other = self.bare
        if other is None and self.dimension.bare:
            other = unit("", self.dimension.name)
        if other is None:
            raise self.fail(
                gettext_noop(
                    "“%(got)s” has no unit; write %(dimension)s with its unit, such as %(accepts)s."
                ),
                self.with_unit(term),
            )
        return Term(term.number, term.text, other, si=_si(term.number, other))

    def with_unit(self, term: Term) -> list[str]:
        """Return how the number typed could be meant."""
        if self.dimension.name != "length":
            examples = self.dimension.examples
            return [f"{term.text} {example.split(' ', 1)[1]}" for example in examples]
        meant = [f"{term.text} in"] if "/" in term.text else [f"{term.text} mm", "1/4 in"]
        steel = gauges("steel") or {}
        return [f"{term.text} ga", *meant] if term.number in steel else meant

    def check(self, value: Fraction) -> float:
        """Return `value` (SI) as the nearest float; refuse what cannot be meant."""
        low = Fraction(0)
        if not low <= value <= Fraction(self.dimension.top):
            template = (
                gettext_noop(
                    "“%(got)s” is below what there is; write %(dimension)s such as %(accepts)s."
                )
                if value < low
                else gettext_noop(
                    "“%(got)s” is too large; write %(dimension)s such as %(accepts)s."
                )
            )
            raise self.fail(template)
        return float(value)

    def end(self) -> None:
        self.blanks()
        if not self.done:
            raise self.fail(
                gettext_noop(
                    "“%(rest)s” in “%(got)s” cannot be read; write %(dimension)s such as "
                    "%(accepts)s."
                ),
                rest=self.text[self.at :].strip(),
            )


def _si(number: Fraction, found: Unit) -> Fraction:
    return (number + found.offset) * found.factor


def pipe_wall(reader: Reader, size: str, schedule: str) -> tuple[str, Fraction, Fraction]:
    """Return the nominal size, the wall and the outside diameter in inches."""
    nominal = Reader(size, BY_NAME["length"], None, None)
    _number, name = nominal.number()
    row = pipes().get(name) if nominal.done else None
    if row is None:
        raise reader.fail(
            gettext_noop("“%(got)s” is no pipe size known here; known are %(accepts)s."),
            [f"{known} in sch 40" for known in pipes()],
        )
    walls = row["wall"]
    wall = walls.get(schedule.upper())
    if wall is None:
        raise reader.fail(
            gettext_noop("“%(got)s” is no wall known here for that pipe; known are %(accepts)s."),
            [f"{name} in sch {known}" for known in walls],
        )
    return name, Fraction(str(wall)), Fraction(str(row["outside"]))
