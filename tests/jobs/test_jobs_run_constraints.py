"""Each constraint of the later work's rows accepts the good and refuses the bad."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction

from jobs.models import Lane, Run, RunnerBeat, RunState
from tests.jobs.later import NOON

pytestmark = pytest.mark.django_db

RUNNING = {"state": RunState.RUNNING, "lease_until": NOON}
DONE = {"state": RunState.DONE, "finished_at": NOON}
DEAD = {"state": RunState.DEAD, "finished_at": NOON, "last_error": "No such roof."}


def insert(**over) -> Run:
    fields = {"kind": "count", "available_at": NOON, "created_at": NOON, **over}
    return Run.objects.create(**fields)


@pytest.mark.parametrize(
    "fields",
    [
        {"kind": "count"},
        {"lane": Lane.HEAVY},
        RUNNING,
        DONE,
        DEAD,
        {"progress_done": 3},
        {"progress_done": 3, "progress_total": 3},
    ],
)
def test_a_sound_row_is_accepted(fields):
    assert insert(**fields).pk


@pytest.mark.parametrize(
    ("constraint", "fields"),
    [
        ("run_kind_given", {"kind": ""}),
        ("run_state_known", {"state": "LOST"}),
        ("run_lane_known", {"lane": "FAST"}),
        ("run_lease_while_running", {"state": RunState.RUNNING}),
        ("run_lease_while_running", {"lease_until": NOON}),
        ("run_finished_when_done_or_dead", {"state": RunState.DONE}),
        ("run_finished_when_done_or_dead", {"finished_at": NOON}),
        ("run_dead_has_reason", {**DEAD, "last_error": ""}),
        ("run_progress_within_total", {"progress_done": 4, "progress_total": 3}),
    ],
)
def test_an_unsound_row_is_refused(constraint, fields):
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        insert(**fields)


def test_a_runner_is_seen_once_a_lane():
    RunnerBeat.objects.create(name="shed:1", lane=Lane.HEAVY, seen_at=NOON)
    assert RunnerBeat.objects.create(name="shed:1", lane=Lane.NOTICES, seen_at=NOON).pk

    with pytest.raises(IntegrityError), transaction.atomic():
        RunnerBeat.objects.create(name="shed:1", lane=Lane.HEAVY, seen_at=NOON)


def test_a_beat_of_no_known_lane_is_refused():
    with (
        pytest.raises(IntegrityError, match="runner_beat_lane_known"),
        transaction.atomic(),
    ):
        RunnerBeat.objects.create(name="shed:1", lane="FAST", seen_at=NOON)


def test_many_rows_may_go_without_a_key():
    insert()
    insert()

    assert Run.objects.filter(dedupe_key=None).count() == 2


def test_a_key_is_used_once():
    insert(dedupe_key="packet:7")

    with pytest.raises(IntegrityError), transaction.atomic():
        insert(dedupe_key="packet:7")


def test_a_beat_has_a_name():
    assert RunnerBeat.objects.create(name="shed:1", seen_at=NOON).pk

    with (
        pytest.raises(IntegrityError, match="runner_beat_name_given"),
        transaction.atomic(),
    ):
        RunnerBeat.objects.create(name="", seen_at=NOON)


def test_a_runner_has_one_beat():
    RunnerBeat.objects.create(name="shed:1", seen_at=NOON)

    with pytest.raises(IntegrityError), transaction.atomic():
        RunnerBeat.objects.create(name="shed:1", seen_at=NOON)
