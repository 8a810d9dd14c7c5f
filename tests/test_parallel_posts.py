"""Every writing form, sent a dozen times at once with one key, counts once.

What one post alone writes is found by posting once and rolling back; after a dozen parallel ones
every table must have grown by just that much, whichever of them came first.
"""

from __future__ import annotations

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

import pytest
from django.db import connection, transaction
from django.test import Client

from tests import site
from tests.forms import Data
from tests.world import World, build

POSTS, HANDS = 12, 8
WITHOUT_KEY = {
    "people:sign_in": "there is no person yet; signing in twice is signing in",
    "people:sign_out": "signing out twice is signing out",
    "people:tablet_pin": "there is no person yet; tries are counted by the PIN limits",
    "people:preferences": "sets a value; open before sign-in",
    "people:campus_choose": "sets a value in the session",
    "people:own_pin": "a repeat is refused by the old PIN, and a wrong one must stay counted",
    "people:own_password": "a repeat is refused by the old password",
    "people:people_export": "two downloads are two exports",
    "people:audit_export": "two downloads are two exports",
    "curriculum:library_export": "two downloads are two exports",
    "grading:results_csv": "two downloads are two exports",
    "curriculum:setup_findings": "stores nothing",
    "curriculum:roster": "previews, stores nothing",
}


def test_every_writing_url_is_guarded_or_says_why_not() -> None:
    writing = {name for name, takes in site.methods().items() if not takes or "POST" in takes}
    guarded = set(site.guarded_names())
    assert guarded - set(site.POSTS) == set(), "these forms have no entry in site.POSTS"
    assert guarded & set(WITHOUT_KEY) == set()
    assert writing == guarded | set(WITHOUT_KEY)


def _counts() -> Counter[str]:
    return Counter({label: len(rows) for label, rows in site.contents().items()})


def _grown(before: Counter[str]) -> dict[str, int]:
    after = _counts()
    return {label: after[label] - before[label] for label in after if after[label] != before[label]}


def _alone(client: Client, path: str, data: Data) -> tuple[dict[str, int], list[str], int]:
    """Post once, and undo it: the growth of the tables, which ones changed, and the status."""
    before, rows = _counts(), site.contents()
    with transaction.atomic():
        answer = client.post(path, data)
        growth, changed = _grown(before), site.changed_tables(rows)
        transaction.set_rollback(True)
    return growth, changed, answer.status_code


def _at_once(cookie: str, path: str, data: Data) -> list[int]:
    gate = Barrier(HANDS)

    def hand(number: int) -> list[int]:
        client = Client()
        client.cookies["sessionid"] = cookie
        gate.wait(timeout=30)
        try:
            return [client.post(path, data).status_code for _ in range(number, POSTS, HANDS)]
        finally:
            connection.close()

    with ThreadPoolExecutor(HANDS) as pool:
        return [status for statuses in pool.map(hand, range(HANDS)) for status in statuses]


def _sent_at_once(world: World, name: str) -> str:
    """Send a form alone, then at once; return what is wrong with what came of it."""
    client = world.client(site.sender(world, name))
    data = site.form_data(world, name, client)
    path = site.address(world, name)
    growth, changed, status = _alone(client, path, data)
    if status >= 400 or not set(changed) - {"people.Submission", "people.AuditEntry"}:
        return f"{name} alone answers {status} and changes {changed}"
    client = world.client(site.sender(world, name))
    before = _counts()
    statuses = _at_once(client.cookies["sessionid"].value, path, data)
    grown = _grown(before)
    if grown != growth or grown["people.Submission"] != 1:
        return f"{name}: {POSTS} posts add {grown}, one alone {growth}"
    if name in SIGNS_OUT:
        statuses = [status if one == 400 else one for one in statuses]
    if statuses != [status] * POSTS:
        return f"{name} answers {Counter(statuses)}, alone {status}"
    return ""


# The first post ends its sender's session under the hands of the others.
SIGNS_OUT = {"people:tablet_enrol"}
# Forms that take away what another one needs are sent in a shop of their own.
LAST = (
    ("people:person_erase", "curriculum:assignment_withdraw", "curriculum:plan_remove"),
    ("grading:void", "curriculum:session_remove", "curriculum:setup_remove"),
    ("inventory:requisition_cancel", "curriculum:publish"),
    ("curriculum:exercise_retire", "curriculum:draft_discard"),
)
LATER = {name for names in LAST for name in names}
TOGETHER = [
    [name for name in site.POSTS if name.startswith(app) and name not in LATER | set(WITHOUT_KEY)]
    for app in ("people:", "curriculum:", "grading:", "inventory:")
]


@pytest.mark.parametrize("names", [*TOGETHER, *LAST], ids=lambda names: names[0])
def test_a_dozen_parallel_posts_of_a_form_count_once(
    transactional_db: Any, names: list[str]
) -> None:
    world = build()
    wrong = [_sent_at_once(world, name) for name in names]
    assert [one for one in wrong if one] == []


def test_every_guarded_form_is_sent() -> None:
    sent = [name for names in (*TOGETHER, *LAST) for name in names]
    assert sorted(sent) == sorted(set(site.guarded_names()))
