"""Rows that the database itself refuses to change, on SQLite and PostgreSQL."""

from collections.abc import Callable
from typing import Any

from django.db.migrations.operations import RunPython


def refuse_updates(table: str, *, when: str = "", message: str) -> RunPython:
    """Return a migration step that makes `table` refuse UPDATE.

    `when` is an SQL condition on OLD, without subqueries on PostgreSQL's WHEN (it stands in the
    function body there). Deletes are left alone: a delete trigger breaks the flushing of test
    databases on SQLite, and foreign keys with PROTECT guard history.
    """
    name = f"{table}_frozen"
    condition = when or ("1 = 1")
    text = message.replace("'", "''")

    def forwards(apps: Any, schema_editor: Any) -> None:
        if schema_editor.connection.vendor == "postgresql":
            schema_editor.execute(
                f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
                f"IF {condition} THEN RAISE EXCEPTION '{text}' USING ERRCODE = '23514'; END IF; "
                f"RETURN NEW; END $$"
            )
            schema_editor.execute(
                f"CREATE TRIGGER {name} BEFORE UPDATE ON {table} "
                f"FOR EACH ROW EXECUTE FUNCTION {name}()"
            )
        else:
            schema_editor.execute(
                f"CREATE TRIGGER {name} BEFORE UPDATE ON {table} FOR EACH ROW WHEN {condition} "
                f"BEGIN SELECT RAISE(ABORT, '{text}'); END"
            )

    def backwards(apps: Any, schema_editor: Any) -> None:
        if schema_editor.connection.vendor == "postgresql":
            schema_editor.execute(f"DROP TRIGGER {name} ON {table}")
            schema_editor.execute(f"DROP FUNCTION {name}()")
        else:
            schema_editor.execute(f"DROP TRIGGER {name}")

    step: Callable[..., None] = forwards
    return RunPython(step, backwards)


def allow_updates(table: str, *, when: str = "", message: str) -> RunPython:
    """Return the step that takes away the trigger of `refuse_updates` with the same arguments.

    It goes before a step that rebuilds a table on SQLite: triggers that name the table stand in
    the way there. End the migration with `refuse_updates`.
    """
    step = refuse_updates(table, when=when, message=message)
    if step.reverse_code is None:
        raise TypeError("refuse_updates can be undone")
    return RunPython(step.reverse_code, step.code)
