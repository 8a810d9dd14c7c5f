"""Which fields the editor asks for: of an exercise, of a setup by its process, of a new one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from curriculum.core import library_keys as keys
from curriculum.core.library import Fault, uses
from curriculum.forms.tables import TableForm, place

# The number belongs to the exercise, the review to publishing; numbers of standards are worked out.
APART = {"number", "setup", "reviewed_by", "reviewed_on", "iso4063", "position_iso"}
EXERCISE_NAMES = [name for name in keys.EXERCISE.keys if name not in APART]
NEW_NAMES = ["number", "title", "process", "position", "first_pass", "minutes"]
COPY_NAMES = ["number", "title"]
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
    """The least that makes an exercise: its number, title, process, and one setup.

    As a copy (`copied` is the table of another) it takes a number and a title alone.
    """

    def __init__(
        self, data: QueryDict | None = None, *, copied: Mapping[str, Any] | None = None
    ) -> None:
        self.copied = copied
        if copied is not None:
            stated = None if data is not None else {"title": copied["title"]}
            self.parts = [
                TableForm(keys.EXERCISE, COPY_NAMES, prefix="exercise", table=stated, data=data)
            ]
            return
        table = None if data is not None else {"process": "GTAW"}
        exercise = TableForm(
            keys.EXERCISE, NEW_NAMES, prefix="exercise", title="", table=table, data=data
        )
        setup = TableForm(
            keys.SETUP, NEW_SETUP_NAMES, prefix="setup", title=_("First setup"), data=data
        )
        joint = TableForm(
            keys.JOINT,
            NEW_JOINT_NAMES,
            prefix="setup-joint",
            title=_("Joint: its kind, and the measures that kind needs"),
            data=data,
        )

        self.parts = [exercise, setup, joint]

    def table(self) -> dict[str, Any]:
        """Return the exercise as a file would hold it."""
        if self.copied is not None:
            review = ("reviewed_by", "reviewed_on")
            kept = {name: value for name, value in self.copied.items() if name not in review}
            return {**kept, "number": "", "title": "", **self.parts[0].table()}
        exercise, setup, joint = (part.table() for part in self.parts)
        return {**exercise, "setup": [{**setup, **({"joint": joint} if joint else {})}]}

    def place(self, faults: Sequence[Fault]) -> list[str]:
        """Show faults at their fields; return the sentences of those that lie elsewhere."""
        if self.copied is not None:
            return place(self.parts[0], faults, "exercise[0]")
        at = "exercise[0].setup[0]"
        # A joint that is missing altogether is shown at its kind.
        told = [
            replace(one, where=f"{at}.joint.kind") if one.where == f"{at}.joint" else one
            for one in faults
        ]
        elsewhere: list[str] = []
        for part, prefix in zip(
            reversed(self.parts), (f"{at}.joint", at, "exercise[0]"), strict=True
        ):
            here = [one for one in told if one.where.startswith(prefix)]
            told = [one for one in told if one not in here]
            elsewhere += place(part, here, prefix)
        return elsewhere + place(self.parts[0], told, "exercise[0]")
