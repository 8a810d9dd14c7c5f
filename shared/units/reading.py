"""Reading quantities as people write them; an own grammar, exact in every digit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from shared.units.figures import SAME, number_text
from shared.units.reader import (
    AT_LEAST,
    AT_MOST,
    BETWEEN,
    COMMA,
    FROM,
    LONGEST,
    OR_LESS,
    OR_MORE,
    PIPE,
    PIPE_NAMED,
    PLUS_MINUS,
    Reader,
    Term,
    pipe_wall,
)
from shared.units.tables import BY_NAME, DIMENSIONS, INCH, gauge_metals, gettext_noop
from shared.units.values import Measure, Range, UnitError


@dataclass(frozen=True, slots=True)
class Pipe:
    """A pipe of the standard sizes: outside diameter and wall, both lengths."""

    size: str
    schedule: str
    outside: Measure
    wall: Measure


@lru_cache(maxsize=4096)
def _read(
    text: str, dimension: str, material: str | None, bare: str | None, as_range: bool
) -> tuple[Term | None, Term | None, Term | None]:
    """Return low, high and start as terms; of a single value all three are it."""
    if dimension not in BY_NAME:
        raise ValueError(f"dimension must be one of {', '.join(BY_NAME)}, got {dimension!r}")
    reader = Reader(text, BY_NAME[dimension], material, bare)
    if not reader.text:
        raise reader.fail(
            gettext_noop("Nothing is written; write %(dimension)s such as %(accepts)s.")
        )
    if len(reader.text) > LONGEST:
        raise reader.fail(
            gettext_noop("That is too long for %(dimension)s; write one such as %(accepts)s.")
        )
    if not as_range:
        only = reader.term()
        if reader.match(BETWEEN) or reader.match(COMMA):
            raise reader.fail(
                gettext_noop(
                    "“%(got)s” holds more than one figure; write one, such as %(accepts)s."
                )
            )
        only = reader.settle(only)
        reader.end()
        reader.check(only.si)
        return only, only, only
    return _read_range(reader)


def _read_range(reader: Reader) -> tuple[Term | None, Term | None, Term | None]:
    """Return low, high and start: a range, or the figure to start with, a comma and a range."""
    low, high, start = _read_bounds(reader, None)
    if low is high and reader.match(COMMA):
        stated = low
        low, high, _middle = _read_bounds(reader, stated)
        start = stated
    reader.end()
    terms = (low, high, start)
    known = next((term.unit for term in (high, low, start) if term and term.unit), None)
    gauge = any(term.symbol == "ga" for term in terms if term)
    low, high, start = (term and reader.settle(term, known, gauge=gauge) for term in terms)
    if low and high and low.gauge and high.gauge and low.si > high.si:
        low, high = high, low  # gauge numbers fall as the sheet grows
    for term in (low, high, start):
        if term is not None:
            reader.check(term.si)
    if low and high and low.si > high.si:
        raise reader.fail(
            gettext_noop("“%(got)s” runs downwards; write the smaller figure first: %(accepts)s."),
            [f"{_written(high)} to {_written(low)}"],
        )
    if start and ((low and start.si < low.si) or (high and start.si > high.si)):
        span = [_written(term) for term in (low, high) if term]
        lead = "" if low and high else "at most " if high else "at least "
        raise reader.fail(
            gettext_noop(
                "“%(got)s”: the figure to start with lies outside its range; write it within, "
                "such as %(accepts)s."
            ),
            [f"{span[0]}, {lead}{' to '.join(span)}"],
        )
    return low, high, start


def _read_bounds(
    reader: Reader, before: Term | None
) -> tuple[Term | None, Term | None, Term | None]:
    """Return low, high and the middle if stated; of one figure alone all three are it."""
    for pattern, is_low in ((AT_MOST, False), (AT_LEAST, True)):
        if reader.match(pattern):
            bound = reader.term()
            return (bound, None, None) if is_low else (None, bound, None)
    reader.match(FROM)
    first = reader.term()
    for pattern, is_low in ((OR_LESS, False), (OR_MORE, True)):
        if reader.match(pattern):
            return (first, None, None) if is_low else (None, first, None)
    if reader.match(PLUS_MINUS):
        return _around(reader, first, reader.term(), before)
    if reader.match(BETWEEN):
        return first, reader.term(), None
    return first, first, first


def _around(
    reader: Reader, middle: Term, reach: Term, before: Term | None
) -> tuple[Term, Term, Term]:
    """Return the bounds of `middle` ± `reach`."""
    known = middle.unit or reach.unit or (before.unit if before else None)
    middle, reach = reader.settle(middle, known), reader.settle(reach, known)
    if middle.unit is None or reach.unit is None or middle.unit.offset:
        raise reader.fail(
            gettext_noop("“%(got)s” cannot be read; write both bounds, such as %(accepts)s."),
            [f"{example} to {example}" for example in reader.dimension.examples[:1]],
        )
    spread = reach.si
    terms = []
    for si in (middle.si - spread, middle.si + spread):
        reader.check(si)
        number = si / middle.unit.factor
        terms.append(Term(number, number_text(number, middle.unit), middle.unit, si=si))
    return terms[0], terms[1], middle


def _written(term: Term) -> str:
    return f"{term.text} {term.unit.symbol if term.unit else term.symbol}".strip()


def _kept(text: str, dimension: str, material: str | None, bare: str | None, many: bool) -> str:
    """Return what is kept as typed: with the field's unit where the text has none of its own."""
    text = " ".join(text.split())
    if bare is not None:
        try:
            _read(text, dimension, material, None, many)
        except UnitError:
            return f"{text} {bare}"
    return text


def parse_measure(
    text: str, dimension: str, *, material: str | None = None, bare_unit: str | None = None
) -> Measure:
    """Read one value, such as "1-1/2 in", "16 ga", "3.2 mm", "20 cfh", "45°" or "2 in sch 80".

    Parameters
    ----------
    text : str
        As typed; up to 80 characters. Fractions, decimal point or comma.
    dimension : str
        A key of `DIMENSIONS`.
    material : str, optional
        Metal whose gauge table counts; without it a gauge must name its metal ("16 ga steel").
    bare_unit : str, optional
        Unit of a bare number, only where it stands beside the field. `typed` then carries it.

    Returns
    -------
    Measure
        SI value, correctly rounded from the exact figure. A pipe gives its wall.

    Raises
    ------
    UnitError
        If the text is no such quantity; says what would be accepted.
    """
    only = _read(text, dimension, material, bare_unit, False)[0]
    assert only is not None  # noqa: S101  # a single value has itself as bound
    typed = _kept(text, dimension, material, bare_unit, False)
    return Measure(float(only.si), DIMENSIONS[dimension], typed)


def parse_range(
    text: str, dimension: str, *, material: str | None = None, bare_unit: str | None = None
) -> Range:
    """Read a range, such as "85-95 A", "14 cfh, 12 to 16", "at most 1/32 in" or "60 A"."""
    low, high, start = _read(text, dimension, material, bare_unit, True)
    return Range(
        None if low is None else float(low.si),
        None if high is None else float(high.si),
        None if start is None else float(start.si),
        DIMENSIONS[dimension],
        _kept(text, dimension, material, bare_unit, True),
    )


def parse_pipe(text: str) -> Pipe:
    """Read a pipe such as "2 in sch 80" or "1-1/2 in XS"; raise UnitError for an unknown one."""
    reader = Reader(text, BY_NAME["length"], None, None)
    for pattern in (PIPE, PIPE_NAMED):
        if found := pattern.fullmatch(reader.text):
            size, wall, outside = pipe_wall(reader, found["size"], found["schedule"])
            return Pipe(
                size,
                found["schedule"].upper(),
                Measure(float(outside * INCH), "m"),
                Measure(float(wall * INCH), "m", " ".join(text.split())),
            )
    raise reader.fail(
        gettext_noop("“%(got)s” is no pipe; write its size and wall, such as %(accepts)s."),
        ["2 in sch 80", "1-1/2 in XS"],
    )


def read_terms(
    typed: str, si: str, material: str | None, values: Sequence[float | None]
) -> tuple[Term, ...]:
    """Return the terms of text kept as typed, one for each value there is.

    Empty where the text does not mean these values: somebody set them without it, or its gauge
    table is not known any more.
    """
    if not typed:
        return ()
    for dimension in (name for name, unit_ in DIMENSIONS.items() if unit_ == si):
        for metal in dict.fromkeys((material, *(gauge_metals() if si == "m" else ()))):
            try:
                terms = _read(typed, dimension, metal, None, len(values) > 1)
            except UnitError:
                continue
            if all(_agree(term, value) for term, value in zip(terms, values, strict=False)):
                return tuple(
                    term
                    for term, value in zip(terms, values, strict=False)
                    if term is not None and value is not None
                )
    return ()


def _agree(term: Term | None, value: float | None) -> bool:
    if term is None or value is None:
        return term is None and value is None
    return abs(float(term.si) - value) <= SAME * abs(value)
