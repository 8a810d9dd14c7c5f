"""What the commands with a fixed answer share: `--json`, exit codes, the shape of an error."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.functional import Promise

from shared.fields import translated
from shared.units import Measure, Range, UnitError


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong: its place, what was got, a sentence, what would be accepted."""

    where: str
    got: str
    message: str
    accepts: Sequence[str] = ()

    @classmethod
    def of(cls, error: UnitError, where: str) -> Fault:
        """Return the fault of a quantity that could not be read."""
        return cls(where, error.got, translated(error), tuple(error.accepts))

    def __str__(self) -> str:
        return f"{self.where}: {self.message}" if self.where else self.message


class Refused(CommandError):
    """What was asked is refused for the reasons in `faults`; ends the command with exit code 1."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = list(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults), returncode=1)


class WrongCall(CommandError):
    """The options contradict each other; ends the command with exit code 2."""

    def __init__(self, message: str) -> None:
        super().__init__(message, returncode=2)


def as_json(value: Any) -> Any:
    """Return what JSON has no word for: money as text, dates as ISO 8601, quantities in SI."""
    match value:
        case Measure():
            return {"value": value.value, "unit": value.unit}
        case Range():
            bounds = {"low": value.low, "high": value.high, "start": value.start}
            return {**bounds, "unit": value.unit}
        case Decimal() | Promise():
            return str(value)
        case date():
            return value.isoformat()
        case Fault():
            return asdict(value)
        case set() | frozenset() | tuple():
            return list(value)
    raise TypeError(f"{type(value).__name__} has no form in JSON")


class JsonCommand(BaseCommand):
    """A command that answers with one object.

    Name the contract and write `answer`; everything else follows::

        class Command(JsonCommand):
            help = "Show one quantity in SI, US customary and metric units."
            contract = "quantity/1"

            def add_arguments(self, parser):
                super().add_arguments(parser)          # adds --json
                parser.add_argument("text")

            def answer(self, **options) -> dict:        # the object; "contract" is added
                raise Refused([Fault("text", "14", "…", ["14 ga"])])   # exit 1, errors shown
                raise WrongCall("…")                                   # exit 2

            def table(self, answer) -> str:             # for people; the default lists the object
                ...

    With `--json` the answer, or `{"errors": […]}`, is the only thing on stdout. Without it the
    table goes to stdout and what is wrong to stderr. An answer may hold `Measure`, `Range`,
    `Decimal`, dates, tuples and translated text. Log and progress lines belong on `self.stderr`.
    """

    contract = ""

    def add_arguments(self, parser: CommandParser) -> None:
        """Add `--json`; a subclass calls this and adds its own."""
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the answer of this call, or what is wrong with it."""
        try:
            answer = {"contract": self.contract, **self.answer(**options)}
        except Refused as refused:
            if options["json"]:
                self._print({"contract": self.contract, "errors": refused.faults})
            raise
        if options["json"]:
            self._print(answer)
        else:
            self.stdout.write(self.table(answer))

    def answer(self, **options: Any) -> Mapping[str, Any]:
        """Return the object to print; raise `Refused` or `WrongCall`."""
        raise NotImplementedError

    def table(self, answer: Mapping[str, Any]) -> str:
        """Return the answer for people: one line a value, indented as it is nested."""
        rest = {key: value for key, value in answer.items() if key != "contract"}
        plain = json.loads(json.dumps(rest, default=as_json))
        return "\n".join(_lines(plain, ""))

    def _print(self, answer: Mapping[str, Any]) -> None:
        text = json.dumps(answer, default=as_json, ensure_ascii=False, allow_nan=False)
        self.stdout.write(text)


def _lines(value: Any, indent: str) -> Iterable[str]:
    pairs = value.items() if isinstance(value, dict) else enumerate(value, start=1)
    for key, part in pairs:
        if isinstance(part, dict | list) and part:
            yield f"{indent}{key}"
            yield from _lines(part, indent + "  ")
        else:
            yield f"{indent}{key}  {'–' if part in (None, [], {}) else part}"
