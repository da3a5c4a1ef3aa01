"""The second wall holds by itself, for a role that owns nothing, and fails closed."""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.apps import apps
from django.db import DatabaseError, connection, models, transaction

from fleet.models import Coach, Roof, User
from fleet.wall import AT_THE_DOOR, SHUT, Gate, Opening, seeing
from tests.api import records
from tests.builders import make_claim, make_promised_roof
from tests.wall.tables import OPEN_TABLES, tables

pytestmark = pytest.mark.django_db
WALLED = sorted(tables() - set(OPEN_TABLES))


@contextmanager
def as_role(name: str) -> Iterator[None]:
    with connection.cursor() as cursor:
        cursor.execute(f'SET LOCAL ROLE "{name}"')
        try:
            yield
        finally:
            cursor.execute("RESET ROLE")


@pytest.fixture
def service(db) -> str:
    """A role that owns nothing and may only read and write rows, as in production."""
    name = f"roofreg_test_{secrets.token_hex(4)}"
    with connection.cursor() as cursor:
        # Gone with the test's transaction.
        cursor.execute(f'CREATE ROLE "{name}" NOLOGIN NOINHERIT')
        cursor.execute(f'GRANT "{name}" TO CURRENT_USER')
        cursor.execute(f'GRANT USAGE ON SCHEMA public TO "{name}"')
        rights = "SELECT, INSERT, UPDATE, DELETE"
        cursor.execute(f'GRANT {rights} ON ALL TABLES IN SCHEMA public TO "{name}"')
        cursor.execute(f'GRANT USAGE ON ALL SEQUENCES IN SCHEMA public TO "{name}"')
    return name


@pytest.fixture
def fleets(db):
    """Two fleets' roofs, with a claim each."""
    roofs = (make_promised_roof(), make_promised_roof())
    for roof in roofs:
        make_claim(roof)
    return roofs


def own(roof: Roof) -> Opening:
    holder = Coach.objects.values_list("holder_id", flat=True).get(pk=roof.coach_id)
    return Opening(gate=Gate.OWN, owner_ids=(holder,))


def rows_in(table: str) -> int:
    with connection.cursor() as cursor:
        cursor.execute(f'SELECT count(*) FROM "{table}"')  # noqa: S608 - our own names
        return int(cursor.fetchone()[0])


class TestUntold:
    def test_no_table_shows_a_row(self, service, fleets):
        with as_role(service), seeing(SHUT):
            assert {table: rows_in(table) for table in WALLED} == dict.fromkeys(
                WALLED, 0
            )

    @pytest.mark.parametrize("table", WALLED)
    def test_no_table_takes_a_row(self, service, table):
        refusal = "row-level security"

        with (
            as_role(service),
            seeing(SHUT),
            pytest.raises(DatabaseError, match=refusal),
        ):
            insert_nothing_much(table)

    def test_no_row_is_changed_or_removed(self, service, fleets):
        with as_role(service), seeing(SHUT), connection.cursor() as cursor:
            for table in ("fleet_coach", "fleet_owner", "warranty_claim"):
                cursor.execute(f'UPDATE "{table}" SET version = 99')  # noqa: S608
                assert cursor.rowcount == 0
                cursor.execute(f'DELETE FROM "{table}"')  # noqa: S608
                assert cursor.rowcount == 0

    def test_the_owner_of_the_tables_sees_no_more(self, fleets):
        with seeing(SHUT):
            seen = sum(rows_in(table) for table in WALLED)

        # Nothing holds a superuser back: CI's role is none.
        assert (seen == 0) is not is_superuser()


class TestAtTheDoor:
    def test_people_are_known_and_no_record_is(self, service, fleets):
        with as_role(service), seeing(AT_THE_DOOR):
            assert User.objects.exists()
            assert not Coach.objects.exists()
            assert rows_in("warranty_claim") == rows_in("fleet_privatetext") == 0


class TestOneFleet:
    def test_every_table_shows_own_rows_only(self, service, fleets):
        mine, other = fleets
        ids, only_mine = ids_of(other), own(mine)

        with as_role(service), seeing(only_mine):
            seen = rows_about(ids)

        assert {table: found for table, found in seen.items() if found} == {}

    def test_own_rows_are_there(self, service, fleets):
        mine, _ = fleets
        ids, only_mine = ids_of(mine), own(mine)

        with as_role(service), seeing(only_mine):
            seen = rows_about(ids)

        assert seen["fleet_roof.id"] == seen["fleet_coach.id"] == 1
        assert seen["warranty_claim.roof_id"] == 1
        assert seen["fleet_filmreading.roof_id"] == 15

    def test_another_fleets_row_cannot_be_written(self, service, fleets):
        mine, other = fleets
        theirs, only_mine = own(other).owner_ids[0], own(mine)
        with as_role(service), seeing(only_mine):
            changed = Coach.objects.filter(pk=other.coach_id).update(version=99)

            assert changed == 0
            with pytest.raises(DatabaseError, match="row-level"), transaction.atomic():
                Coach.objects.create(unit_no="HL-9", holder_id=theirs)

    def test_a_text_is_seen_with_what_names_it(self, service, fleets):
        mine, other = fleets
        texts = {
            roof.pk: roof.claims.get().reports.get().description for roof in fleets
        }
        only_mine = own(mine)

        with as_role(service), seeing(only_mine):
            seen = set(type(texts[mine.pk]).objects.values_list("pk", flat=True))

        assert texts[mine.pk].pk in seen
        assert texts[other.pk].pk not in seen


class TestOpening:
    def test_it_ends_with_the_statement_outside_of_a_transaction(
        self, transactional_db
    ):
        records.owner()

        with seeing(Opening(gate=Gate.OWN, owner_ids=(1,))):
            rows_in("fleet_owner")

        with seeing(SHUT), connection.cursor() as cursor:
            cursor.execute("SELECT current_setting('roofreg.sight', true)")
            assert cursor.fetchone()[0] in ("", None)

    def test_a_list_read_in_pieces_is_walled_too(self, transactional_db):
        mine, other = make_promised_roof(), make_promised_roof()
        rows, only_mine = Roof.objects.order_by("pk"), own(mine)

        with seeing(only_mine):
            seen = list(rows.iterator(chunk_size=1))
        with seeing(SHUT):
            untold = list(rows.iterator(chunk_size=1))

        everything = [mine, other]
        assert seen == (everything if is_superuser() else [mine])
        assert untold == (everything if is_superuser() else [])


def is_superuser() -> bool:
    with connection.cursor() as cursor:
        cursor.execute("SELECT rolsuper FROM pg_roles WHERE rolname = current_user")
        return bool(cursor.fetchone()[0])


def ids_of(roof: Roof) -> dict[str, int]:
    """Return the keys of a roof, its coach and its holder, by table."""
    return {
        "fleet_roof": roof.pk,
        "fleet_coach": roof.coach_id,
        "fleet_owner": own(roof).owner_ids[0],
    }


def rows_about(ids: dict[str, int]) -> dict[str, int]:
    """Count what is in sight of a roof, its coach and its claims, by column."""
    found: dict[str, int] = {}
    for model in apps.get_models():
        for field in model._meta.concrete_fields:
            table = field.related_model._meta.db_table if field.is_relation else None
            if field.primary_key:
                table = model._meta.db_table
            if table in ids and isinstance(field, models.ForeignKey | models.AutoField):
                rows = model._base_manager.filter(**{field.attname: ids[table]})
                found[f"{model._meta.db_table}.{field.column}"] = rows.count()
    return found


def insert_nothing_much(table: str) -> None:
    """Insert a row of null and made-up values: the wall is asked before constraints."""
    model = next(each for each in apps.get_models() if each._meta.db_table == table)
    names, values = [], []
    for field in model._meta.concrete_fields:
        if isinstance(field, models.AutoField):
            continue
        names.append(f'"{field.column}"')
        values.append(_SAMPLES.get(field.get_internal_type(), "1"))
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(
            f'INSERT INTO "{table}" ({", ".join(names)}) VALUES ({", ".join(values)})'  # noqa: S608
        )


_SAMPLES = {
    "BinaryField": "''::bytea",
    "BooleanField": "true",
    "CharField": "''",
    "DateField": "'2026-06-01'",
    "DateTimeField": "now()",
    "EmailField": "''",
    "JSONField": "'{}'",
    "TextField": "''",
    "UUIDField": "gen_random_uuid()",
    "GenericIPAddressField": "'192.0.2.1'",
}
