"""What tests of the instructor's bench share: a coupon, readings for it, a signed-in browser."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

from django.test import Client

from grading.core.verdict import Reading as Taken
from grading.models import Attempt
from grading.services import Said
from grading.services.verdicts import record_readings, rubric_of
from shared.people.models import User
from shared.people.once import FIELD
from tests.grading.scene import Shop

GOOD = {"leg": "11/32", "profile": "yes", "fused": "100", "looks": "3", "pores": "0", "bend": "0"}
"""Readings that meet the criteria of `tests.grading.scene`, as they are typed."""


def browser(who: User) -> Client:
    client = Client()
    client.force_login(who, "shared.people.backends.PasswordBackend")
    return client


def fields(attempt: Attempt, **texts: str) -> dict[str, str]:
    """Return the form's fields by criterion name, the rest as in `GOOD`."""
    wanted = GOOD | texts
    return {f"c{pk}": wanted[one.name] for pk, one in rubric_of(attempt).criteria.items()}


def keyed(**values: Any) -> dict[str, Any]:
    """Return form values with a fresh key."""
    return {FIELD: str(uuid4()), **values}


def said(attempt: Attempt, **values: float | bool | None) -> dict[int, Said | None]:
    """Return readings by criterion pk; what meets the rubric where nothing is named."""
    good: dict[str, Taken] = {
        "leg": Taken(value=11 / 32 * 0.0254),
        "profile": Taken(passed=True),
        "fused": Taken(value=1.0),
        "looks": Taken(value=3.0),
        "pores": Taken(value=0.0),
        "bend": Taken(detail={"openings": []}),
    }
    found: dict[int, Said | None] = {}
    for pk, one in rubric_of(attempt).criteria.items():
        if one.name in values:
            value = values[one.name]
            found[pk] = None if value is None else Said(taken=Taken(value=float(value)))
        else:
            found[pk] = Said(taken=good[one.name])
    return found


def read(made: Shop, attempt: Attempt, **values: float | bool | None) -> None:
    record_readings(
        attempt=attempt, readings=said(attempt, **values), by=made.instructor, now=made.now
    )
