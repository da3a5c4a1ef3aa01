"""Every row of every table of facts refuses UPDATE and DELETE, however it is asked."""

from __future__ import annotations

import pytest
from django.db import DatabaseError, connection, transaction

from fleet.models import LedgerEntry, Merge, MetCoach
from tests.models.rows import saved, valid
from tests.models.rows_of_claims import RECORD_NAMES as WITH_CLAIMS
from tests.models.rows_of_evidence import RECORD_NAMES

pytestmark = pytest.mark.django_db
TABLES = [*(RECORD_NAMES | WITH_CLAIMS).values(), LedgerEntry, Merge, MetCoach]
WAYS = {
    "update": lambda row: type(row).objects.filter(pk=row.pk).update(id=row.pk),
    "save": lambda row: row.save(),
    "delete": lambda row: (
        type(row).objects.filter(pk=row.pk)._raw_delete(connection.alias)
    ),
    "raw update": lambda row: execute(row, "UPDATE {table} SET id = id WHERE id = %s"),
    "raw delete": lambda row: execute(row, "DELETE FROM {table} WHERE id = %s"),
}


def execute(row, statement: str) -> None:
    table = connection.ops.quote_name(row._meta.db_table)
    with connection.cursor() as cursor:
        cursor.execute(statement.format(table=table), [row.pk])


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.__name__)
def test_refuses_every_way_to_change_or_delete_a_row(table):
    row = saved(valid(table))

    answers = {name: answer_to(change, row) for name, change in WAYS.items()}

    refused = f"Rows of {row._meta.db_table} are never updated or deleted."
    assert all(refused in answer for answer in answers.values()), answers
    assert table.objects.filter(pk=row.pk).exists()


def answer_to(change, row) -> str:
    """Return what the database said to a change."""
    try:
        with transaction.atomic():
            change(row)
    except DatabaseError as error:
        return str(error)
    return "it went through"
