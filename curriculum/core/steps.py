"""Arithmetic that can be read back: steps with an expression on named inputs, and its evaluator."""

from __future__ import annotations

import ast
import operator
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from curriculum.core.sentence import Sentence as _

_OPERATORS: dict[type[ast.operator], Callable[[float, float], float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}
_Worked = Callable[[Mapping[str, float]], float]


def gettext_noop(text: str) -> str:
    """Mark a label for translation; pages translate it when they show it."""
    return text


def in_context(context: str, text: str) -> str:
    """Mark a text that means something else elsewhere; imported as `pgettext`, which is found."""
    return text


@dataclass(frozen=True, slots=True)
class Input:
    """A number that goes into a step: SI value, its unit, and where it comes from.

    The source is a `Sentence` where it is said in words, so that a page can translate it.
    """

    value: float
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class Step:
    """One line of a calculation; `expression` on the values of `inputs` gives `value`."""

    label: str
    expression: str
    inputs: Mapping[str, Input]
    value: float
    unit: str

    def as_json(self) -> dict[str, Any]:
        """Return the step as the contract's JSON object."""
        return {
            "label": self.label,
            "expression": self.expression,
            "inputs": {
                name: {"value": one.value, "unit": one.unit, "source": one.source}
                for name, one in self.inputs.items()
            },
            "value": self.value,
            "unit": self.unit,
        }


class Worksheet:
    """Steps in the order they are worked out; the last one is the figure."""

    def __init__(self, *start: Step) -> None:
        self.steps: list[Step] = list(start)

    def add(self, label: str, expression: str, unit: str, /, **inputs: Input | Step) -> Step:
        """Work out `expression` on `inputs`, which may be earlier steps, and append the step."""
        given = {
            name: one if isinstance(one, Input) else Input(one.value, one.unit, _from(one.label))
            for name, one in inputs.items()
        }
        value = evaluate(expression, {name: one.value for name, one in given.items()})
        step = Step(label, expression, given, value, unit)
        self.steps.append(step)
        return step

    def take(self, steps: list[Step]) -> Step:
        """Append the steps of another calculation and return its figure."""
        self.steps.extend(steps)
        return steps[-1]


@lru_cache(maxsize=512)
def _from(label: str) -> str:
    return _("step: %(label)s", label=_(label))


def evaluate(expression: str, values: Mapping[str, float]) -> float:
    """Return the value of an arithmetic expression: + - * / ** ( ), numbers and names in `values`.

    Raises
    ------
    ValueError
        If the text is anything else, or names a value that is not given.
    """
    try:
        return _compiled(expression)(values)
    except KeyError as error:
        raise _not_arithmetic(error.args[0]) from None


@lru_cache(maxsize=512)
def _compiled(expression: str) -> _Worked:
    """Return the expression as nested functions, so that it is parsed once for many setups."""
    try:
        body = ast.parse(expression, mode="eval").body
    except (SyntaxError, ValueError) as error:
        raise ValueError(f"not an arithmetic expression: {expression!r}") from error
    return _function(body)


def _function(node: ast.expr) -> _Worked:
    match node:
        case ast.Constant(value=bool()):
            pass
        case ast.Constant(value=int() | float() as number):
            value = float(number)
            return lambda values: value
        case ast.Name(id=name):
            return operator.itemgetter(name)
        case ast.BinOp(left=left, op=op, right=right) if type(op) in _OPERATORS:
            work, one, other = _OPERATORS[type(op)], _function(left), _function(right)
            return lambda values: work(one(values), other(values))
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            inner = _function(operand)
            return lambda values: -inner(values)
    raise _not_arithmetic(ast.unparse(node))


def _not_arithmetic(text: str) -> ValueError:
    return ValueError(f"not arithmetic on the given names: {text!r}")
