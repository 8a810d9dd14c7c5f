"""How a figure of the forecast came about, step by step, for the page beside it.

A step's expression is arithmetic on its named inputs and gives its value; what only the
simulated terms can give (attempts, quantiles) stands as an input that says so. Labels and
sources are marked for translation and stay plain text here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from inventory.core.case import Case, Item, Task
from inventory.core.forecast import Forecast


def gettext_noop(text: str) -> str:
    """Mark a text for translation; whoever shows it translates it."""
    return text


SIMULATED = gettext_noop("simulated terms")
GIVEN = gettext_noop("stated for the exercise")
JUDGED = gettext_noop("judged first coupons of the campus")
COMPUTED = gettext_noop("computed from the setup")
SHELF = gettext_noop("stock ledger")
ITEM = gettext_noop("stated for the item")
CARRIED = gettext_noop("step above")


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """A number that goes into a step, with where it comes from."""

    value: float
    unit: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One line: what it is, of what, the arithmetic and what it gives."""

    label: str
    subject: str = ""  # the task it is about, empty for the item itself
    expression: str
    inputs: Mapping[str, Input] = field(default_factory=dict)
    value: float
    unit: str = ""

    def as_json(self) -> dict[str, Any]:
        return {
            "label": self.label,
            "subject": self.subject,
            "expression": self.expression,
            "inputs": {
                name: {"value": i.value, "unit": i.unit, "source": i.source}
                for name, i in self.inputs.items()
            },
            "value": self.value,
            "unit": self.unit,
        }


def explain(case: Case, forecast: Forecast, item: str) -> list[Step]:
    """Return the steps from pass rates to packs for one item of a forecast of `case`.

    The expected use of the steps differs from the simulated mean by sampling error only; both
    stand there. KeyError if the case has no such item.
    """
    found = forecast.item(item)
    stock = next(i for i in case.items if i.id == item)
    steps: list[Step] = []
    parts: list[tuple[str, float]] = []
    made_of = {t.task: t for t in forecast.tasks}
    for task in case.tasks:
        uses = [use for use in task.uses if use.item == item]
        if not uses:
            continue
        steps.append(_pass_rate(task))
        for use in uses:
            made = made_of[task.id].attempts.mean
            value = made * use.quantity * stock.factor
            parts.append((task.id, value))
            steps.append(
                Step(
                    label=gettext_noop("Expected use: attempts, use of one, real over computed"),
                    subject=task.id,
                    expression="attempts * one * factor",
                    inputs={
                        "attempts": Input(value=made, source=SIMULATED),
                        "one": Input(value=use.quantity, unit=stock.unit, source=COMPUTED),
                        "factor": Input(value=stock.factor, source=ITEM),
                    },
                    value=value,
                    unit=stock.unit,
                )
            )
            if use.practice:
                value = made_of[task.id].begun * use.practice * stock.factor
                parts.append((task.id, value))
                steps.append(
                    Step(
                        label=gettext_noop("Expected use in practice, before the first coupon"),
                        subject=task.id,
                        expression="students * practice * factor",
                        inputs={
                            "students": Input(value=made_of[task.id].begun, source=SIMULATED),
                            "practice": Input(value=use.practice, unit=stock.unit, source=COMPUTED),
                            "factor": Input(value=stock.factor, source=ITEM),
                        },
                        value=value,
                        unit=stock.unit,
                    )
                )
    if stock.per_student_week:
        value = stock.per_student_week * forecast.student_weeks
        parts.append(("", value))
        steps.append(
            Step(
                label=gettext_noop("Expected use by student and week"),
                expression="rate * student_weeks",
                inputs={
                    "rate": Input(value=stock.per_student_week, unit=stock.unit, source=ITEM),
                    "student_weeks": Input(value=forecast.student_weeks, source=SIMULATED),
                },
                value=value,
                unit=stock.unit,
            )
        )
    names = {f"part_{n}": value for n, (_, value) in enumerate(parts, 1)}
    steps.append(
        Step(
            label=gettext_noop("Expected use until the end of the term"),
            expression=" + ".join(names) or "0",
            inputs={n: Input(value=v, unit=stock.unit, source=CARRIED) for n, v in names.items()},
            value=sum(names.values()),
            unit=stock.unit,
        )
    )
    for label, value in (
        (gettext_noop("Mean of the simulated terms"), found.total.mean),
        (gettext_noop("Likely: half of all terms need no more"), found.total.likely),
        (gettext_noop("Ample: enough in the stated share of terms"), found.total.ample),
    ):
        steps.append(
            Step(
                label=label,
                expression="figure",
                inputs={"figure": Input(value=value, unit=stock.unit, source=SIMULATED)},
                value=value,
                unit=stock.unit,
            )
        )
    return [*steps, *_order(stock, forecast)]


def _pass_rate(task: Task) -> Step:
    label = gettext_noop("Share of first coupons that pass")
    if task.pass_probability is not None or task.first_pass is None:
        given = task.pass_probability or 0.0
        inputs = {"given": Input(value=given, source=GIVEN)}
        return Step(label=label, subject=task.id, expression="given", inputs=inputs, value=given)
    seen = task.passes + task.fails
    return Step(
        label=label,
        subject=task.id,
        expression="(weight * opinion + passes) / (weight + passes + fails)",
        inputs={
            "weight": Input(value=task.weight, source=GIVEN),
            "opinion": Input(value=task.first_pass, source=GIVEN),
            "passes": Input(value=task.passes, source=JUDGED),
            "fails": Input(value=task.fails, source=JUDGED),
        },
        value=(task.weight * task.first_pass + task.passes) / (task.weight + seen),
    )


def _order(stock: Item, forecast: Forecast) -> list[Step]:
    found = forecast.item(stock.id)
    unit = stock.unit
    steps = [
        Step(
            label=gettext_noop("To order: ample less shelf and open orders"),
            expression="max(0, ample - on_hand - on_order)",
            inputs={
                "ample": Input(value=found.total.ample, unit=unit, source=CARRIED),
                "on_hand": Input(value=found.on_hand, unit=unit, source=SHELF),
                "on_order": Input(value=found.on_order, unit=unit, source=SHELF),
            },
            value=found.order.need,
            unit=unit,
        ),
        Step(
            label=gettext_noop("Packs, rounded up"),
            expression="ceil(need / pack - 1e-9)",
            inputs={
                "need": Input(value=found.order.need, unit=unit, source=CARRIED),
                "pack": Input(value=stock.pack, unit=unit, source=ITEM),
            },
            value=found.order.packs,
        ),
    ]
    if stock.lead_days or stock.approval_days:
        steps.append(
            Step(
                label=gettext_noop("Working days to order before the shelf runs short"),
                expression="approval + lead",
                inputs={
                    "approval": Input(value=stock.approval_days, source=ITEM),
                    "lead": Input(value=stock.lead_days, source=ITEM),
                },
                value=stock.approval_days + stock.lead_days,
            )
        )
    if stock.price is not None and found.order.cost_ample is not None:
        steps.append(
            Step(
                label=gettext_noop("Cost"),
                expression="packs * price",
                inputs={
                    "packs": Input(value=found.order.packs, source=CARRIED),
                    "price": Input(value=float(stock.price), source=ITEM),
                },
                value=float(found.order.cost_ample),
            )
        )
    return steps
