"""Every table that holds an owner's data stands behind PostgreSQL's row security."""

from __future__ import annotations

import re

import pytest
from django.apps import apps
from django.db import connection, models

from fleet.models import PrivateText
from tests.wall.tables import OPEN_TABLES, tables

POLICIES = """
SELECT tablename, qual FROM pg_policies WHERE schemaname = current_schema()
"""
FORCED = """
SELECT relname FROM pg_class WHERE relrowsecurity AND relforcerowsecurity
AND relnamespace = current_schema()::regnamespace
"""


def rows_of(question: str) -> list[tuple]:
    with connection.cursor() as cursor:
        cursor.execute(question)
        return cursor.fetchall()


@pytest.mark.django_db
class TestTables:
    def test_each_is_walled_or_has_a_reason_not_to_be(self):
        """Failing for a new table? Add ``rows.wall(...)`` to its migration."""
        forced = {name for (name,) in rows_of(FORCED)}
        policies = {name for name, _ in rows_of(POLICIES)}

        assert tables() - forced == set(OPEN_TABLES)
        assert forced == policies

    def test_a_text_is_seen_through_every_column_that_names_one(self):
        policy = dict(rows_of(POLICIES))["fleet_privatetext"]
        naming = {
            (field.model._meta.db_table, field.column)
            for model in apps.get_models()
            for field in model._meta.concrete_fields
            if isinstance(field, models.ForeignKey)
            and field.related_model is PrivateText
        }

        told = set(re.findall(r"FROM (\w+) seen\s+WHERE \(seen\.(\w+) =", policy))

        assert told == naming


def test_every_reason_names_a_table():
    assert set(OPEN_TABLES) <= tables()
