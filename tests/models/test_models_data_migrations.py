"""Data migrations, run again over rows as they were before."""

from __future__ import annotations

from importlib import import_module

import pytest
from django.apps import apps
from django.db import connection

from tests import builders
from warranty.actions.claim_moves import wait_for_owner
from warranty.models import Claim

pytestmark = pytest.mark.django_db


def set_answer_days() -> None:
    migration = import_module("warranty.migrations.0013_claims_answer_by")
    with connection.schema_editor(atomic=False) as editor:
        migration.set_answer_days(apps, editor)


@pytest.mark.django_db(transaction=True)
def test_an_old_claim_gets_the_day_that_a_new_one_has_and_keeps_it():
    roof = builders.make_promised_roof()
    claim, waiting = builders.make_claim(roof), builders.make_claim(roof)
    wait_for_owner(claim=waiting, by=builders.office(), now=builders.NOON, why="photos")
    due_on = Claim.objects.get(pk=claim.pk).answer_due_on
    Claim.objects.update(answer_due_on=None)

    for _ in range(2):
        set_answer_days()

        assert Claim.objects.get(pk=claim.pk).answer_due_on == due_on
        assert Claim.objects.get(pk=waiting.pk).answer_due_on is None
