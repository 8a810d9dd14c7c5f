"""Tables of a library file as form fields, checked by the reader of library files.

A form holds what was typed as text and hands it over as the table a file would hold. What is wrong
comes back from `curriculum.core.library` as faults with a place, and is shown at the field of that
place; so one set of rules serves files and forms.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import fields
from typing import Any

from django import forms
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from curriculum.core import spec
from curriculum.core.library_keys import JOINT, PASS, Key, Shape, positions
from curriculum.core.library_values import EXAMPLES, Fault
from curriculum.forms.labels import HELP, choice_said, label
from curriculum.services.sheet import said

ROWS_MAX = 60
LONG = 300  # from here on a text gets several lines
ENGLISH_MISSING = "%(name)s is missing."
RANGES = {"length": "1/16 to 1/8 in", "flow": "14 cfh, 12 to 16", "angle": "10 to 15 deg"}


_GROOVE = ("root_opening", "root_face", "groove_angle", "bevel_angle", "face_reinforcement")
_ROOT = ("root_reinforcement", "backing", "runoff", "melt_through")
_SURFACE = ("beads", "bead_width", "bead_height", "bead_overlap")
_FILLET = ("leg", "leg_2", "gap", "contour", "convexity")
# The measures a joint is usually stated with; the others are folded away.
MEASURES: dict[str, tuple[str, ...]] = {
    "square groove": ("root_opening", "face_reinforcement", *_ROOT),
    "single V": (*_GROOVE, *_ROOT),
    "double V": (*_GROOVE, "melt_through"),
    "single bevel": (*_GROOVE, *_ROOT),
    "double bevel": (*_GROOVE, "melt_through"),
    "J groove": (*_GROOVE, "groove_radius", *_ROOT),
    "U groove": (*_GROOVE, "groove_radius", *_ROOT),
    "tee fillet": _FILLET,
    "lap fillet": (*_FILLET, "overlap"),
    "outside corner": (
        "corner_angle",
        "root_opening",
        "face_reinforcement",
        "root_reinforcement",
        "contour",
    ),
    "bead": _SURFACE,
    "padding": _SURFACE,
    "none": ("bevel_angle",),
}
SELDOM: dict[type, tuple[str, ...]] = {
    spec.Pass: ("current", "voltage", "travel_speed", "polarity", "work_angle", "travel_angle"),
    spec.Criterion: ("per_thickness", "cap", "weight"),
    spec.Piece: ("metal", "reuse_note"),
    spec.Setup: ("metal", "coating", "purge_time", "interpass_max", "tack_note"),
    spec.Filler: ("alternates",),
}


class _Fields(forms.Form):
    """Plain text fields, one a key; nothing is refused here, the reader does that."""

    def __init__(self, shape: Shape, names: Collection[str], **kwargs: Any) -> None:
        super().__init__(**kwargs, use_required_attribute=False)
        defaults = {one.name: one.default for one in fields(shape.cls)}
        for name in names:
            default = defaults.get(shape.keys[name].attr)
            title = label(name, shape.cls.__name__)
            self.fields[name] = _field(name, shape.keys[name], default, title)


def _field(name: str, key: Key, default: object, title: str | Promise) -> forms.Field:
    told = HELP.get(name, "")
    common: dict[str, Any] = {"label": title, "required": False, "help_text": told}
    if key.kind == "flag":
        return forms.BooleanField(**common)
    if name == "position":
        choices = [("", "–"), *((one, said(one)) for one in positions())]
        return forms.CharField(**common, widget=forms.Select(choices=choices))
    if key.choices:
        usual = default if isinstance(default, str) and default in key.choices else ""
        none = _("%(usual)s, if not said") % {"usual": choice_said(usual)} if usual else "–"
        choices = [("", none), *((one, choice_said(one)) for one in key.choices)]
        return forms.CharField(**common, widget=forms.Select(choices=choices))
    attrs: dict[str, Any] = {"autocomplete": "off"}
    if key.kind == "texts" or (key.kind == "text" and key.longest >= LONG):
        return forms.CharField(**common, widget=forms.Textarea(attrs={**attrs, "rows": 3}))
    if key.kind in ("measure", "range"):
        examples = list(EXAMPLES.get(key.dimension, ()))
        if key.kind == "range" and key.dimension in RANGES:
            examples[:1] = [RANGES[key.dimension]]
        if name == "thickness":
            examples.append("14 ga")
        common["help_text"] = ", ".join(examples) + (f" ({told})" if told else "")
        attrs |= {"autocapitalize": "off", "spellcheck": "false"}
    elif key.kind == "raw":
        common["help_text"] = "1/32 in, 0.5 mm, 90 %, 2"
    elif key.kind == "whole":
        attrs["inputmode"] = "numeric"
    elif key.kind == "number":
        attrs["inputmode"] = "decimal"
        common["help_text"] = _("between 0 and 1") if key.high <= 1 else ""
    return forms.CharField(**common, widget=forms.TextInput(attrs=attrs))


def _shown(value: object) -> object:
    """Return a value of a table as a field shows it."""
    if isinstance(value, bool):
        return value
    if isinstance(value, list):
        return "\n".join(str(one) for one in value)
    if isinstance(value, float):
        return f"{value:.12g}"
    return str(value)


def _typed(key: Key, text: str) -> object:
    """Return typed text as a file would hold it; what is no number stays text and is refused."""
    if key.kind == "texts":
        return [line.strip() for line in text.splitlines() if line.strip()]
    if key.kind == "whole" and re.fullmatch(r"[+-]?\d{1,9}", text):
        return int(text)
    if key.kind == "number" and re.fullmatch(r"[+-]?\d{0,9}[.,]?\d{0,12}", text):
        figure = text.replace(",", ".")
        return float(figure) if any(char.isdigit() for char in figure) else text
    return text


class TableForm:
    """One table as fields, with the tables and rows of tables under it.

    `names` are the keys asked for, `unused` those that no table under this one has; `prefix` is
    the HTML name before them. Give it either the posted `data` or a `table`.
    """

    def __init__(
        self,
        shape: Shape,
        names: Collection[str],
        *,
        prefix: str,
        title: object = "",
        table: Mapping[str, Any] | None = None,
        data: Mapping[str, Any] | None = None,
        unused: Collection[str] = (),
    ) -> None:
        self.shape, self.prefix, self.title = shape, prefix, title
        wanted = [name for name in shape.keys if name in names]
        wanted.sort(key=lambda name: name != "class")  # what it is before how large
        plain = [name for name in wanted if shape.keys[name].kind not in ("one", "many")]
        stated = table or {}
        initial = {name: _shown(stated[name]) for name in plain if name in stated}
        self.fields = _Fields(shape, plain, data=data, prefix=prefix, initial=initial)
        self.ones: dict[str, TableForm] = {}
        self.rows: dict[str, Rows] = {}
        for name in wanted:
            key, under = shape.keys[name], f"{prefix}-{name}"
            if key.kind == "one":
                self.ones[name] = TableForm(
                    key.rows,
                    key.rows.keys,
                    prefix=under,
                    title=label(name),
                    table=stated.get(name),
                    data=data,
                )
            elif key.kind == "many":
                self.rows[name] = Rows(
                    key.rows,
                    name,
                    prefix=under,
                    tables=stated.get(name),
                    data=data,
                    unused=unused if key.rows is PASS else (),
                )
        self.errors: list[str] = []

    def asked(self) -> list[forms.BoundField]:
        """Return the fields that are seen at once."""
        return [bound for bound in self.fields if bound.name not in self._seldom()]

    def folded(self) -> list[forms.BoundField]:
        """Return the fields that are seldom needed and say nothing: they start folded."""
        return [bound for bound in self.fields if bound.name in self._seldom()]

    def _seldom(self) -> set[str]:
        names = set(SELDOM.get(self.shape.cls, ()))
        if self.shape is JOINT and (usual := MEASURES.get(str(self.fields["kind"].value() or ""))):
            names = set(self.fields.fields) - {"kind", *usual}
        stated = self.table()
        return {name for name in names if name not in stated and name not in self.fields.errors}

    @property
    def stated(self) -> bool:
        """Whether anything is filled in: an empty part starts folded."""
        return bool(self.table() or self.errors)

    def table(self) -> dict[str, Any]:
        """Return what is filled in as a file would hold it; empty fields are left out."""
        table: dict[str, Any] = {}
        for name, field in self.fields.fields.items():
            value = self.fields[name].value()
            if isinstance(field, forms.BooleanField):
                if value and value not in ("False", "false"):
                    table[name] = True
                continue
            text = str(value if value is not None else "").replace("\r\n", "\n").strip()
            if text:
                table[name] = _typed(self.shape.keys[name], text)
        for name, one in self.ones.items():
            if inner := one.table():
                table[name] = inner
        for name, rows in self.rows.items():
            if tables := rows.tables():
                table[name] = tables
        return table

    def show(self, parts: list[str], fault: Fault) -> bool:
        """Put a fault at the field its place names; say whether there is one."""
        name, _bracket, index = (parts[0] if parts else "").partition("[")
        if name in self.rows:
            return self.rows[name].show(index.rstrip("]"), parts[1:], fault)
        if name in self.ones and parts[1:]:
            return self.ones[name].show(parts[1:], fault)
        if name in self.ones:
            self.ones[name].errors.append(sentence(fault))
            return True
        if name not in self.fields.fields:
            if parts:
                return False
            self.errors.append(sentence(fault))
            return True
        text = sentence(fault)
        if index:
            text = _("Line %(line)s: %(text)s") % {"line": int(index.rstrip("]")) + 1, "text": text}
        self.fields.errors.setdefault(name, self.fields.error_class()).append(text)
        return True

    def problems(self) -> Iterator[tuple[str, str, str]]:
        """Give the id, label and message of everything shown as wrong, in the order of the page."""
        for message in self.errors:
            yield "", str(self.title), message
        for bound in self.fields:
            for error in bound.errors:
                yield bound.auto_id, str(bound.label), str(error)
        for one in self.ones.values():
            yield from one.problems()
        for rows in self.rows.values():
            yield from rows.problems()


class Rows:
    """Rows of a table; how many there are stands in a hidden field, so that no script is needed."""

    def __init__(
        self,
        shape: Shape,
        name: str,
        *,
        prefix: str,
        tables: list[Mapping[str, Any]] | None = None,
        data: Mapping[str, Any] | None = None,
        unused: Collection[str] = (),
    ) -> None:
        self.shape, self.name, self.prefix = shape, name, prefix
        self.names = [one for one in shape.keys if one not in unused]
        self.title, self.errors = label(name), list[str]()
        if data is not None:
            typed = str(data.get(f"{prefix}-rows", "0"))
            count = min(int(typed) if typed.isdecimal() else 0, ROWS_MAX)
            self.forms = [self._row(index, data=data) for index in range(count)]
        else:
            self.forms = [self._row(index, table=one) for index, one in enumerate(tables or [])]

    def _row(self, index: int, **kwargs: Any) -> TableForm:
        return TableForm(
            self.shape,
            self.names,
            prefix=f"{self.prefix}-{index}",
            title=f"{self.title} {index + 1}",
            **kwargs,
        )

    def kept(self) -> list[int]:
        """Return the rows that say anything: an empty one is as good as none."""
        return [index for index, form in enumerate(self.forms) if form.table()]

    def tables(self) -> list[dict[str, Any]]:
        """Return the rows that say anything."""
        return [self.forms[index].table() for index in self.kept()]

    def change(self, what: str, index: int) -> None:
        """Add a row, or remove or lift the row at `index`; what was typed stays."""
        tables: list[dict[str, Any]] = [form.table() for form in self.forms]
        if what == "add" and len(tables) < ROWS_MAX:
            tables.append({})
        elif what == "remove" and 0 <= index < len(tables):
            del tables[index]
        elif what == "up" and 0 < index < len(tables):
            tables.insert(index - 1, tables.pop(index))
        self.forms = [self._row(place, table=one) for place, one in enumerate(tables)]

    def show(self, index: str, parts: list[str], fault: Fault) -> bool:
        """Put a fault at its row."""
        kept = self.kept()
        if not index.isdecimal() or int(index) >= len(kept):
            self.errors.append(sentence(fault))
            return True
        return self.forms[kept[int(index)]].show(parts, fault)

    def problems(self) -> Iterator[tuple[str, str, str]]:
        """Give everything shown as wrong."""
        for message in self.errors:
            yield "", str(self.title), message
        for form in self.forms:
            yield from form.problems()


MISSING = gettext_lazy("Fill this in.")
SUCH_AS = gettext_lazy("Accepted: %(accepts)s.")


def sentence(fault: Fault) -> str:
    """Return what is wrong and what is accepted, as one text."""
    template = getattr(fault.message, "template", "")
    text = str(MISSING) if template == ENGLISH_MISSING else said(fault.message)
    if fault.accepts and not all(one in text for one in fault.accepts):
        text = f"{text} {SUCH_AS % {'accepts': ', '.join(fault.accepts[:8])}}"
    return text


def place(form: TableForm, faults: Collection[Fault], prefix: str) -> list[str]:
    """Show faults at the form's fields; return the sentences of those that lie elsewhere.

    `prefix` is where the form's table stands in the file: "exercise[0]".
    """
    elsewhere = []
    for fault in faults:
        inside = fault.where == prefix or fault.where.startswith(f"{prefix}.")
        parts = fault.where.removeprefix(prefix).lstrip(".").split(".") if inside else []
        if not inside or not form.show([part for part in parts if part], fault):
            elsewhere.append(f"{fault.where.removeprefix('exercise[0].')}: {sentence(fault)}")
    return elsewhere
