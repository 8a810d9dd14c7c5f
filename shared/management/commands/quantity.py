"""`quantity TEXT --dimension D`: read one quantity and show it in every system."""

from typing import Any

from django.core.management.base import CommandParser

from shared.management.base import Fault, JsonCommand, Refused
from shared.units import (
    DIMENSIONS,
    UnitError,
    gauge_metals,
    parse_measure,
    parse_range,
    show,
    show_range,
)


class Command(JsonCommand):
    """Answers {"si": {"value", "unit"}, "typed", "us", "metric"}; a range has low, high, start."""

    help = (
        "Read a quantity as the trade writes it and show it in SI, US customary and metric units."
    )
    contract = "quantity/1"
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the text, its dimension and the metal of a gauge."""
        super().add_arguments(parser)
        parser.add_argument("text", help='such as "1-1/2 in", "16 ga", "85-95 A"')
        parser.add_argument("--dimension", required=True, choices=tuple(DIMENSIONS))
        parser.add_argument("--material", help=f"metal of a gauge: {', '.join(gauge_metals())}")

    def answer(self, **options: Any) -> dict[str, Any]:
        """Return the quantity, a single value before a range."""
        text, dimension, material = options["text"], options["dimension"], options["material"]
        try:
            measure = parse_measure(text, dimension, material=material)
        except UnitError:
            pass
        else:
            return {
                "si": measure,
                "typed": measure.typed,
                "us": str(show(measure, "us", material)),
                "metric": str(show(measure, "metric", material)),
            }
        try:
            span = parse_range(text, dimension, material=material)
        except UnitError as error:
            raise Refused([Fault.of(error, "text")]) from error
        return {
            "si": span,
            "typed": span.typed,
            "us": str(show_range(span, "us", material)),
            "metric": str(show_range(span, "metric", material)),
        }

    def table(self, answer: Any) -> str:
        """Return four lines: SI, as typed, US customary, metric."""
        si = answer["si"]
        if hasattr(si, "value"):
            figure = f"{si.value!r}"
        else:
            figure = f"low {si.low!r}, high {si.high!r}, start {si.start!r}"
        rows = {"SI": f"{figure} {si.unit}"}
        rows |= {"typed": answer["typed"], "US": answer["us"], "metric": answer["metric"]}
        return "\n".join(f"{name:<7} {value}" for name, value in rows.items())
