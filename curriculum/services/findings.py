"""Findings of the setup check as pages show them: on a setup, and on the booths it is welded in."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from curriculum.core import spec
from curriculum.core.sentence import Sentence
from curriculum.core.setup_check import Finding, accepted, check
from curriculum.core.setup_check.machine import machine_duty
from curriculum.models import Booth, ExerciseVersion
from curriculum.services.sheet import said
from curriculum.services.spec_rows import to_spec
from shared.people.models import Campus

LEVELS = {"outside": ("stop", 0), "look": ("look", 1), "ok": ("in_limits", 2)}
WHERE = gettext_noop("Booths %(names)s (%(some)s of %(all)s): %(why)s")


def ordered_findings(
    content: spec.Exercise, setup: spec.Setup, units: str, booths: Iterable[Booth] = ()
) -> list[dict[str, Any]]:
    """Return the setup check's findings in the reader's units, what is outside first.

    `booths` are those whose machines are held against the setup; fetch their machines with them.
    """
    found = [*check(content, setup), *booth_findings(content, setup, booths)]
    found.sort(key=lambda one: LEVELS[one.level][1])
    return [shown(one, content, units) for one in found]


def to_look_at(
    content: spec.Exercise, units: str, booths: Iterable[Booth] = ()
) -> list[dict[str, Any]]:
    """Return what is outside or to be looked at again, setup by setup, beside its key."""
    booths = list(booths)
    return [
        {"setup": setup.key, **found}
        for setup in content.setups
        for found in ordered_findings(content, setup, units, booths)
        if found["finding"].level != "ok"
    ]


def shown(finding: Finding, content: spec.Exercise, units: str) -> dict[str, Any]:
    """Return what `curriculum/_finding.html` writes of one finding."""
    words = {"outside": _("outside"), "look": _("look again"), "ok": _("in limits")}
    return {
        "finding": finding,
        "mark": LEVELS[finding.level][0],
        "word": words[finding.level],
        "message": said(finding.message, units),
        "place": said(finding.place),
        "source": said(finding.source),
        "accepted": accepted(finding, content),
    }


def booths_of(campus: Campus) -> list[Booth]:
    """Return a campus's booths with their machines. Two queries."""
    return list(campus.booths.prefetch_related("machines"))


def machine_findings(process: str, setup: spec.Setup, booth: Booth) -> list[Finding]:
    """Return what the rating of a booth's machine says of a setup; none where it is not known."""
    return [
        finding
        for machine in booth.machines.all()
        if machine.process == process
        for finding in machine_duty(setup, machine.plate)
    ]


def too_small(process: str, setup: spec.Setup, booths: Iterable[Booth]) -> frozenset[str]:
    """Return the names of the booths whose machine does not give what a setup asks."""
    return frozenset(
        booth.name
        for booth in booths
        if any(one.level == "outside" for one in machine_findings(process, setup, booth))
    )


def booth_findings(
    content: spec.Exercise, setup: spec.Setup, booths: Iterable[Booth]
) -> list[Finding]:
    """Return one finding for the booths of which the same is to be said, naming them."""
    able = [booth for booth in booths if content.process in booth.processes]
    groups: dict[Finding, list[str]] = {}
    for booth in able:
        for finding in machine_findings(content.process, setup, booth):
            groups.setdefault(finding, []).append(booth.name)
    return [_of(finding, names, len(able)) for finding, names in groups.items()]


def exercise_booths(version: ExerciseVersion, units: str) -> list[dict[str, Any]]:
    """Return what is to be said of the booths for each setup of a version, beside its key.

    Load the version with `with_content()`.
    """
    content, booths = to_spec(version), booths_of(version.exercise.campus)
    return [
        {"setup": setup.key, **shown(finding, content, units)}
        for setup in content.setups
        for finding in booth_findings(content, setup, booths)
        if finding.level != "ok"
    ]


def _of(finding: Finding, names: Sequence[str], count: int) -> Finding:
    said_of = {"names": ", ".join(names), "some": len(names), "all": count}
    return replace(finding, message=Sentence(WHERE, why=finding.message, **said_of))
