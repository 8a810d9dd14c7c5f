"""A figure on a page is the figure that the command prints."""

from __future__ import annotations

import io
import json
import re
from typing import Any

import pytest
from django.core.management import call_command
from django.urls import reverse

from tests.world import World


def command(*args: str) -> dict[str, Any]:
    out = io.StringIO()
    call_command(*args, "--json", stdout=out)
    found: dict[str, Any] = json.loads(out.getvalue())
    return found


def figures(page: str) -> dict[str, str]:
    """Return the computed figures of a page by name."""
    return dict(re.findall(r'<data data-figure="([^"]+)" value="([^"]*)"', page))


@pytest.mark.parametrize("key", ["14ga", "10ga"])
def test_the_usage_page_shows_what_the_command_prints(world: World, key: str) -> None:
    version = world.corrected  # the command asks for the newest
    path = reverse("curriculum:usage", args=[version.pk, key])
    shown = figures(world.client(world.instructor).get(path).content.decode())
    printed = command("usage", f"12/{key}")
    wanted = {
        "usage.weld.deposit": printed["weld"]["deposit"]["value"],
        "usage.time.arc": printed["time"]["arc"]["value"],
        "usage.time.booth": printed["time"]["booth"]["value"],
    }
    for name, value in wanted.items():
        assert float(shown[name]) == pytest.approx(value, rel=1e-12)


def test_the_order_page_shows_what_the_forecast_command_prints(world: World) -> None:
    path = f"{reverse('inventory:to_order')}?class={world.shop_class.pk}"
    shown = figures(world.client(world.clerk).get(path).content.decode())
    printed = command("forecast", world.shop_class.name)
    rows = [one for one in printed["items"] if f"forecast.{one['item']}.likely" in shown]
    assert {one["item"] for one in rows} >= {"bar:steel:6400:101600", "electrode:E7018:3200"}
    for one in rows:
        for name in ("likely", "ample"):
            assert float(shown[f"forecast.{one['item']}.{name}"]) == one["total"][name]
        assert int(shown[f"forecast.{one['item']}.packs"]) == one["packs"]
