"""Sound setups of every process and metal, and what is changed in them, as files state them.

The figures are planning figures of an invented shop; each stays within what the published tables
of the setup check allow.
"""

from __future__ import annotations

import tomllib
from copy import deepcopy
from pathlib import Path
from typing import Any

from curriculum.core.library import read_tables
from curriculum.core.setup_check import Finding, check
from curriculum.core.spec import Exercise, Setup

BASES: dict[str, dict[str, Any]] = tomllib.loads(
    Path(__file__).with_suffix(".toml").read_text(encoding="utf-8")
)


def stated(base: str, fragment: str = "") -> tuple[Exercise, Setup]:
    """Return a sound exercise, changed by a TOML fragment of its setup; `exercise.x` is its own.

    An empty text takes a key away, as an empty field of the form does.
    """
    table = deepcopy(BASES[base])
    own = tomllib.loads(fragment)
    setup = table.pop("setup") | {"key": "a"}
    for name, value in (own.pop("exercise", {}) | {"number": "1", "title": "T"}).items():
        table[name] = value
    for name, value in own.items():
        if isinstance(value, dict) and isinstance(setup.get(name), dict):
            setup[name] = {key: one for key, one in (setup[name] | value).items() if one != ""}
        else:
            setup[name] = value
    setup = {name: value for name, value in setup.items() if value != ""}
    table |= {"first_pass": 0.5, "minutes": 30, "setup": [setup]}
    exercises, faults = read_tables({"exercise": [table]})
    assert not faults, faults
    return exercises[0], exercises[0].setups[0]


def found(base: str, fragment: str = "") -> list[Finding]:
    """Return what the setup check finds on a base that was changed."""
    return check(*stated(base, fragment))


def worst(base: str, fragment: str = "") -> dict[str, str]:
    """Return the worst level of each rule on a base that was changed."""
    order = ("ok", "look", "outside")
    levels: dict[str, str] = {}
    for one in found(base, fragment):
        levels[one.rule] = max(levels.get(one.rule, "ok"), one.level, key=order.index)
    return levels
