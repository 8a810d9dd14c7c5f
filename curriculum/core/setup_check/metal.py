"""The metal and the electrode as they are delivered: coated, damp, hot."""

from __future__ import annotations

import re
from collections.abc import Iterator

from curriculum.core.metal import metal_of
from curriculum.core.sentence import Figure
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import GROOVES, Exercise, Setup

from .filler import metal_word
from .finding import Finding, rule_of, usual, words
from .kinds import cellulosic, low_hydrogen

DRY = re.compile(
    r"\boven|\bcan\b|sealed|hermetic|vacuum|quiver|heated|baked|\bdried\b|rod box", re.I
)
OVEN = re.compile(r"\boven|baked|heated", re.I)
NEVER = re.compile(r"\b(never|no|not|out of (?:an|the|any))\b[^,;.]*\boven", re.I)
HOURS = re.compile(r"(\d+(?:\.\d+)?)\s*h(?:ours?|r)?\b", re.I)


def coating(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """A coated metal is always looked at: its fumes are poisonous."""
    if setup.coating:
        message = _(
            "The metal is %(coating)s: take the coating off well back from the weld, or weld "
            "under local exhaust.",
            coating=_(setup.coating),
        )
        yield words("coating", "look", message, rule_of("coating")["source"])


def named_metal(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """The words for the base metal against the metal that gauge and limits go by."""
    named = metal_of(setup.base_metal)
    if not named or named == setup.metal:
        return
    message = _(
        "The base metal reads like %(named)s, and the setup is reckoned as %(metal)s.",
        named=metal_word(named),
        metal=metal_word(setup.metal),
    )
    yield words("named_metal", "look", message, rule_of("pieces")["source"])


def purge(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """A full-penetration TIG weld in stainless steel has gas behind it, else it is looked at."""
    joint = setup.joint
    through = joint.kind in GROOVES or joint.melt_through
    if exercise.process != "GTAW" or setup.metal != "stainless" or not through or joint.backing:
        return
    source = rule_of("purge")["source"]
    if setup.purge:
        yield words(
            "purge", "ok", _("The root is purged with %(gas)s.", gas=setup.purge.name), source
        )
    else:
        message = _("Without purge gas the root of stainless steel burns black and rusts.")
        yield words("purge", "look", message, source)


def low_hydrogen_dry(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """A basic electrode comes from oven or sealed can and is not out for hours."""
    electrode = setup.electrode
    if exercise.process != "SMAW" or not electrode or not low_hydrogen(electrode.type):
        return
    rule, kept = rule_of("low_hydrogen"), electrode.preparation
    hours = [float(one) * 3600 for one in HOURS.findall(kept)]
    limit = rule["hours"] * 3600
    parts = {"name": electrode.type}
    if hours and max(hours) > limit:
        yield Finding(
            rule="low_hydrogen_dry",
            level="look",
            value=max(hours),
            limit=limit,
            unit="s",
            source=rule["source"],
            message=_(
                "%(name)s takes up moisture: out of the oven at most %(limit)s.",
                limit=Figure.of(limit, "s"),
                **parts,
            ),
        )
    elif not DRY.search(kept) or NEVER.search(kept):
        message = _(
            "%(name)s takes up moisture and cracks the weld: say in its preparation that it "
            "comes from the holding oven or a sealed can.",
            **parts,
        )
        yield words("low_hydrogen_dry", "look", message, rule["source"])
    else:
        yield words("low_hydrogen_dry", "ok", _("%(name)s is kept dry.", **parts), rule["source"])


def cellulosic_oven(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """A cellulosic electrode is not kept in an oven."""
    electrode = setup.electrode
    if exercise.process != "SMAW" or not electrode or not cellulosic(electrode.type):
        return
    kept = electrode.preparation
    if OVEN.search(kept) and not NEVER.search(kept):
        message = _(
            "%(name)s needs the moisture of its covering: it is not kept in an oven.",
            name=electrode.type,
        )
        yield words("cellulosic_oven", "look", message, rule_of("cellulosic")["source"])


def interpass(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """Interpass temperature against the usual maximum of the metal; more is looked at."""
    rule = rule_of("interpass")
    if not setup.interpass_max or setup.metal not in rule:
        return
    yield usual(
        "interpass",
        _("Interpass temperature"),
        setup.interpass_max,
        rule["source"],
        high=rule[setup.metal],
        advice=_("Let it cool between passes."),
    )
