"""Which fields the editor asks for: of an exercise, of a setup by its process, of a new one."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from curriculum.core import library_keys as keys
from curriculum.core.library import uses
from curriculum.forms.tables import TableForm

# The number belongs to the exercise, the review to publishing; numbers of standards are worked out.
APART = {"number", "setup", "reviewed_by", "reviewed_on", "iso4063", "position_iso"}
EXERCISE_NAMES = [name for name in keys.EXERCISE.keys if name not in APART]
NEW_NAMES = ["number", "title", "process", "position", "first_pass", "minutes"]
NEW_SETUP_NAMES = ["key", "base_metal", "metal", "thickness"]
# Kind, and what one kind or another cannot be drawn without.
NEW_JOINT_NAMES = [
    "kind",
    "root_opening",
    "root_face",
    "groove_angle",
    "bevel_angle",
    "corner_angle",
    "leg",
    "overlap",
    "beads",
    "bead_width",
    "bead_height",
]


def exercise_form(
    *, table: Mapping[str, Any] | None = None, data: QueryDict | None = None
) -> TableForm:
    """Return the form of what an exercise says apart from its setups."""
    return TableForm(
        keys.EXERCISE,
        EXERCISE_NAMES,
        prefix="exercise",
        title=_("Exercise"),
        table=table,
        data=data,
    )


def setup_form(
    process: str, *, table: Mapping[str, Any] | None = None, data: QueryDict | None = None
) -> TableForm:
    """Return the form of a setup: only what the process uses."""
    return TableForm(
        keys.SETUP,
        uses(process),
        prefix="setup",
        title=_("Setup"),
        table=table,
        data=data,
        unused=keys.settings() - uses(process),
    )


class NewExerciseForms:
    """The least that makes an exercise: its number, title, process, and one setup."""

    def __init__(self, data: QueryDict | None = None) -> None:
        table = None if data is not None else {"process": "GTAW"}
        self.exercise = TableForm(
            keys.EXERCISE, NEW_NAMES, prefix="exercise", title="", table=table, data=data
        )
        self.setup = TableForm(
            keys.SETUP, NEW_SETUP_NAMES, prefix="setup", title=_("First setup"), data=data
        )
        self.joint = TableForm(
            keys.JOINT,
            NEW_JOINT_NAMES,
            prefix="setup-joint",
            title=_("Joint: its kind, and the measures that kind needs"),
            data=data,
        )

    def table(self) -> dict[str, Any]:
        """Return the exercise as a file would hold it."""
        setup = self.setup.table()
        if joint := self.joint.table():
            setup["joint"] = joint
        return self.exercise.table() | {"setup": [setup]}
