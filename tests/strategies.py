"""Hypothesis strategies for whole, valid exercises, as a file or a form could state them."""

from __future__ import annotations

import string
from dataclasses import fields, replace
from datetime import date

from hypothesis import reject
from hypothesis import strategies as st

from curriculum.core import library_keys as keys
from curriculum.core import spec
from curriculum.core.drawing.symbol.rules import check_marks
from curriculum.core.joints import JointError, build
from shared.units import Measure, Range, parse_measure, parse_range

UNITS = {
    "length": ("in", "mm"),
    "angle": ("deg",),
    "current": ("A",),
    "voltage": ("V",),
    "speed": ("in/min", "mm/min"),
    "flow": ("cfh", "L/min"),
    "pressure": ("psig", "kPa"),
    "time": ("s",),
}
# Within every bound of library_keys in either unit, so that any of them is a valid figure.
MOST = {
    "length": 1.0,
    "angle": 80.0,
    "current": 400.0,
    "voltage": 40.0,
    "speed": 300.0,
    "flow": 60.0,
    "pressure": 40.0,
    "time": 60.0,
}

# Control characters and lone surrogates are refused by the reader, so no valid exercise has them.
CHARACTERS = st.one_of(
    st.sampled_from(string.ascii_letters + string.digits + " \"'\\#=[]{},\n\té–½"),
    st.characters(exclude_categories=("Cc", "Cs")),
)


def words(longest: int = 40, shortest: int = 1) -> st.SearchStrategy[str]:
    """Text as it is kept: without space around it."""
    return (
        st.text(CHARACTERS, min_size=shortest, max_size=longest)
        .map(str.strip)
        .filter(lambda text: len(text) >= shortest)
    )


def names(longest: int = 12) -> st.SearchStrategy[str]:
    return (
        st.text(string.ascii_letters + string.digits + "-. ", min_size=1, max_size=longest)
        .map(str.strip)
        .filter(bool)
    )


@st.composite
def figures(draw: st.DrawFn, dimension: str) -> tuple[int, str]:
    """Thousandths of the unit's largest figure, above zero, and the unit."""
    return draw(st.integers(1, 1000)), draw(st.sampled_from(UNITS[dimension]))


def _decimal(thousandths: int, dimension: str) -> str:
    return f"{thousandths * MOST[dimension] / 1000:.4g}"


@st.composite
def measures(draw: st.DrawFn, dimension: str = "length") -> Measure:
    if dimension == "length" and draw(st.booleans()):
        return parse_measure(f"{draw(st.integers(1, 63))}/64 in", "length")
    figure, unit = draw(figures(dimension))
    return parse_measure(f"{_decimal(figure, dimension)} {unit}", dimension)


@st.composite
def ranges(draw: st.DrawFn, dimension: str) -> Range:
    unit = draw(st.sampled_from(UNITS[dimension]))
    low, start, high = sorted(draw(st.lists(st.integers(1, 1000), min_size=3, max_size=3)))
    a, b, c = (_decimal(figure, dimension) for figure in (low, start, high))
    form = draw(st.sampled_from(("{b} {u}", "{a} to {c} {u}", "{b} {u}, {a} to {c}")))
    one_sided = ("at most {c} {u}", "at least {a} {u}")
    form = draw(st.sampled_from((form, *one_sided)))
    return parse_range(form.format(a=a, b=b, c=c, u=unit), dimension)


@st.composite
def pieces(draw: st.DrawFn, metal: str) -> spec.Piece:
    gauge = {"steel": "steel", "stainless": "stainless", "aluminium": "aluminium"}[metal]
    sheets = st.integers(8, 20).map(lambda n: parse_measure(f"{n} ga", "length", material=gauge))
    return spec.Piece(
        name=draw(words(20, 0)),
        count=draw(st.integers(1, 6)),
        thickness=draw(st.one_of(measures(), sheets)),
        width=draw(measures()),
        length=draw(measures()),
        form=draw(st.sampled_from(keys.FORMS)),
        prep=draw(words(30, 0)),
        reuse=draw(st.integers(0, 4)),
        reuse_note=draw(words(30, 0)),
    )


@st.composite
def joints(draw: st.DrawFn) -> spec.Joint:
    lengths = st.none() | measures().filter(lambda one: one.value < 0.02)
    spans = st.none() | ranges("length").filter(
        lambda one: all(bound is None or bound < 0.02 for bound in (one.low, one.high))
    )
    return spec.Joint(
        kind=draw(st.sampled_from(spec.JOINT_KINDS)),
        root_opening=draw(spans),
        root_face=draw(lengths),
        groove_angle=draw(st.none() | measures("angle")),
        leg=draw(spans),
        leg_2=draw(spans),
        gap=draw(st.none() | st.just(parse_range("0 to 1/16 in", "length"))),
        contour=draw(st.sampled_from(keys.CONTOURS)),
        face_reinforcement=draw(spans),
        beads=draw(st.integers(1, 20)),
        bead_overlap=draw(st.floats(0, 0.9, allow_nan=False)),
        backing=draw(st.booleans()),
        runoff=draw(lengths),
        melt_through=draw(st.booleans()),
        symbol=draw(symbol_marks()),
    )


@st.composite
def symbol_marks(draw: st.DrawFn) -> spec.Marks:
    flags = [one.attr for one in keys.MARKS.keys.values() if one.kind == "flag"]
    chosen = {one.attr: one.choices for one in keys.MARKS.keys.values() if one.choices}
    row: dict[str, object] = {}
    if draw(st.booleans()):
        row["length"] = parse_measure("2 in", "length")
        row["pitch"] = draw(st.sampled_from((None, parse_measure("125 mm", "length"))))
        row["count"] = draw(st.none() | st.integers(1, 20))
    small = st.none() | measures().filter(lambda one: one.value < 0.02)
    return spec.Marks(
        **{name: draw(st.booleans()) for name in flags},
        **{name: draw(st.sampled_from(("", *words_))) for name, words_ in chosen.items()},
        **row,
        depth=draw(small),
        effective=draw(small),
        tail=draw(words(24, 0)),
    )


@st.composite
def electrodes(draw: st.DrawFn) -> spec.Electrode:
    return spec.Electrode(
        type=draw(names(20)),
        diameter=draw(measures().filter(lambda one: one.value < 0.02)),
        length=draw(st.none() | measures()),
        preparation=draw(words(30, 0)),
    )


@st.composite
def fillers(draw: st.DrawFn) -> spec.Filler:
    return spec.Filler(
        filler_class=draw(names(20)),
        diameter=draw(measures().filter(lambda one: one.value < 0.02)),
        length=draw(st.none() | measures()),
        alternates=tuple(draw(st.lists(names(20), max_size=2))),
    )


@st.composite
def gases(draw: st.DrawFn) -> spec.Gas:
    return spec.Gas(
        name=draw(st.sampled_from(("argon", "75 Ar/25 CO2", "oxygen", "acetylene"))),
        flow=draw(ranges("flow")),
        pressure=draw(st.none() | measures("pressure")),
    )


def _setting(key: keys.Key) -> st.SearchStrategy[object]:
    """Any valid value of a setting, or None."""
    if key.kind == "one" and key.shape is not None:
        made = {"Electrode": electrodes, "Filler": fillers, "Gas": gases}
        return st.none() | made[key.shape.cls.__name__]()
    if key.kind == "range":
        return st.none() | ranges(key.dimension).filter(lambda one: _within(one, key))
    if key.kind == "measure":
        if key.dimension == "temperature":
            return st.sampled_from((None, parse_measure("350 degF", "temperature")))
        return st.none() | measures(key.dimension).filter(lambda one: one.value <= key.high)
    if key.kind == "whole":
        return st.none() | st.integers(int(key.low), 9)
    if key.choices:
        return st.sampled_from(("", *key.choices))
    return words(min(key.longest, 30), 0)


def _within(one: Range, key: keys.Key) -> bool:
    bounds = [bound for bound in (one.low, one.high, one.start) if bound is not None]
    return all(key.low <= bound <= key.high for bound in bounds)


@st.composite
def passes(draw: st.DrawFn, process: str) -> spec.Pass:
    used = keys.uses(process)
    values = {
        key.attr: draw(_setting(key))
        for name, key in keys.PASS.keys.items()
        if name not in ("technique", "count") and (name in used or name not in keys.settings())
    }
    technique = draw(st.sampled_from(("stringer", "weave", "lay wire", "dip")))
    return spec.Pass(technique=technique, count=draw(st.integers(1, 4)), **values)


def _one_that_can_be(joint: spec.Joint, thickness: Measure) -> spec.Joint:
    """Keep the drawn numbers; a kind they do not make becomes "none", a mark it lacks goes."""
    usual = {one.name: one.default for one in fields(spec.Marks)}
    while True:
        try:
            build(joint, thickness.value)
            check_marks(spec.Setup(key="a", base_metal="steel", thickness=thickness, joint=joint))
        except JointError as error:
            mark = error.where.removeprefix("symbol.")
            if mark == error.where:
                return replace(joint, kind="none")
            joint = replace(joint, symbol=replace(joint.symbol, **{mark: usual[mark]}))
        else:
            return joint


@st.composite
def setups(draw: st.DrawFn, process: str) -> spec.Setup:
    metal = draw(st.sampled_from(keys.METALS))
    given = ("key", "base_metal", "metal", "thickness", "pieces", "joint", "pass")
    values = {
        key.attr: draw(_setting(key))
        for name, key in keys.SETUP.keys.items()
        if name in keys.uses(process) and name not in given
    }
    thickness = draw(measures())
    return spec.Setup(
        key=draw(names()),
        base_metal=draw(words()),
        metal=metal,
        thickness=thickness,
        pieces=tuple(draw(st.lists(pieces(metal), max_size=2))),
        joint=_one_that_can_be(draw(joints()), thickness),
        passes=tuple(draw(st.lists(passes(process), max_size=2))),
        **values,
    )


@st.composite
def criteria(draw: st.DrawFn) -> spec.Criterion:
    kind = draw(st.sampled_from(spec.CRITERION_KINDS))
    unit = {"share": "%", "counted": "count"}.get(kind)
    unit = unit or draw(st.sampled_from(("yes/no", "0-4") if kind == "judged" else ("in", "mm")))
    limits: dict[str, object] = {}
    if kind in ("measured", "gauge"):
        low, high = sorted(draw(st.lists(measures(), min_size=2, max_size=2)), key=float)
        limits = {"min": low, "max": high, "step": draw(st.none() | measures())}
        if kind == "measured" and draw(st.booleans()):
            limits |= {"per_thickness": draw(st.floats(0.01, 1)), "cap": high}
    elif kind == "share":
        limits = {"min": parse_measure(f"{draw(st.integers(1, 100))} %", "fraction")}
    elif kind == "counted":
        limits = {"max": parse_measure(str(draw(st.integers(0, 9))), "count")}
    elif kind == "bend":
        limits = {"max": draw(st.none() | measures())}
    elif unit == "0-4":
        limits = {"min": parse_measure(str(draw(st.integers(0, 4))), "count")}
    return spec.Criterion(
        name=draw(words()),
        kind=kind,
        unit=unit,
        mandatory=draw(st.booleans()),
        weight=draw(st.floats(0, 10)),
        tool=draw(words(20, 0)),
        source=draw(words(20, 0)),
        cure=draw(words(40, 0)),
        **limits,  # type: ignore[arg-type]
    )


@st.composite
def exercises(draw: st.DrawFn) -> spec.Exercise:
    """One valid exercise without prerequisites, with its standards' numbers filled in."""
    process = draw(st.sampled_from(tuple(spec.PROCESSES)))
    position = draw(st.sampled_from(("", *keys.positions())))
    own = tuple(draw(st.lists(setups(process), min_size=1, max_size=2, unique_by=_key)))
    listed = {
        name: tuple(draw(st.lists(words(), max_size=2)))
        for name in ("steps", "tools", "clothing", "cautions", "signoffs", "hold_points", "notes")
    }
    return spec.Exercise(
        number=draw(names()),
        title=draw(words()),
        objective=draw(words(60, 0)),
        process=process,
        iso4063=keys.iso4063(process, own),
        position=position,
        position_iso=keys.positions().get(position, ""),
        weld=draw(words(30, 0)),
        priority=draw(st.sampled_from(spec.PRIORITIES)),
        first_pass=draw(st.floats(0.001, 1)),
        minutes=draw(st.floats(1, 300)),
        practice_minutes=draw(st.floats(0, 300)),
        sessions=draw(st.none() | st.floats(0.5, 10)),
        setups=own,
        criteria=tuple(draw(st.lists(criteria(), max_size=3, unique_by=_name))),
        reviewed_by=draw(words(20, 0)),
        reviewed_on=draw(st.none() | st.dates(date(2000, 1, 1), date(2100, 1, 1))),
        **listed,  # type: ignore[arg-type]
    )


def _key(setup: spec.Setup) -> str:
    return setup.key


def _name(criterion: spec.Criterion) -> str:
    return criterion.name


@st.composite
def libraries(draw: st.DrawFn) -> list[spec.Exercise]:
    """Exercises with numbers of their own, each needing only such as stand before it."""
    found = draw(st.lists(exercises(), max_size=3, unique_by=lambda one: one.number))
    linked = []
    for place, one in enumerate(found):
        before = [other.number for other in found[:place]]
        needs = draw(st.lists(st.sampled_from(before), unique=True)) if before else []
        linked.append(replace(one, prerequisites=tuple(needs)))
    return linked


def _long(low: float, high: float) -> st.SearchStrategy[Measure]:
    """A length in metres, a fraction of an inch where it comes near one."""

    def made(pair: tuple[float, bool]) -> Measure:
        value, whole = pair
        parts = round(value / 0.0254 * 64)
        if whole and parts:
            return parse_measure(f"{parts}/64 in", "length")
        return Measure.of(round(value, 6), "m")

    return st.tuples(st.floats(low, high), st.booleans()).map(made)


def _span(low: float, high: float) -> st.SearchStrategy[Range]:
    """A range in metres: two-sided, one-sided or one figure."""

    def made(drawn: tuple[float, float, int]) -> Range:
        first, last = sorted(round(value, 6) for value in drawn[:2])
        return Range.of(*((first, last), (None, last), (first, None), (last, last))[drawn[2]], "m")

    return st.tuples(st.floats(low, high), st.floats(low, high), st.integers(0, 3)).map(made)


def _angle(low: int, high: int) -> st.SearchStrategy[Measure]:
    return st.integers(low, high).map(lambda value: Measure.of(value, "deg"))


@st.composite
def sections(draw: st.DrawFn) -> spec.Setup:
    """A setup of any kind whose joint can be, from the thinnest sheet to heavy plate.

    Numbers that a kind does not take are stated too, as files may.
    """
    kind = draw(st.sampled_from(spec.JOINT_KINDS))
    thickness = draw(_long(0.0006, 0.05))
    t = thickness.value
    maybe = st.none
    radius = _long(0.2 * t, 3 * t) if kind == "flare bevel" else _long(0.05 * t, 0.4 * t)
    overlap = _long(0.05 * t, t) if kind == "outside corner" else _long(0.5 * t, 30 * t)
    wide = draw(st.booleans())  # one of the two that say the same of an angle
    made = spec.Joint(
        kind=kind,
        root_opening=draw(maybe() | _span(0.0, 1.5 * t)),
        root_face=draw(maybe() | _long(0.0, 0.5 * t)),
        groove_angle=draw(_angle(10, 90)) if wide else None,
        bevel_angle=None if wide else draw(_angle(5, 60)),
        corner_angle=draw(maybe() | _angle(40, 160)),
        groove_radius=draw(radius),
        leg=draw(_span(0.3 * t, 1.2 * t)),
        leg_2=draw(maybe() | _span(0.3 * t, 1.2 * t)),
        overlap=draw(maybe() | overlap),
        gap=draw(maybe() | _span(0.0, 0.25 * t)),
        contour=draw(st.sampled_from(keys.CONTOURS)),
        convexity=draw(maybe() | _long(0.01 * t, 0.1 * t)),
        face_reinforcement=draw(_span(0.02 * t, 0.5 * t) if kind == "edge" else maybe()
                                | _span(0.0, 0.5 * t)),
        root_reinforcement=draw(maybe() | _span(0.0, 0.3 * t)),
        face_width=draw(maybe() | _span(t, 5 * t)),
        bead_width=draw(_span(0.5 * t, 4 * t)),
        bead_height=draw(maybe() | _span(0.0, 0.3 * t)),
        beads=draw(st.integers(1, 16)),
        bead_overlap=draw(st.floats(0, 0.8)),
        backing=draw(st.booleans()),
        melt_through=draw(st.booleans()),
    )  # fmt: skip
    if kind != "none":
        try:
            build(made, t)
        except JointError:
            reject()
    bar = spec.Piece(
        form="backing",
        count=1,
        thickness=draw(_long(0.2 * t, 2 * t)),
        width=draw(_long(t, 8 * t)),
        length=draw(_long(0.1, 0.3)),
    )
    return spec.Setup(
        key="a",
        base_metal="steel",
        thickness=thickness,
        joint=made,
        pieces=(bar,) if made.backing and draw(st.booleans()) else (),
        weld_length=draw(maybe() | _long(0.05, 0.3)),
        tacks=draw(maybe() | st.integers(0, 30)),
        tack_length=draw(maybe() | _long(0.003, 0.03)),
        passes=tuple(spec.Pass(technique="stringer") for _ in range(draw(st.integers(0, 8)))),
    )
