"""The bodies that Celery and the runner share, with the real handlers."""

from __future__ import annotations

import pytest

from jobs import relay, schedule, tasks
from jobs.kinds import KINDS
from jobs.models import Lane, Run, RunnerBeat, RunState
from jobs.registry import HANDLERS

pytestmark = pytest.mark.django_db


def test_every_recurring_kind_has_a_handler():
    assert {entry.kind for entry in schedule.RECURRING} <= set(HANDLERS)


def test_looking_after_a_fresh_register_beats_and_does_what_recurs():
    starts = tasks.look_after(name="shed:1", around=tasks.surroundings())

    run = Run.objects.get(kind="reassess_due")
    assert starts == len(schedule.RECURRING)
    assert (run.state, run.result) == (RunState.DONE, {"reassessed": 0})
    assert RunnerBeat.objects.filter(name="shed:1").exists()


def test_a_sweep_keeps_to_its_lane():
    tasks.sweep_later_work(lane=Lane.HEAVY)

    assert Run.objects.get(kind="reassess_due").state == RunState.NEW


def test_a_bell_rung_twice_starts_the_run_once():
    schedule.put_back_due(tasks.shared_now())
    run = Run.objects.get(kind="reassess_due")

    tasks.run_later_work(run_id=run.pk)
    tasks.run_later_work(run_id=run.pk, added_by_a_later_version=True)

    run.refresh_from_db()
    assert (run.state, run.starts) == (RunState.DONE, 1)


def test_a_bell_for_a_row_that_never_committed_is_ignored():
    tasks.run_later_work(run_id=4_000_000_000)

    assert not Run.objects.exists()


def test_a_lane_is_a_queue_of_its_own():
    assert {lane.value for lane in relay.ALL_LANES} == set(Lane.values)


def test_every_kind_that_is_named_has_a_handler_and_the_reverse():
    assert list(KINDS) == sorted(HANDLERS)
