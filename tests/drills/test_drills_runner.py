"""A runner is killed, frozen or stopped in the middle of a run."""

from __future__ import annotations

import os
import signal
import time
from datetime import timedelta

import pytest
from django.db import OperationalError, connection
from django.utils import timezone

from jobs.models import Run, RunState
from tests.drills.processes import (
    PATIENCE_S,
    effects,
    is_in,
    later_process,
    start_slow,
    wait_until,
)

pytestmark = pytest.mark.slow


def let_the_lease_run_out(run: Run) -> None:
    """Stand for two minutes of waiting."""
    past = timezone.now() - timedelta(seconds=1)
    assert Run.objects.filter(pk=run.pk, state=RunState.RUNNING).update(
        lease_until=past
    )


def freeze(pid: int, run: Run) -> None:
    """Stop a runner between two writes and let its lease run out.

    A process that is stopped while it holds the database's lock stops everybody: it
    is let go on for a moment and stopped again.
    """
    soon = {
        "sqlite": "PRAGMA busy_timeout = 1000",
        "postgresql": "SET lock_timeout = '1s'",
    }
    with connection.cursor() as cursor:
        cursor.execute(soon[connection.vendor])
    for _ in range(60):
        os.killpg(pid, signal.SIGSTOP)
        try:
            let_the_lease_run_out(run)
        except OperationalError:
            os.killpg(pid, signal.SIGCONT)
            time.sleep(0.05)
        else:
            return
    raise AssertionError("The runner never let go of the database.")


def test_what_a_killed_runner_began_the_next_one_finishes_once(
    shared_database, tmp_path
):
    mark = tmp_path / "began"
    run = start_slow(mark, steps=20)
    with later_process("runner", ROOFREG_DATABASE_URL=shared_database) as first:
        wait_until(mark.exists, within_s=PATIENCE_S, what="the first start")
        os.killpg(first.pid, signal.SIGKILL)
        first.wait(timeout=PATIENCE_S)
    let_the_lease_run_out(run)

    with later_process("runner", ROOFREG_DATABASE_URL=shared_database):
        wait_until(
            lambda: is_in(run, RunState.DONE),
            within_s=PATIENCE_S,
            what="the second start",
        )

    run.refresh_from_db()
    assert (effects(), run.starts) == (1, 2)


def test_a_runner_that_was_frozen_writes_nothing_when_it_wakes(
    shared_database, tmp_path
):
    mark = tmp_path / "began"
    run = start_slow(mark, steps=10)
    address = {"ROOFREG_DATABASE_URL": shared_database}
    with later_process("runner", **address) as frozen:
        wait_until(mark.exists, within_s=PATIENCE_S, what="the first start")
        freeze(frozen.pid, run)
        with later_process("runner", **address):
            wait_until(
                lambda: is_in(run, RunState.DONE),
                within_s=PATIENCE_S,
                what="the second start",
            )
        os.killpg(frozen.pid, signal.SIGCONT)
        os.killpg(frozen.pid, signal.SIGTERM)
        frozen.wait(timeout=PATIENCE_S)

    run.refresh_from_db()
    assert (effects(), run.starts, run.state) == (1, 2, RunState.DONE)


def test_a_stopped_runner_gives_its_run_back(shared_database, tmp_path):
    mark = tmp_path / "began"
    run = start_slow(mark, steps=600)
    with later_process("runner", ROOFREG_DATABASE_URL=shared_database) as runner:
        wait_until(mark.exists, within_s=PATIENCE_S, what="the first start")

        runner.terminate()

        assert runner.wait(timeout=PATIENCE_S) == 0
    run.refresh_from_db()
    assert (run.state, run.starts, effects()) == (RunState.NEW, 0, 0)
