"""What all tests stand on: what a machine must have, and how hypothesis draws."""

import fcntl
import hashlib
import importlib
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from django.apps import apps
from django.conf import settings
from django.db import connection
from django.utils import translation
from hypothesis import settings as hypothesis_settings

if TYPE_CHECKING:
    from tests.world import World

ROOT = Path(__file__).resolve().parent.parent

hypothesis_settings.register_profile("here", deadline=None)
hypothesis_settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
hypothesis_settings.load_profile("ci" if os.environ.get("CI") else "here")


# Both draw the same; the shell, where it is, with less work.
CHROMIUM = shutil.which("chromium-headless-shell") or shutil.which("chromium")


def _no_browser() -> str:
    return "" if CHROMIUM else "Chromium is not installed"


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


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what meets the database, so that a run on a second one can take just that."""
    for item in items:
        fixtures = set(getattr(item, "fixturenames", ()))
        marked = item.get_closest_marker("django_db")
        if marked or fixtures & {"db", "transactional_db", "django_db_setup"}:
            item.add_marker("database")


def pytest_runtest_setup(item: pytest.Item) -> None:
    for thing in MISSING:
        if item.get_closest_marker(thing):
            requires(thing)


def _migrated() -> str:
    """Return a name for what the migrations make, another one when they change."""
    found = hashlib.sha256((ROOT / "shared" / "triggers.py").read_bytes())
    for app in apps.get_app_configs():
        for path in sorted(Path(app.path, "migrations").glob("*.py")):
            found.update(path.read_bytes())
    return f"migrated_{found.hexdigest()[:12]}"


@pytest.fixture(scope="session")
def django_db_setup(
    django_test_environment: None, django_db_blocker: Any, django_db_modify_db_settings: None
) -> Iterator[None]:
    """Give each worker a copy of a database that is migrated once, as migrating takes so long."""
    of, creation, folder = connection.settings_dict, connection.creation, Path(settings.VAR_DIR)
    real, migrated, on_file = of["NAME"], _migrated(), connection.vendor == "sqlite"
    own = str(of["TEST"]["NAME"] or f"test_{real}")
    folder.mkdir(exist_ok=True)
    with django_db_blocker.unblock(), (folder / "migrated.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        of["TEST"]["NAME"] = str(folder / f"{migrated}.sqlite3") if on_file else migrated
        kept = creation.create_test_db(verbosity=0, serialize=False, keepdb=True)
        connection.close()
        of["NAME"], of["TEST"]["NAME"] = real, own
        if on_file:
            for old in set(folder.glob("migrated_*.sqlite3")) - {Path(kept)}:
                old.unlink()
            for rest in ("", "-wal", "-shm"):  # what a killed run left
                Path(own + rest).unlink(missing_ok=True)
            shutil.copy(kept, own)
        else:
            of["TEST"]["TEMPLATE"] = kept
        creation.create_test_db(verbosity=0, autoclobber=True, serialize=False, keepdb=on_file)
    yield
    with django_db_blocker.unblock():
        creation.destroy_test_db(real, verbosity=0)


@pytest.fixture(autouse=True)
def no_language_left() -> None:
    """A request leaves its reader's language active in the thread: each test begins without."""
    translation.deactivate()


@pytest.fixture
def world(db: None) -> "World":
    """Return a small whole shop; see `tests/world/`."""
    from tests.world import build

    return build()
