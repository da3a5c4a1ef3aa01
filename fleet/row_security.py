"""Row security of PostgreSQL: the steps of migrations that build the second wall.

Each table that holds an owner's data gets one policy, forced on the table's owner too.
A policy asks two settings of the running transaction, which ``config.postgresql``
sends with every statement (``fleet.wall``). Where they are missing, no row is there.
"""

from __future__ import annotations

from collections.abc import Callable

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

# In a subquery, so that it is asked once a statement and not once a row.
SIGHT = "(SELECT current_setting('roofreg.sight', true))"
OWNERS = "((SELECT roofreg_owners())::bigint[])"
ALL = f"{SIGHT} = 'all'"
AT_THE_DOOR = f"{SIGHT} = 'door'"
OWN = f"{SIGHT} = 'own'"

# The owners of the work at hand.
OWNERS_FUNCTION = """
CREATE OR REPLACE FUNCTION roofreg_owners() RETURNS bigint[] LANGUAGE sql STABLE AS $$
    SELECT string_to_array(
        nullif(current_setting('roofreg.owners', true), ''), ',')::bigint[]
$$
"""
# What lies behind is read whole, else the policies would ask each other forever.
SET_FUNCTION = """
CREATE OR REPLACE FUNCTION {name}() RETURNS SETOF bigint LANGUAGE plpgsql STABLE AS $$
DECLARE before text := current_setting('roofreg.sight', true);
BEGIN
    PERFORM set_config('roofreg.sight', 'all', true);
    RETURN QUERY {body};
    PERFORM set_config('roofreg.sight', before, true);
END $$
"""


def owned(column: str = "owner_id") -> str:
    """Return the condition of rows that name an owner."""
    return f"{ALL} OR ({OWN} AND {column} = ANY {OWNERS})"


def of_set(column: str, function: str) -> str:
    """Return the condition of rows that name a member of a set of ids."""
    return f"{ALL} OR ({OWN} AND {column} IN (SELECT {function}()))"


def of_roof(column: str = "roof_id") -> str:
    """Return the condition of rows about a roof."""
    return of_set(column, "roofreg_roofs")


def seen_through(*places: tuple[str, str, str]) -> str:
    """Return the condition of rows that a row in sight names.

    Each place is a table, its column, and the own column that is named there.
    """
    named = " OR ".join(
        f'EXISTS (SELECT 1 FROM "{table}" seen WHERE seen."{column}" = {own})'  # noqa: S608 - names from migrations
        for table, column, own in places
    )
    return f"{ALL} OR ({OWN} AND ({named}))"


def also_through(condition: str, *places: tuple[str, str, str]) -> str:
    """Return a condition widened by further rows that may name a row."""
    return f"{condition} OR ({seen_through(*places)})"


def with_door(condition: str) -> str:
    """Return a condition that also lets those through who ask who somebody is."""
    return f"{AT_THE_DOOR} OR {condition}"


def _wall(table: str, condition: str) -> list[str]:
    return [
        f'ALTER TABLE "{table}" ENABLE ROW LEVEL SECURITY',
        f'ALTER TABLE "{table}" FORCE ROW LEVEL SECURITY',
        f'DROP POLICY IF EXISTS wall ON "{table}"',
        f'CREATE POLICY wall ON "{table}" USING ({condition}) WITH CHECK ({condition})',
    ]


def _no_wall(table: str) -> list[str]:
    return [
        f'DROP POLICY wall ON "{table}"',
        f'ALTER TABLE "{table}" NO FORCE ROW LEVEL SECURITY',
        f'ALTER TABLE "{table}" DISABLE ROW LEVEL SECURITY',
    ]


def wall(condition: str, *tables: str) -> migrations.RunPython:
    """Return the step that puts tables behind the wall, or moves it for them."""
    return on_postgresql(
        [line for table in tables for line in _wall(table, condition)],
        [line for table in tables for line in _no_wall(table)],
    )


def wall_moved(table: str, *, before: str, after: str) -> migrations.RunPython:
    """Return the step that gives a table behind the wall another condition."""
    return on_postgresql(_wall(table, after), _wall(table, before))


def function(
    name: str, body: str, *, before: str | None = None
) -> migrations.RunPython:
    """Return the step that makes a set of ids, or changes what is in it."""
    back = (
        f"DROP FUNCTION {name}()"
        if before is None
        else SET_FUNCTION.format(name=name, body=before)
    )
    return on_postgresql([SET_FUNCTION.format(name=name, body=body)], [back])


def on_postgresql(there: list[str], back: list[str]) -> migrations.RunPython:
    """Return a step that runs statements where the database is PostgreSQL."""
    return migrations.RunPython(_running(there), _running(back))


def _running(
    statements: list[str],
) -> Callable[[Apps, BaseDatabaseSchemaEditor], None]:
    def run(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
        if editor.connection.vendor != "postgresql":
            return
        for statement in statements:
            editor.execute(statement, None)

    return run
