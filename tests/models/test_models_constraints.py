"""Every constraint stands in the database: it takes one row and refuses another."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, models, transaction

from fleet.models import Visit
from tests.models.rows import CASES, Case, Fields, saved, valid
from tests.models.rows_of_claims import CLAIM_CASES
from tests.models.rows_of_evidence import EVIDENCE_CASES

pytestmark = pytest.mark.django_db
ALL_CASES = [*CASES, *EVIDENCE_CASES, *CLAIM_CASES]
NAMES = [each.name for each in ALL_CASES]


def declared() -> dict[str, models.BaseConstraint]:
    """Return every constraint of the two rooms' tables by its name."""
    return {
        each.name: each
        for room in ("fleet", "warranty")
        for table in apps.get_app_config(room).get_models()
        for each in table._meta.constraints
    }


def made(case: Case, fields: Fields) -> models.Model:
    """Return the unsaved row of a case, a first row of its table being on record."""
    first = saved(valid(case.table))
    over: dict[str, Any] = dict(fields(first) if callable(fields) else fields)
    return valid(case.table, **over)


def named(error: IntegrityError, case: Case) -> bool:
    """Return whether the database named the constraint, or its columns."""
    if connection.vendor == "postgresql":
        return bool(error.__cause__.diag.constraint_name == case.name)
    constraint = declared()[case.name]
    if isinstance(constraint, models.CheckConstraint):
        return str(error) == f"CHECK constraint failed: {case.name}"
    table = case.table._meta
    columns = [
        f"{table.db_table}.{table.get_field(name).column}" for name in constraint.fields
    ]
    return str(error) == f"UNIQUE constraint failed: {', '.join(columns)}"


def others(case: Case) -> Iterable[models.BaseConstraint]:
    known = {case.name, case.breaks_too}
    return (each for each in case.table._meta.constraints if each.name not in known)


def test_every_constraint_has_a_case():
    assert sorted(NAMES) == sorted(declared())


@pytest.mark.parametrize("case", ALL_CASES, ids=NAMES)
def test_takes(case):
    row = made(case, case.takes)

    row.save(force_insert=True)

    assert row.pk is not None


@pytest.mark.parametrize("case", ALL_CASES, ids=NAMES)
def test_refuses_a_row_that_breaks_nothing_else(case):
    row = made(case, case.refuses)
    for constraint in others(case):
        constraint.validate(case.table, row)

    with pytest.raises(IntegrityError) as refused, transaction.atomic():
        row.save(force_insert=True)

    assert named(refused.value, case), refused.value


@pytest.mark.parametrize("marked", ["is_void", "settles"])
def test_a_row_that_names_no_other_neither_strikes_nor_settles(marked):
    row = valid(Visit, **{marked: True})

    with pytest.raises(IntegrityError, match="visit_void_names_a_row"):
        row.save()
