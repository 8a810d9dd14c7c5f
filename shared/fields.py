"""Model and form fields for quantities.

A `MeasureField` is one attribute over two real columns, an SI float with its unit in its name and
the text as typed; migrations and history see the columns alone. Where columns are named (filters,
`update_fields`, constraints) use `Setup.thickness.columns`. `Setup(thickness=…)` works; the type
checker's Django plugin knows columns alone, so typed code writes `Setup(**values)` or assigns.
"""

from __future__ import annotations

from collections.abc import Mapping
from hashlib import sha256
from typing import TYPE_CHECKING, Any, NoReturn, Self, overload

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.utils.functional import Promise
from django.utils.text import format_lazy
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from shared.units import (
    DIMENSIONS,
    Measure,
    Range,
    UnitError,
    parse_measure,
    parse_range,
    show,
    show_range,
)

SUFFIXES = {
    "length": "m",
    "area": "m2",
    "volume": "m3",
    "mass": "kg",
    "time": "s",
    "flow": "m3_s",
    "speed": "m_s",
    "current": "a",
    "voltage": "v",
    "angle": "deg",
    "pressure": "pa",
    "temperature": "k",
    "density": "kg_m3",
    "fraction": "ratio",
    "count": "count",
}
TYPED_LENGTH = 100  # what may be typed, 80, and the unit of the field


class _QuantityField(property):
    """A property of the model, so that `Model(thickness=…)` finds it, which adds its columns."""

    parts: tuple[str, ...] = ()  # of a column's name, between the attribute and the unit

    def __init__(
        self,
        dimension: str,
        *,
        low: float = 0,
        high: float | None = None,
        null: bool = True,
        bare_unit: str | None = None,
        verbose_name: str | Promise = "",
    ) -> None:
        """Take limits in the SI unit of `dimension`; `high` is needed for a constraint."""
        super().__init__(self._read, self._write)
        self.dimension = dimension
        self.unit = DIMENSIONS[dimension]
        self.low, self.high, self.null = low, high, null
        self.bare_unit = bare_unit
        self.verbose_name = verbose_name
        self.name = ""
        self.columns: tuple[str, ...] = ()
        # Made here, not when the class is made, so that they stand in the order of the source.
        self._fields: list[models.Field[Any, Any]] = [
            models.FloatField(null=null or index > 0, blank=null or index > 0, editable=False)
            for index, _part in enumerate(self.parts)
        ]
        self._fields.append(
            models.CharField(max_length=TYPED_LENGTH, blank=True, default="", editable=False)
        )

    def contribute_to_class(self, model: type[models.Model], name: str) -> None:
        """Add the columns to `model` and stand there as the attribute `name`."""
        self.name = name
        suffix = SUFFIXES[self.dimension]
        columns = ["_".join(filter(None, (name, part, suffix))) for part in self.parts]
        self.columns = (*columns, f"{name}_typed")
        label = self.verbose_name or name.replace("_", " ")
        for column, field in zip(self.columns, self._fields, strict=True):
            field.verbose_name = str(label)
            field.contribute_to_class(model, column)
        setattr(model, name, self)
        if self.high is not None:
            # The limits stand at the field alone; `Meta.constraints` must be there for migrations.
            own = quantity_constraints(model._meta.model_name or name, self.limits)
            model._meta.constraints = [*model._meta.constraints, *own]

    @property
    def limits(self) -> dict[str, tuple[float, float]]:
        """The number columns with their bounds, as `quantity_constraints` takes them."""
        if self.high is None:
            raise ValueError(f"{self.name} has no upper bound")
        return dict.fromkeys(self.columns[:-1], (self.low, self.high))

    def _of_our_unit(self, value: Measure | Range) -> None:
        if value.unit != self.unit:
            raise ValueError(f"{self.name} is in {self.unit}, got {value.unit}")

    def _read(self, row: Any) -> Any:
        raise NotImplementedError

    def _write(self, row: Any, value: Any) -> None:
        raise NotImplementedError


class MeasureField(_QuantityField):
    """`thickness = MeasureField("length", high=1)`: columns `thickness_m` and `thickness_typed`."""

    parts = ("",)

    if TYPE_CHECKING:

        @overload
        def __get__(self, row: None, owner: type | None = None) -> Self: ...
        @overload
        def __get__(self, row: object, owner: type | None = None) -> Measure | None: ...
        def __get__(self, row: object, owner: type | None = None) -> Self | Measure | None: ...
        def __set__(self, row: object, value: Measure | None) -> None: ...

    def _read(self, row: Any) -> Measure | None:
        value, typed = (getattr(row, column) for column in self.columns)
        return None if value is None else Measure(value, self.unit, typed)

    def _write(self, row: Any, value: Measure | None) -> None:
        if value is not None:
            self._of_our_unit(value)
        number, typed = (None, "") if value is None else (value.value, value.typed)
        for column, part in zip(self.columns, (number, typed), strict=True):
            setattr(row, column, part)

    def formfield(self, **kwargs: Any) -> MeasureFormField:
        """Return a form field with this dimension, these limits and this bare unit."""
        return MeasureFormField(self.dimension, **_form_options(self, kwargs))


class RangeField(_QuantityField):
    """`current = RangeField("current", high=2000)`: `current_low_a`, `…_high_a`, `…_start_a`."""

    parts = ("low", "high", "start")

    if TYPE_CHECKING:

        @overload
        def __get__(self, row: None, owner: type | None = None) -> Self: ...
        @overload
        def __get__(self, row: object, owner: type | None = None) -> Range | None: ...
        def __get__(self, row: object, owner: type | None = None) -> Self | Range | None: ...
        def __set__(self, row: object, value: Range | None) -> None: ...

    def __init__(self, dimension: str, **kwargs: Any) -> None:
        """Take what `MeasureField` takes; any side of a range may be open, so columns are null."""
        super().__init__(dimension, **{**kwargs, "null": True})

    def _read(self, row: Any) -> Range | None:
        low, high, start, typed = (getattr(row, column) for column in self.columns)
        if low is None and high is None and start is None:
            return None
        return Range(low, high, start, self.unit, typed)

    def _write(self, row: Any, value: Range | None) -> None:
        if value is None:
            parts: tuple[float | str | None, ...] = (None, None, None, "")
        else:
            self._of_our_unit(value)
            parts = (value.low, value.high, value.start, value.typed)
        for column, part in zip(self.columns, parts, strict=True):
            setattr(row, column, part)

    def formfield(self, **kwargs: Any) -> RangeFormField:
        """Return a form field with this dimension, these limits and this bare unit."""
        return RangeFormField(self.dimension, **_form_options(self, kwargs))


def _form_options(field: _QuantityField, kwargs: dict[str, Any]) -> dict[str, Any]:
    label = field.verbose_name or field.name.replace("_", " ").capitalize()
    return {
        "low": field.low,
        "high": field.high,
        "bare_unit": field.bare_unit,
        "required": not field.null,
        "label": label,
        **kwargs,
    }


def quantity_constraints(
    prefix: str, columns: Mapping[str, tuple[float, float]]
) -> list[models.CheckConstraint]:
    """Return a check for each number column: from `low` to `high` (both included), or NULL.

    A `MeasureField` or `RangeField` with `high` brings its own; this is for plain number columns.

    Every check has an upper bound because NaN passes `>= 0` on PostgreSQL. `prefix` keeps the
    names, at most 30 characters long, apart between models.
    """
    return [
        models.CheckConstraint(
            condition=models.Q(**{f"{column}__gte": low, f"{column}__lte": high}),
            name=_constraint_name(f"{prefix}_{column}_within"),
            violation_error_message=format_lazy(
                _("{what} must lie from {low} to {high} {unit}."),
                what=_words(column)[0],
                low=low,
                high=high,
                unit=_words(column)[1],
            ),
        )
        for column, (low, high) in columns.items()
    ]


def _words(column: str) -> tuple[str, str]:
    """Return what a column holds in words, and its unit: current_low_a → "Current low", "A"."""
    for dimension in sorted(SUFFIXES, key=lambda name: -len(SUFFIXES[name])):
        if column.endswith(f"_{SUFFIXES[dimension]}"):
            name = column.removesuffix(f"_{SUFFIXES[dimension]}")
            return name.replace("_", " ").capitalize(), DIMENSIONS[dimension]
    return column.replace("_", " ").capitalize(), ""


def _constraint_name(name: str) -> str:
    return name if len(name) <= 30 else f"{name[:25]}_{sha256(name.encode()).hexdigest()[:4]}"


def translated(error: UnitError) -> str:
    """Return the message of `error` in the language of the reader."""
    words = dict(error.params)
    for key in ("dimension", "other"):
        if key in words:
            words[key] = gettext(str(words[key]))
    return gettext(error.template) % words


class _QuantityFormField(forms.CharField):
    """Text that cleans to a quantity; a refused text stays in the field as it was typed.

    `system` is what values are shown in; `material` decides gauges and may be set on the bound
    form's field when another field says it; limits are SI.
    """

    def __init__(
        self,
        dimension: str,
        *,
        system: str = "us",
        bare_unit: str | None = None,
        material: str | None = None,
        low: float | None = None,
        high: float | None = None,
        **kwargs: Any,
    ) -> None:
        self.dimension, self.system = dimension, system
        self.bare_unit, self.material = bare_unit, material
        self.low, self.high = low, high
        kwargs.setdefault("max_length", 80)
        super().__init__(**kwargs)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        """Switch off what a tablet does to words; name the unit that stands beside the field."""
        attrs = super().widget_attrs(widget)
        attrs |= {"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}
        return attrs | ({"data-unit": self.bare_unit} if self.bare_unit else {})

    def prepare_value(self, value: Any) -> Any:
        """Show a quantity as it was typed, else in the reader's units."""
        if isinstance(value, Measure):
            return value.typed or str(show(value, self.system, self.material))
        if isinstance(value, Range):
            return value.typed or str(show_range(value, self.system, self.material))
        return value

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Compare as text, as the field showed it."""
        before, after = (str(self.prepare_value(value) or "").split() for value in (initial, data))
        return not self.disabled and before != after

    def _parsed(self, value: Any) -> Any:
        raise NotImplementedError

    def to_python(self, value: Any) -> Any:
        """Return the quantity, None for an empty field."""
        if isinstance(value, Measure | Range):
            return value
        if value is None or not str(value).strip():
            return None
        try:
            return self._parsed(str(value))
        except UnitError as error:
            raise ValidationError(translated(error), code="unit") from error

    def validate(self, value: Any) -> None:
        """Refuse what lies outside the limits."""
        super().validate(value)
        if value is None:
            return
        parts = [value.value] if isinstance(value, Measure) else [value.low, value.high]
        stated = [part for part in parts if part is not None]
        if self.low is not None and min(stated) < self.low:
            self._refuse(_("“{got}” is too small; write at least {limit}."), value, self.low)
        if self.high is not None and max(stated) > self.high:
            self._refuse(_("“{got}” is too large; write at most {limit}."), value, self.high)

    def _refuse(self, template: str | Promise, value: Measure | Range, limit: float) -> NoReturn:
        shown = show(Measure(limit, DIMENSIONS[self.dimension]), self.system, digits=4)
        message = str(template).format(got=self.prepare_value(value), limit=shown)
        raise ValidationError(message, code="limit")

    def run_validators(self, value: Any) -> None:
        """Run validators that look at text on the text."""
        if value is not None:
            super().run_validators(self.prepare_value(value))


class MeasureFormField(_QuantityFormField):
    """Cleans to a `Measure`, or None when empty and not required."""

    def _parsed(self, value: str) -> Measure:
        return parse_measure(
            value, self.dimension, material=self.material, bare_unit=self.bare_unit
        )


class RangeFormField(_QuantityFormField):
    """Cleans to a `Range`, or None when empty and not required."""

    def _parsed(self, value: str) -> Range:
        return parse_range(value, self.dimension, material=self.material, bare_unit=self.bare_unit)
