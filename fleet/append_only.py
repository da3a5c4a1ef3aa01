"""Database triggers that refuse to change what was recorded."""

from __future__ import annotations

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

POSTGRESQL_FUNCTION = """
CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'Rows of % are never updated or deleted.', TG_TABLE_NAME
        USING ERRCODE = 'restrict_violation';
END $$
"""
POSTGRESQL_TRIGGER = """
CREATE TRIGGER refuse_change_{table} BEFORE UPDATE OR DELETE ON "{table}"
FOR EACH ROW EXECUTE FUNCTION refuse_change()
"""
SQLITE_TRIGGER = """
CREATE TRIGGER refuse_{verb}_{table} BEFORE {verb} ON "{table}"
BEGIN SELECT RAISE(ABORT, 'Rows of {table} are never updated or deleted.'); END
"""


def statements(vendor: str, tables: tuple[str, ...]) -> list[str]:
    """Return the statements that make tables refuse UPDATE and DELETE."""
    if vendor == "postgresql":
        triggers = [POSTGRESQL_TRIGGER.format(table=table) for table in tables]
        return [POSTGRESQL_FUNCTION, *triggers]
    return [
        SQLITE_TRIGGER.format(table=table, verb=verb)
        for table in tables
        for verb in ("update", "delete")
    ]


def removals(vendor: str, tables: tuple[str, ...]) -> list[str]:
    """Return the statements that take the triggers away again."""
    if vendor == "postgresql":
        return [f'DROP TRIGGER refuse_change_{table} ON "{table}"' for table in tables]
    return [
        f"DROP TRIGGER refuse_{verb}_{table}"
        for table in tables
        for verb in ("update", "delete")
    ]


def refuse_change(*tables: str) -> migrations.RunPython:
    """Return the migration step that makes these tables append-only."""

    def forwards(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
        for statement in statements(editor.connection.vendor, tables):
            # None, not (): a per cent sign in a statement is no placeholder.
            editor.execute(statement, None)

    def backwards(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
        for statement in removals(editor.connection.vendor, tables):
            editor.execute(statement, None)

    return migrations.RunPython(forwards, backwards)


def allow_change(*tables: str) -> migrations.RunPython:
    """Return the step that lets a migration rebuild tables; refuse again right after.

    SQLite rebuilds a table to add a column and loses its triggers, PostgreSQL keeps
    them: taking them away first makes both the same.
    """
    step = refuse_change(*tables)
    return migrations.RunPython(step.reverse_code, step.code)


POSTGRESQL_TRIGGER_ONCE = """
CREATE TRIGGER refuse_change_{table} BEFORE UPDATE OR DELETE ON "{table}"
FOR EACH ROW WHEN (OLD."{column}" IS NOT NULL) EXECUTE FUNCTION refuse_change()
"""
SQLITE_TRIGGER_ONCE = """
CREATE TRIGGER refuse_{verb}_{table} BEFORE {verb} ON "{table}"
WHEN OLD."{column}" IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'Rows of {table} are never updated or deleted.'); END
"""


def refuse_change_once(table: str, column: str) -> migrations.RunPython:
    """Return the step that makes a row refuse change from when a column is set."""

    def forwards(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
        names = {"table": table, "column": column}
        if editor.connection.vendor == "postgresql":
            editor.execute(POSTGRESQL_FUNCTION, None)
            editor.execute(POSTGRESQL_TRIGGER_ONCE.format(**names), None)
            return
        for verb in ("update", "delete"):
            editor.execute(SQLITE_TRIGGER_ONCE.format(verb=verb, **names), None)

    def backwards(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
        for statement in removals(editor.connection.vendor, (table,)):
            editor.execute(statement, None)

    return migrations.RunPython(forwards, backwards)
