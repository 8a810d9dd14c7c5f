"""The keys of a library file: what each is called, how it is written and what is sane.

One table serves reading and writing. Bounds refuse slips (a 3 m electrode) and stay within the
columns; they are no trade limits: the setup check has those. Common practice, no source.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from curriculum.core import spec

TABLES = Path(__file__).resolve().parent.parent / "tables"
METALS = ("steel", "stainless", "aluminium")
FORMS = ("sheet", "plate", "bar", "pipe", "backing")
CONTOURS = ("flat", "convex", "concave")
MEASURED_UNITS = {"in": "length", "mm": "length", "deg": "angle", "s": "time"}


@dataclass(frozen=True, slots=True)
class Key:
    """How one key is written.

    `kind` is text, texts, whole, number, flag, day, measure, range, one, many or raw; `low` and
    `high` bound the number or SI value, `above` excludes `low` itself.
    """

    attr: str
    kind: str = "text"
    dimension: str = ""
    low: float = 0.0
    high: float = 1e4
    above: bool = False
    choices: tuple[str, ...] = ()
    shape: Shape | None = None
    required: bool = False
    longest: int = 2000

    @property
    def rows(self) -> Shape:
        """The shape of the tables under this key; `TypeError` where it holds none."""
        if self.shape is None:
            raise TypeError(f"{self.attr} holds no tables")
        return self.shape


@dataclass(frozen=True, slots=True)
class Shape:
    """A table of keys and the dataclass it becomes."""

    cls: type[Any]
    keys: Mapping[str, Key] = field(default_factory=dict)


def _shape(cls: type[Any], *keys: Key, **renamed: Key) -> Shape:
    return Shape(cls, {key.attr: key for key in keys} | renamed)


def _measure(
    attr: str, dimension: str, high: float, low: float = 0.0, *, required: bool = False
) -> Key:
    """A measure above zero, or from `low` where that is not zero."""
    return Key(attr, "measure", dimension, low, high, above=low == 0.0, required=required)


def _from_zero(attr: str, dimension: str, high: float) -> Key:
    return Key(attr, "measure", dimension, 0.0, high)


def _range(attr: str, dimension: str, high: float, low: float = 0.0, *, above: bool = True) -> Key:
    return Key(attr, "range", dimension, low, high, above=above and low == 0.0)


def _angles(attr: str) -> Key:
    return Key(attr, "range", "angle", 0.0, 180.0)


PIECE = _shape(
    spec.Piece,
    Key("name", longest=60),
    Key("count", "whole", low=1, high=100, required=True),
    _measure("thickness", "length", 0.5, required=True),
    _measure("width", "length", 10, required=True),
    _measure("length", "length", 10, required=True),
    Key("form", choices=FORMS),
    Key("metal", choices=METALS),
    Key("prep", longest=200),
    Key("reuse", "whole", high=100),
    Key("reuse_note", longest=200),
)
MARKS = _shape(
    spec.Marks,
    Key("other_side", "flag"),
    Key("all_around", "flag"),
    Key("field", "flag"),
    _measure("length", "length", 10),
    _measure("pitch", "length", 10),
    Key("count", "whole", low=1, high=1000),
    _measure("depth", "length", 0.3),
    _measure("effective", "length", 0.3),
    Key("back", choices=spec.BACK_WELDS),
    Key("finish", choices=spec.FINISHES),
    Key("quality", choices=spec.QUALITY_LEVELS),
    Key("tail", longest=24),
    Key("staggered", "flag"),
    Key("backing_removed", "flag"),
    Key("flush", "flag"),
    Key("blended", "flag"),
)
JOINT = _shape(
    spec.Joint,
    Key("kind", choices=spec.JOINT_KINDS, required=True),
    _range("root_opening", "length", 0.1, above=False),
    _from_zero("root_face", "length", 0.3),
    _from_zero("groove_angle", "angle", 180),
    _from_zero("bevel_angle", "angle", 90),
    _measure("corner_angle", "angle", 180),
    _measure("groove_radius", "length", 0.1),
    _range("leg", "length", 0.2),
    _range("leg_2", "length", 0.2),
    _from_zero("overlap", "length", 1),
    _range("gap", "length", 0.1, above=False),
    Key("contour", choices=CONTOURS),
    _from_zero("convexity", "length", 0.05),
    _range("face_reinforcement", "length", 0.05, above=False),
    _range("root_reinforcement", "length", 0.05, above=False),
    _range("face_width", "length", 0.3),
    _range("bead_width", "length", 0.1),
    _range("bead_height", "length", 0.05),
    Key("beads", "whole", low=1, high=1000),
    Key("bead_overlap", "number", high=0.9),
    Key("backing", "flag"),
    _from_zero("runoff", "length", 1),
    Key("melt_through", "flag"),
    Key("symbol", "one", shape=MARKS),
)
ELECTRODE = _shape(
    spec.Electrode,
    Key("type", longest=40, required=True),
    _measure("diameter", "length", 0.02, required=True),
    _measure("length", "length", 2),
    Key("preparation", longest=200),
)
FILLER = _shape(
    spec.Filler,
    _measure("diameter", "length", 0.02, required=True),
    _measure("length", "length", 2),
    Key("alternates", "texts", longest=40),
    **{"class": Key("filler_class", longest=40, required=True)},
)
GAS = _shape(
    spec.Gas,
    Key("name", longest=60, required=True),
    Key("flow", "range", "flow", 0.0, 0.02, above=True, required=True),
    _measure("pressure", "pressure", 3e7),
)
PASS = _shape(
    spec.Pass,
    Key("technique", longest=60, required=True),
    Key("bead", longest=200),
    Key("count", "whole", low=1, high=200),
    _range("current", "current", 2000),
    _range("voltage", "voltage", 200),
    _range("travel_speed", "speed", 1),
    Key("polarity", choices=spec.POLARITIES),
    _angles("work_angle"),
    _angles("travel_angle"),
    Key("electrode", "one", shape=ELECTRODE),
    Key("filler", "one", shape=FILLER),
    Key("note"),
)
SETUP = _shape(
    spec.Setup,
    Key("key", longest=40, required=True),
    Key("base_metal", longest=200, required=True),
    Key("metal", choices=METALS),
    Key("coating", longest=60),
    _measure("thickness", "length", 0.5, required=True),
    Key("pieces", "many", shape=PIECE),
    _measure("weld_length", "length", 10),
    Key("joint", "one", shape=JOINT),
    Key("electrode", "one", shape=ELECTRODE),
    Key("filler", "one", shape=FILLER),
    *(Key(name, "one", shape=GAS) for name in ("gas", "fuel", "oxygen", "cutting_oxygen", "purge")),
    _from_zero("purge_time", "time", 7200),
    _measure("tip", "length", 0.05),
    _measure("nozzle", "length", 0.1),
    Key("polarity", choices=spec.POLARITIES),
    _range("current", "current", 2000),
    _range("voltage", "voltage", 200),
    _range("travel_speed", "speed", 1),
    _range("wire_feed", "speed", 2),
    _range("preflow", "time", 600, above=False),
    _range("postflow", "time", 600, above=False),
    Key("start", longest=40),
    _range("stickout", "length", 0.2, above=False),
    _range("arc_length", "length", 0.1),
    _angles("work_angle"),
    _angles("travel_angle"),
    Key("travel_direction", longest=10),
    _angles("rod_angle"),
    Key("transfer", longest=20),
    _measure("interpass_max", "temperature", 1200, 200),
    Key("fit_up"),
    Key("tacks", "whole", high=1000),
    _measure("tack_length", "length", 1),
    Key("tack_note", longest=200),
    Key("practice_pieces", "whole", high=1000),
    **{"pass": Key("passes", "many", shape=PASS)},
)
CRITERION = _shape(
    spec.Criterion,
    Key("name", longest=160, required=True),
    Key("kind", choices=spec.CRITERION_KINDS, required=True),
    Key("unit", longest=10),
    Key("min", "raw"),
    Key("max", "raw"),
    Key("per_thickness", "number", high=10, above=True),
    Key("cap", "raw"),
    Key("mandatory", "flag"),
    Key("weight", "number", high=1000),
    Key("tool", longest=80),
    Key("step", "raw"),
    Key("source", longest=200),
    Key("cure", longest=300),
)
EXERCISE = _shape(
    spec.Exercise,
    Key("number", longest=20, required=True),
    Key("title", longest=120, required=True),
    Key("objective"),
    Key("process", choices=tuple(spec.PROCESSES), required=True),
    Key("iso4063", longest=10),
    Key("position", longest=20),
    Key("position_iso", longest=12),
    Key("weld", longest=200),
    Key("priority", choices=spec.PRIORITIES),
    Key("prerequisites", "texts", longest=20),
    Key("helps", "texts", longest=20),
    Key("first_pass", "number", high=1, above=True, required=True),
    Key("minutes", "number", "time", high=1440, above=True, required=True),
    Key("practice_minutes", "number", "time", high=10_000),
    Key("sessions", "number", high=200, above=True),
    *(
        Key(name, "texts")
        for name in ("steps", "tools", "clothing", "cautions", "signoffs", "hold_points")
    ),
    Key("reviewed_by", longest=120),
    Key("reviewed_on", "day"),
    Key("notes", "texts"),
    setup=Key("setups", "many", shape=SETUP, required=True),
    criterion=Key("criteria", "many", shape=CRITERION),
)


@cache
def table(name: str) -> dict[str, Any]:
    """Return a table of `curriculum/tables/` by its name without the ending."""
    with (TABLES / f"{name}.toml").open("rb") as file:
        return tomllib.load(file)


@cache
def positions() -> dict[str, str]:
    """Return the ISO 6947 position of each AWS position and of the plain words for surfacing."""
    return {row["aws"]: row["iso6947"] for row in table("positions")["position"]}


@cache
def uses(process: str) -> frozenset[str]:
    """Return the keys of a setup that a process uses, as written in files.

    Raises `ValueError` for letters that are not in `spec.PROCESSES`.
    """
    data = table("processes")
    if process not in data["uses"]:
        raise ValueError(f"process must be one of {', '.join(data['uses'])}, got {process!r}")
    return frozenset(data["common"]) | frozenset(data["uses"][process])


@cache
def settings() -> frozenset[str]:
    """Return the keys that at least one process uses and another does not."""
    return frozenset(key for keys in table("processes")["uses"].values() for key in keys)


INERT = ("argon", "helium", "ar", "he")


def iso4063(process: str, setups: tuple[spec.Setup, ...]) -> str:
    """Return the ISO 4063 number of a process as these setups run it.

    The usual number, unless every setup is the case in which another stands: GTAW without filler
    (142), FCAW without gas (114), GMAW under argon or helium alone (131).
    """
    rows = [row for row in table("processes")["process"] if row["letters"] == process]
    cases = {
        "no filler": all(
            setup.filler is None and all(one.filler is None for one in setup.passes)
            for setup in setups
        ),
        "no gas": all(setup.gas is None for setup in setups),
        "inert gas": all(setup.gas is not None and _inert(setup.gas.name) for setup in setups),
    }
    special = (row for row in rows if setups and cases.get(row.get("when", ""), False))
    return next((row["iso4063"] for row in (*special, *rows)), "")


def _inert(gas: str) -> bool:
    words = "".join(char if char.isalpha() or char.isdigit() else " " for char in gas.casefold())
    return all(word in INERT or word.isdigit() for word in words.split())
