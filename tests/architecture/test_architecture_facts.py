"""Every table of facts refuses change, on the database that the suite runs on."""

from __future__ import annotations

from datetime import UTC, datetime
from uuid import uuid4

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction

from fleet.models import LedgerEntry, Merge, MergeKind, PrivateText, Record, User

GUARDS = {
    "sqlite": "SELECT DISTINCT tbl_name FROM sqlite_master WHERE type = 'trigger'",
    "postgresql": "SELECT DISTINCT tgrelid::regclass::text FROM pg_trigger"
    " WHERE NOT tgisinternal",
}
NOON = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)


def guarded_tables() -> set[str]:
    """Return the tables that have triggers of ours."""
    with connection.cursor() as cursor:
        cursor.execute(GUARDS[connection.vendor])
        return {name for (name,) in cursor.fetchall()}


def fact_tables() -> set[str]:
    """Return the tables whose rows are never updated or deleted."""
    records = [model for model in apps.get_models() if issubclass(model, Record)]
    return {model._meta.db_table for model in (*records, LedgerEntry, Merge)}


def make_merge() -> Merge:
    """Record a merge: the fact that needs the fewest other rows."""
    return Merge.objects.create(
        kind=MergeKind.COACH,
        kept=uuid4(),
        dropped=uuid4(),
        why=PrivateText.objects.create(body="the same coach twice"),
        recorded_at=NOON,
        recorded_by=User.objects.create(username="office"),
    )


@pytest.mark.django_db
def test_every_table_of_facts_is_guarded():
    assert fact_tables() - guarded_tables() == set()


@pytest.mark.django_db
@pytest.mark.parametrize("change", ["update", "delete"])
def test_a_recorded_fact_refuses_change(change):
    facts = Merge.objects.filter(pk=make_merge().pk)

    def act():
        with transaction.atomic():
            facts.update(kept=uuid4()) if change == "update" else facts.delete()

    with pytest.raises(DatabaseError, match="never updated or deleted"):
        act()
    assert facts.exists()


@pytest.mark.slow
def test_the_tests_own_flush_empties_the_facts_and_guards_them_again(transactional_db):
    make_merge()
    before = guarded_tables()

    call_command("flush", interactive=False, verbosity=0)

    assert not Merge.objects.exists()
    assert guarded_tables() == before
