"""A copy of the live database in one file, checked before it is called a backup."""

import os
import shutil
import sqlite3
import subprocess  # the one way to a PostgreSQL dump
from contextlib import closing
from pathlib import Path
from typing import Any

from django.db import connection, transaction

from shared.people.audit import audit


class BackupRefused(Exception):
    """Why there is no backup, in a sentence."""


def back_up(target: Path) -> dict[str, Any]:
    """Write the database to the new file `target`; return its engine, size in bytes and tables.

    SQLite: a compact copy by VACUUM INTO, then an integrity check of it. PostgreSQL: a dump in
    custom format, then its table of contents is read back. Nothing is left after a failure.
    The audit row is written first, so that the copy holds it too.

    Raises
    ------
    BackupRefused
        If the file exists, its folder does not, a program is missing, or the copy is not whole.
    """
    target = target.absolute()
    if target.exists():
        raise BackupRefused(f"{target} exists already; name a new file.")
    if not target.parent.is_dir():
        raise BackupRefused(f"The folder {target.parent} does not exist; make it first.")
    engine = "postgresql" if connection.vendor == "postgresql" else "sqlite"
    with transaction.atomic():
        audit(None, "backup.made", detail={"engine": engine})
    try:
        os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        tables = _dump_postgresql(target) if engine == "postgresql" else _copy_sqlite(target)
    except (OSError, BackupRefused, sqlite3.Error) as error:
        target.unlink(missing_ok=True)
        raise BackupRefused(str(error)) from error
    return {"engine": engine, "bytes": target.stat().st_size, "tables": tables}


def _copy_sqlite(target: Path) -> int:
    with connection.cursor() as cursor:
        cursor.execute("VACUUM INTO %s", [str(target)])  # takes an empty file
    with closing(sqlite3.connect(target)) as copy:
        found = copy.execute("PRAGMA integrity_check").fetchone()[0]
        if found != "ok":
            raise BackupRefused(f"The copy is not whole: {found}")
        count = copy.execute(
            "SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'"
        ).fetchone()
    return int(count[0])


def _dump_postgresql(target: Path) -> int:
    given = connection.settings_dict
    environment = {**os.environ, "PGPASSWORD": str(given["PASSWORD"] or "")}  # not in `ps`
    if "sslmode" in given["OPTIONS"]:
        environment["PGSSLMODE"] = str(given["OPTIONS"]["sslmode"])
    where = [f"--dbname={given['NAME']}"]
    for option, key in (("host", "HOST"), ("port", "PORT"), ("username", "USER")):
        if given[key]:
            where.append(f"--{option}={given[key]}")
    _run(["pg_dump", "--format=custom", "--no-owner", f"--file={target}", *where], environment)
    contents = _run(["pg_restore", "--list", str(target)], environment)
    return sum(" TABLE public " in line for line in contents.splitlines())


def _run(command: list[str], environment: dict[str, str]) -> str:
    program = shutil.which(command[0])
    if program is None:
        raise BackupRefused(f"{command[0]} is not installed; it comes with PostgreSQL's client.")
    done = subprocess.run(  # noqa: S603 - a fixed program, arguments from the settings
        [program, *command[1:]], env=environment, capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise BackupRefused(done.stderr.strip() or f"{command[0]} failed.")
    return done.stdout
