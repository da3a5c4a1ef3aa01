"""``verify`` finds a change of any recorded column of any table, and where it is."""

from __future__ import annotations

import pytest
from django.db import models, transaction

from fleet.models import CoachFact, RoofFact
from fleet.selectors.verification import verify_ledgers
from tests.verification.tampering import (
    another_value,
    change,
    entry_of,
    fact_tables,
    is_about,
    record_everything,
)

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

# Columns whose change the ledger need not notice, each with its reason.
UNLEDGERED = {
    "id": "the row's place in one database; the uuid is its identity",
    "roof": "a fact on another roof is in no entry of it: found as moved or gone",
    # Where a coach is kept is personal: the ledger must never hold it as plain text,
    # and no rule reads it.
    "CoachDescription.town": "personal, read by no rule",
    "CoachDescription.state": "personal, read by no rule",
    "CoachDescription.time_zone": "follows from the town, read by no rule",
}
OF_EVERY_RECORD = ("uuid", "scope", "supersedes", "is_void", "settles")


def recorded_columns(table: type[models.Model]) -> list[str]:
    """Return the columns whose change has to be found."""
    own = [field.name for field in table._meta.concrete_fields]
    return [
        name
        for name in own
        if name not in UNLEDGERED and f"{table.__name__}.{name}" not in UNLEDGERED
    ]


@pytest.mark.parametrize("table", fact_tables(), ids=lambda table: table.__name__)
def test_every_column_stands_in_the_ledger_or_says_why_not(table):
    hand = {"recorded_at", "recorded_by"}
    place = {"entry"} if issubclass(table, RoofFact) else {"coach"}
    kept = {*table.ledger_fields, *OF_EVERY_RECORD, *hand, *place}

    assert set(recorded_columns(table)) - kept == set()


def test_every_table_of_facts_has_a_row_here():
    roof, _ = record_everything()

    empty = [
        table.__name__
        for table in fact_tables()
        if not any(is_about(row, roof) for row in table._default_manager.all())
    ]

    assert empty == []


def test_an_untouched_database_is_whole():
    record_everything()

    result = verify_ledgers()

    assert (result.faults, result.erased) == ([], 0)
    assert result.records > 50


@pytest.mark.parametrize("table", fact_tables(), ids=lambda table: table.__name__)
def test_one_changed_column_is_found_at_its_entry(table):
    roof, _ = record_everything()
    rows = [row for row in table._default_manager.order_by("pk") if is_about(row, roof)]
    missed = []

    for name in recorded_columns(table):
        found = faults_after_changing(rows[-1], name, roof)
        seq = entry_of(rows[-1], roof).seq
        if found != [(str(roof.uuid), seq)]:
            missed.append((name, found, seq))

    assert missed == []


def faults_after_changing(row, name, roof):
    """Change one column, verify, undo; return where the roof's first fault is."""
    value = another_value(row, name)
    with transaction.atomic():
        change(row, **{name: value})
        faults = verify_ledgers().faults
        transaction.set_rollback(True)
    return [(each.roof, each.seq) for each in faults if each.roof == str(roof.uuid)]


def test_facts_of_a_coach_stand_in_every_chain_of_it():
    roof, other = record_everything()

    for table in fact_tables():
        if issubclass(table, CoachFact):
            row = next(r for r in table._default_manager.all() if is_about(r, roof))
            assert entry_of(row, roof).roof_id == roof.pk
            assert not is_about(row, other)
