"""`setup_check`: a setup against published ranges and shop practice."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.core.management.base import CommandParser
from django.utils.translation import gettext as _

from curriculum.management.findings import (
    accepted_by,
    finding_lines,
    finding_rows,
    heat_lines,
    heat_rows,
)
from curriculum.management.which import add_which, chosen
from shared.management.base import JsonCommand


class Command(JsonCommand):
    """Answers {"findings": [{"rule", "level", "value", "limit", "source"}], "heat_input": […]}."""

    help = "Check a setup: every finding with its figure, its limit and where that is published."
    contract = "setup_check/1"

    def add_arguments(self, parser: CommandParser) -> None:
        """Take NUMBER/KEY or a file."""
        super().add_arguments(parser)
        add_which(parser)

    def answer(self, **options: Any) -> Mapping[str, Any]:
        """Return the findings on the setup and its passes, and the heat input of each pass."""
        exercise, _place, setup = chosen(options)
        return {
            "exercise": exercise.number,
            "setup": setup.key,
            "reviewed_by": exercise.reviewed_by,
            "accepted": accepted_by(exercise),
            "findings": finding_rows(exercise, setup),
            "heat_input": heat_rows(exercise, setup),
        }

    def table(self, answer: Mapping[str, Any]) -> str:
        """Return one block a finding, what is outside first, then the heat input."""
        found = finding_lines(answer["findings"], answer["accepted"])
        lines = [
            f"{answer['exercise']}/{answer['setup']}",
            *(found or [_("Nothing stated that there is a rule for.")]),
            *heat_lines(answer["heat_input"]),
        ]
        return "\n".join(lines)
