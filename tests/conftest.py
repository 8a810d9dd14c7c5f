"""What all tests stand on: what a machine must have, and how hypothesis draws."""

import importlib
import os
import shutil
from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from django.utils import translation
from hypothesis import settings as hypothesis_settings

if TYPE_CHECKING:
    from tests.world import World

hypothesis_settings.register_profile("here", deadline=None)
hypothesis_settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
hypothesis_settings.load_profile("ci" if os.environ.get("CI") else "here")


def _no_browser() -> str:
    return "" if shutil.which("chromium") else "Chromium is not installed"


def _no_postgres() -> str:
    url = os.environ.get("DATABASE_URL", "")
    return "" if url.startswith("postgres") else "DATABASE_URL names no PostgreSQL"


def _no_pdf() -> str:
    try:
        importlib.import_module("weasyprint")
    except (ImportError, OSError) as error:
        return f"WeasyPrint or Pango is missing: {error}"
    return ""


MISSING: dict[str, Callable[[], str]] = {
    "browser": _no_browser,
    "postgres": _no_postgres,
    "pdf": _no_pdf,
}


def requires(thing: str) -> None:
    """Skip with a reason where `thing` is missing; fail instead where REQUIRE names it.

    REQUIRE is a list such as "browser,postgres,pdf". PostgreSQL is a second run of the suite, so
    in the run on SQLite its absence is a skip even where it is required for the whole.
    """
    reason = MISSING[thing]()
    if not reason:
        return
    required = {name.strip() for name in os.environ.get("REQUIRE", "").split(",")}
    on_sqlite = thing == "postgres" and not os.environ.get("DATABASE_URL")
    if thing in required and not on_sqlite:
        pytest.fail(f"{thing} is required here, but {reason}")
    pytest.skip(reason)


def pytest_runtest_setup(item: pytest.Item) -> None:
    for thing in MISSING:
        if item.get_closest_marker(thing):
            requires(thing)


@pytest.fixture(autouse=True)
def no_language_left() -> None:
    """A request leaves its reader's language active in the thread: each test begins without."""
    translation.deactivate()


@pytest.fixture
def world(db: None) -> "World":
    """Return a small whole shop; see `tests/world/`."""
    from tests.world import build

    return build()
