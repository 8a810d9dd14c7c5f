"""`cutplan CLASS`: the plan of a class in one object."""

import json
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command

from tests.world import build

pytestmark = pytest.mark.django_db


def run(*args):
    out = StringIO()
    call_command("cutplan", *args, "--json", stdout=out)
    return json.loads(out.getvalue())


def test_a_class_gets_its_blanks_from_remnants_and_what_is_missing_is_named():
    world = build()
    first = world.today.date + timedelta(days=1)
    answer = run("Evening class", "--from", str(first), "--to", str(first + timedelta(weeks=4)))
    assert answer["class"] == "Evening class"
    assert float(answer["bound"]) <= float(answer["cost"])
    missing = {one["piece"]: one["why"] for one in answer["missing"]}
    # the world has a shear for 14 ga and no saw, and no item of 10 ga
    assert any("no machine here cuts it" in why for why in missing.values())
    assert any("10 ga" in piece for piece in missing)
    for row in answer["stock_used"]:
        assert row["item"] == "sheet:steel:1900"
        assert all(piece["id"].startswith("sheet:steel:1900 ") for piece in row["pieces"])
