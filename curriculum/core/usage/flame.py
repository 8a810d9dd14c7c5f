"""The flame: oxygen and fuel gas from one set of flows."""

from __future__ import annotations

from curriculum.core.defaults import Default, read_default, table
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Gas, Setup
from curriculum.core.spec_key import gas_name
from curriculum.core.steps import Input, Step, Worksheet, gettext_noop
from curriculum.core.usage.model import UsageError
from curriculum.core.usage.runs import stated


def neutral_ratio(fuel: str) -> Default | None:
    """Return oxygen to fuel of a neutral flame of the gas called `fuel`; None for others."""
    name = gas_name(fuel)
    rows = table("consumables")["flame"]
    return next((read_default(row["ratio"]) for row in rows if row["fuel"] == name), None)


def flame_flows(setup: Setup) -> list[tuple[str, str, Worksheet, Input | Step]]:
    """Return (key, gas, steps, flow in m³/s) of fuel and oxygen, which burn together.

    Where one of the two flows is stated, the other is that of a neutral flame.

    Raises
    ------
    UsageError
        If no fuel gas is named, or it has no row to tell the oxygen by.
    """
    fuel, oxygen = setup.fuel, setup.oxygen
    if fuel is None:
        told = _("say which fuel gas burns, and how much of it flows")
        raise UsageError("fuel", told, ('{ name = "acetylene", flow = "8 cfh" }',))
    if oxygen is not None:
        return [_stated("fuel", fuel), _stated("oxygen", oxygen)]
    neutral = neutral_ratio(fuel.name)
    if neutral is None:
        told = _("say how much oxygen flows: no neutral flame is known of %(gas)s", gas=fuel.name)
        raise UsageError("oxygen", told, ('{ name = "oxygen", flow = "9 cfh" }',))
    work = Worksheet()
    flow = work.add(
        gettext_noop("Oxygen of a neutral flame"),
        "fuel * ratio",
        "m3/s",
        fuel=stated(fuel.flow, "flow of fuel"),
        ratio=neutral.stated,
    )
    return [_stated("fuel", fuel), ("oxygen", "oxygen", work, flow)]


def _stated(key: str, gas: Gas) -> tuple[str, str, Worksheet, Input | Step]:
    return key, gas.name, Worksheet(), stated(gas.flow, f"flow of {key}")
