"""`setup_check`: a setup against published ranges and shop practice."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.core.management.base import CommandParser
from django.utils.translation import gettext as _

from curriculum.core.setup_check import Finding, check
from curriculum.management.which import add_which, chosen
from shared.management.base import JsonCommand


class Command(JsonCommand):
    """Answers {"findings": [{"rule", "level", "value", "limit", "source", "message", "place"}]}."""

    help = "Check a setup: every finding with its figure, its limit and where that is published."
    contract = "setup_check/1"

    def add_arguments(self, parser: CommandParser) -> None:
        """Take NUMBER/KEY or a file."""
        super().add_arguments(parser)
        add_which(parser)

    def answer(self, **options: Any) -> Mapping[str, Any]:
        """Return the findings on the setup and its passes."""
        exercise, _place, setup = chosen(options)
        return {
            "exercise": exercise.number,
            "setup": setup.key,
            "reviewed_by": exercise.reviewed_by,
            "findings": [_row(finding) for finding in check(exercise, setup)],
        }

    def table(self, answer: Mapping[str, Any]) -> str:
        """Return one block a finding, what is outside first."""
        order = {"outside": 0, "look": 1, "ok": 2}
        words = {"outside": _("outside"), "look": _("look again"), "ok": _("ok")}
        lines = [f"{answer['exercise']}/{answer['setup']}"]
        for row in sorted(answer["findings"], key=lambda row: order[row["level"]]):
            place = f" ({row['place']})" if row["place"] else ""
            lines.append(f"{words[row['level']]:<10} {row['message']}{place}")
            lines.append(f"{'':<10} {_('Source')}: {row['source']}")
        if len(lines) == 1:
            lines.append(_("Nothing stated that there is a rule for."))
        return "\n".join(lines)


def _row(finding: Finding) -> dict[str, Any]:
    def quantity(value: float | None) -> dict[str, Any] | None:
        return None if value is None else {"value": value, "unit": finding.unit}

    return {
        "rule": finding.rule,
        "level": finding.level,
        "value": quantity(finding.value),
        "limit": quantity(finding.limit),
        "source": finding.source,
        "message": finding.message,
        "place": finding.place,
    }
