"""A machine's output against the currents of a setup."""

from __future__ import annotations

from curriculum.core.machines import Machine
from curriculum.core.sentence import Figure
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Setup

from .finding import AMPS, SHARE, Finding, most, rule_of


def machine_duty(setup: Setup, machine: Machine) -> list[Finding]:
    """Return what a machine's rating says of a setup; empty where no current is stated.

    The largest current of the setup and its passes counts. Past the machine's largest output is
    outside; a share of ten minutes under that in which learners weld is looked at. Ask only for
    machines of the setup's process.
    """
    stated = [setup.current, *(one.current for one in setup.passes)]
    current = max((most(one) for one in stated if one), default=0.0)
    if not current > 0:
        return []
    rule = rule_of("machine")
    parts: dict[str, str] = {"current": Figure.of(current, AMPS)}
    if current > machine.largest_current:
        return [
            Finding(
                rule="machine_output",
                level="outside",
                value=current,
                limit=machine.largest_current,
                unit=AMPS,
                source=_("the machine's rating plate"),
                message=_(
                    "%(current)s is more than the machine gives: at most %(limit)s.",
                    limit=Figure.of(machine.largest_current, AMPS),
                    **parts,
                ),
            )
        ]
    share = machine.duty_at(current)
    parts["minutes"] = f"{10 * share:.3g}"
    short = share < rule["look_under"]
    return [
        Finding(
            rule="machine_duty",
            level="look" if short else "ok",
            value=share,
            limit=rule["look_under"],
            unit=SHARE,
            source=rule["source"],
            message=_(
                "At %(current)s the machine welds %(minutes)s min of 10 and then has to cool: "
                "learners weld about %(usual)s.",
                usual=f"{10 * rule['look_under']:g}",
                **parts,
            )
            if short
            else _("At %(current)s the machine welds %(minutes)s min of 10.", **parts),
        )
    ]
