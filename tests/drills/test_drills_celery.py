"""Real Celery workers over a real Redis of our own."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

import pytest
from redis import Redis

from jobs import bell
from jobs.models import Lane, RunState
from tests import services
from tests.drills.processes import (
    EVERY_QUEUE,
    PATIENCE_S,
    effects,
    is_in,
    later_process,
    start_slow,
    wait_until,
)

pytestmark = [pytest.mark.slow, pytest.mark.redis]

WORKER = ("worker", "--concurrency=1", EVERY_QUEUE)
QUIET = ("--without-gossip", "--without-mingle", "--loglevel=WARNING")


@pytest.fixture
def broker(tmp_path, settings, monkeypatch):
    """Start a Redis of our own and ring its bell."""
    folder = tmp_path / "redis"
    folder.mkdir()
    with services.redis_server(folder) as url:
        settings.BROKER_URL = url
        monkeypatch.setattr(bell, "_quiet_until_s", 0.0)
        yield url


@pytest.fixture
def environment(shared_database, broker) -> dict[str, str]:
    return {"ROOFREG_DATABASE_URL": shared_database, "ROOFREG_BROKER_URL": broker}


def with_beat(tmp_path: Path) -> tuple[str, str]:
    return ("--beat", f"--schedule={tmp_path / 'beat'}")


def test_the_bell_alone_brings_a_worker_to_the_row(environment, tmp_path):
    with later_process(*WORKER, *QUIET, **environment):
        run = start_slow(tmp_path / "began", steps=1)

        wait_until(
            lambda: is_in(run, RunState.DONE), within_s=PATIENCE_S, what="the run"
        )

    assert effects() == 1


def test_a_row_whose_bell_was_lost_is_found_by_the_sweep(environment, broker, tmp_path):
    run = start_slow(tmp_path / "began", steps=1)
    with Redis.from_url(broker) as redis:
        assert redis.llen("roofreg:default") == 1
        redis.flushall()

    with later_process(*WORKER, *QUIET, *with_beat(tmp_path), **environment):
        wait_until(
            lambda: is_in(run, RunState.DONE), within_s=PATIENCE_S, what="the run"
        )

    assert effects() == 1


def test_a_killed_worker_loses_no_run(environment, tmp_path):
    mark = tmp_path / "began"
    run = start_slow(mark, steps=30)
    with later_process(*WORKER, *QUIET, **environment) as worker:
        wait_until(mark.exists, within_s=PATIENCE_S, what="the first start")
        os.killpg(worker.pid, signal.SIGKILL)
        worker.wait(timeout=PATIENCE_S)
    assert is_in(run, RunState.RUNNING)
    type(run).objects.filter(pk=run.pk).update(lease_until=run.created_at)

    with later_process(*WORKER, *QUIET, *with_beat(tmp_path), **environment):
        wait_until(
            lambda: is_in(run, RunState.DONE), within_s=PATIENCE_S, what="the run"
        )

    assert effects() == 1


def test_a_slow_lane_holds_up_no_other(environment, tmp_path):
    def worker(lane: Lane) -> tuple[str, ...]:
        name = lane.lower()
        return (
            "worker",
            f"--queues={name}",
            "--concurrency=1",
            f"--hostname={name}@%h",
        )

    with (
        later_process(*worker(Lane.HEAVY), *QUIET, **environment),
        later_process(*worker(Lane.NOTICES), *QUIET, **environment),
    ):
        slow = start_slow(tmp_path / "slow", steps=6000, lane=Lane.HEAVY)
        wait_until((tmp_path / "slow").exists, within_s=PATIENCE_S, what="the slow one")
        quick = start_slow(tmp_path / "quick", steps=1, lane=Lane.NOTICES)

        wait_until(
            lambda: is_in(quick, RunState.DONE), within_s=PATIENCE_S, what="the quick"
        )
        assert is_in(slow, RunState.RUNNING)


def test_a_broker_that_is_away_costs_a_start_no_more_than_a_moment(
    transactional_db, settings, monkeypatch, tmp_path
):
    settings.BROKER_URL = f"redis://127.0.0.1:{services.free_port()}/0"
    monkeypatch.setattr(bell, "_quiet_until_s", 0.0)
    began_s = time.monotonic()

    run = start_slow(tmp_path / "began", steps=1)

    # A refused connection answers at once; a silent one is cut at one second.
    assert time.monotonic() - began_s < 1.5
    assert is_in(run, RunState.NEW)


def test_after_a_silent_broker_the_bell_pauses(settings, monkeypatch):
    settings.BROKER_URL = f"redis://127.0.0.1:{services.free_port()}/0"
    monkeypatch.setattr(bell, "_quiet_until_s", 0.0)

    assert not bell.ring(run_id=1, lane=Lane.DEFAULT)

    assert bell._quiet_until_s > time.monotonic()
