"""The services' own role: it reads and writes rows, owns nothing, passes no wall."""

from __future__ import annotations

import secrets

import psycopg
import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, transaction

from fleet.models import Coach
from fleet.wall import SHUT, seeing
from tests.builders import make_coach

pytestmark = pytest.mark.django_db


@pytest.fixture
def role(settings) -> str:
    settings.SERVICE_ROLE = f"roofreg_test_{secrets.token_hex(4)}"
    settings.SERVICE_PASSWORD = "a pail of primer"
    call_command("prepare_database", verbosity=0)
    with connection.cursor() as cursor:
        cursor.execute(f'GRANT "{settings.SERVICE_ROLE}" TO CURRENT_USER')
    return settings.SERVICE_ROLE


def in_role(role: str, statement: str) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f'SET LOCAL ROLE "{role}"')
        cursor.execute(statement)


def test_it_writes_rows_and_changes_no_table(role):
    coach = make_coach()

    in_role(role, f"UPDATE fleet_coach SET version = 7 WHERE id = {coach.pk}")  # noqa: S608

    assert Coach.objects.get().version == 7
    for statement in (
        "ALTER TABLE fleet_coach DISABLE ROW LEVEL SECURITY",
        "DROP POLICY wall ON fleet_coach",
        "TRUNCATE fleet_coach CASCADE",
        "ALTER TABLE fleet_accessevent DISABLE TRIGGER ALL",
    ):
        with pytest.raises(DatabaseError):
            in_role(role, statement)


def test_running_it_again_changes_nothing(role):
    call_command("prepare_database", verbosity=0)


def test_a_role_that_passes_walls_is_refused(settings):
    settings.SERVICE_ROLE = "postgres"

    with pytest.raises(CommandError, match="passes row security"):
        call_command("prepare_database", verbosity=0)


@pytest.mark.slow
def test_a_connection_of_its_own_sees_nothing_untold(transactional_db, settings):
    """Signed in with its own password, as a service is, and not by SET ROLE."""
    settings.SERVICE_ROLE = name = f"roofreg_test_{secrets.token_hex(4)}"
    settings.SERVICE_PASSWORD = secrets.token_hex(8)
    make_coach()
    call_command("prepare_database", verbosity=0)
    at = connection.settings_dict
    try:
        with psycopg.connect(
            host=at["HOST"],
            port=at["PORT"] or None,
            dbname=at["NAME"],
            user=name,
            password=settings.SERVICE_PASSWORD,
        ) as own:
            [(untold,)] = own.execute("SELECT count(*) FROM fleet_coach").fetchall()
            own.execute("SELECT set_config('roofreg.sight', 'all', true)")
            [(told,)] = own.execute("SELECT count(*) FROM fleet_coach").fetchall()
            own.rollback()
            [(later,)] = own.execute("SELECT count(*) FROM fleet_coach").fetchall()
    finally:
        with connection.cursor() as cursor, seeing(SHUT):
            cursor.execute(f'GRANT "{name}" TO CURRENT_USER')
            cursor.execute(f'DROP OWNED BY "{name}"')
            cursor.execute(f'DROP ROLE "{name}"')

    assert (untold, told, later) == (0, 1, 0)
