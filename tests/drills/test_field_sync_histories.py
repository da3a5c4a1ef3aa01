"""Phones in every order: the same operations make the same facts known."""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, Phase
from hypothesis import settings as budget
from hypothesis.stateful import run_state_machine_as_test

from tests.field.histories import make_world
from tests.field.sync_machine import SyncMachine

# A first look in the suite; `make drills` sets the number that is asked of a release.
HISTORIES = int(os.environ.get("FIELD_SYNC_HISTORIES", "25"))

pytestmark = [pytest.mark.slow, pytest.mark.django_db]


def test_any_order_any_repetition_and_lost_replies_make_the_same_known(settings):
    # Standings are worked out from the facts when a history ends, not at each step.
    settings.LEDGER_SUBSCRIBERS = []
    SyncMachine.world = make_world()

    run_state_machine_as_test(
        SyncMachine,
        settings=budget(
            max_examples=HISTORIES,
            stateful_step_count=14,
            deadline=None,
            database=None,
            derandomize=False,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
            print_blob=True,
        ),
    )
