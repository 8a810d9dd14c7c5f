import io
import json
import os
import sqlite3
import stat
import subprocess
import sys
from contextlib import closing

import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import connection

from shared.people.models import AuditEntry, Campus, Role, User
from tests.factories import CampusFactory, UserFactory


def run(*words, **options):
    out = io.StringIO()
    call_command(*words, stdout=out, stderr=io.StringIO(), **options)
    return out.getvalue()


def test_routes_name_methods_and_roles():
    found = {each["name"]: each for each in json.loads(run("routes", "--json"))}
    assert found["people:sign_in"]["roles"] == ["anonymous"]
    assert found["people:sign_out"]["methods"] == ["POST"]
    assert found["people:person"] == {
        "contract": "routes/1",
        "name": "people:person",
        "path": "/people/<int:pk>/",
        "methods": ["GET", "POST"],
        "roles": ["manager"],
    }
    assert found["people:account"]["roles"] == sorted(Role.values)


def test_only_the_pages_before_sign_in_are_open():
    public = {
        each["name"] for each in json.loads(run("routes", "--json")) if "anonymous" in each["roles"]
    }
    assert public == {
        "people:sign_in",
        "people:sign_out",
        "people:tablet",
        "people:tablet_pin",
        "people:preferences",
    }


def people_in(copy):
    """Return how many people a backup holds, read back with the database's own tool."""
    if connection.vendor == "sqlite":
        with closing(sqlite3.connect(copy)) as there:
            return there.execute("SELECT count(*) FROM people_user").fetchone()[0]
    command = ["pg_restore", "--data-only", "--table=people_user", "--file=-", str(copy)]
    data = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    return len([line for line in data.splitlines() if "\tPerson " in line])


@pytest.mark.django_db(transaction=True)
def test_a_backup_is_whole_private_and_audited(tmp_path):
    UserFactory.create_batch(3, home_campus=CampusFactory())
    target = tmp_path / "shop.copy"
    made = json.loads(run("backup", str(target), "--json"))
    assert made["engine"] == connection.vendor
    assert made["bytes"] == target.stat().st_size
    assert made["tables"] == len(connection.introspection.table_names())
    assert stat.S_IMODE(target.stat().st_mode) == 0o600
    assert people_in(target) == 3
    assert [entry.action for entry in AuditEntry.objects.all()] == ["backup.made"]
    with pytest.raises(SystemExit) as refused:
        run("backup", str(target))
    assert refused.value.code == 1
    with pytest.raises(SystemExit):
        run("backup", str(tmp_path / "missing" / "shop.copy"))
    assert AuditEntry.objects.count() == 1


@pytest.fixture
def typed(monkeypatch):
    def type_in(text):
        monkeypatch.setattr(sys, "stdin", io.StringIO(text))

    return type_in


MANAGER = ["create_manager", "Boss", "--name", "Bo Ash", "--campus", "West", "--password-stdin"]


@pytest.mark.django_db
def test_the_first_manager_gets_a_campus_and_can_give_roles(typed):
    typed("stickout-wire-45\n")
    run(*MANAGER, time_zone="Europe/Madrid", paper="A4", symbol="ISO-B", units="metric")
    boss = User.objects.get(username="boss")
    assert boss.check_password("stickout-wire-45")
    assert boss.roles == {"manager"}
    campus = Campus.objects.get()
    assert (campus.time_zone, campus.paper, campus.symbol_standard, campus.default_units) == (
        "Europe/Madrid",
        "A4",
        "ISO-B",
        "metric",
    )


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("password", "zone", "where"),
    [("short\n", "UTC", "password"), ("stickout-wire-45\n", "Mars/Base", "time_zone")],
)
def test_a_bad_call_makes_nothing_and_says_where(typed, capsys, password, zone, where):
    typed(password)
    out = io.StringIO()
    with pytest.raises(SystemExit) as refused:
        call_command(*MANAGER, "--json", time_zone=zone, stdout=out)
    assert refused.value.code == 1
    [fault] = json.loads(out.getvalue())["errors"]
    assert fault["where"] == where
    assert not Campus.objects.exists()
    assert not User.objects.exists()


def test_the_production_settings_pass_the_deployment_check():
    environment = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "shared.settings",
        "APP_ENV": "production",
        "SECRET_KEY": "q7-used-by-this-test-alone-8Zx2vB5nM1kL4jH6gF3dS0aP9oI",
        "ALLOWED_HOSTS": "shop.example",
    }
    command = [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"]
    done = subprocess.run(
        command, cwd=settings.BASE_DIR, env=environment, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    without = {name: value for name, value in environment.items() if name != "SECRET_KEY"}
    refused = subprocess.run(
        command, cwd=settings.BASE_DIR, env=without, capture_output=True, text=True
    )
    assert refused.returncode != 0
    assert "SECRET_KEY" in refused.stderr
