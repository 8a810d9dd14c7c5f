"""What benches of pages share: a database of their own, and a page's server time."""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

ROUNDS = 7


@contextmanager
def own_database() -> Iterator[None]:
    """Set Django up with the tests' settings on an empty database, which goes at the end."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    from django.db import connection
    from django.test.utils import override_settings

    before = connection.settings_dict["NAME"]
    connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        with override_settings(ALLOWED_HOSTS=["*"]):
            yield
    finally:
        connection.creation.destroy_test_db(before, verbosity=0)


@dataclass(frozen=True, slots=True)
class Answers:
    """Seconds of some answers of one page, by the clock and of the processor, and its queries."""

    times: list[float]
    work: list[float]
    queries: int

    @property
    def processor(self) -> float:
        return statistics.median(self.work)

    def __str__(self) -> str:
        return (
            f"median {statistics.median(self.times) * 1e3:.0f} ms, "
            f"slowest {max(self.times) * 1e3:.0f} ms, "
            f"processor {self.processor * 1e3:.0f} ms, {self.queries} queries"
        )


def answers(client: Any, url: str) -> Answers:
    """Open `url` a few times after a first one that nobody times."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client.get(url)
    with CaptureQueriesContext(connection) as seen:
        assert client.get(url).status_code == 200
    queries = len(seen)  # the next request empties the log
    times, work = [], []
    for _round in range(ROUNDS):
        start, began = time.perf_counter(), time.process_time()
        client.get(url)
        times.append(time.perf_counter() - start)
        work.append(time.process_time() - began)
    return Answers(times, work, queries)
