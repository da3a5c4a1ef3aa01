"""Each lane has its own threads; done runs go, set-aside ones stay."""

from __future__ import annotations

import threading
from datetime import timedelta

import pytest

from jobs import pruning, relay
from jobs.lanes import THREADS, Lanes
from jobs.models import Lane, Run, RunState
from jobs.work import TryLater, Work
from tests.jobs.later import NOON, HandClock, around, make_run, raising

PATIENCE_S = 30


@pytest.mark.slow
def test_a_slow_lane_holds_up_no_other(shared_database):
    slow_began, may_end = threading.Event(), threading.Event()
    done_elsewhere: list[str] = []
    all_done = threading.Event()

    def handle(work: Work):
        if work.payload["lane"] == Lane.HEAVY:
            slow_began.set()
            assert may_end.wait(PATIENCE_S)
            return dict
        assert slow_began.wait(PATIENCE_S)
        done_elsewhere.append(str(work.payload["lane"]))
        if len(done_elsewhere) == 3:
            all_done.set()
        return dict

    for lane in Lane:
        make_run(lane=lane, payload={"lane": lane})
    stop = threading.Event()
    lanes = Lanes(around=around(handle), every_s=0.05, stop=stop)
    lanes.start()
    try:
        assert all_done.wait(PATIENCE_S)
        assert Run.objects.get(lane=Lane.HEAVY).state == RunState.RUNNING
    finally:
        may_end.set()
        stop.set()
        assert lanes.join(PATIENCE_S)

    assert sorted(done_elsewhere) == ["DEFAULT", "NOTICES", "WEBHOOKS"]


@pytest.mark.slow
def test_a_thread_that_breaks_stops_the_runner(shared_database, monkeypatch):
    def broken(*_args, **_kwargs):
        raise RuntimeError("no such thing")

    monkeypatch.setattr(relay, "sweep", broken)
    stop = threading.Event()
    lanes = Lanes(around=around(raising(OSError())), every_s=0.05, stop=stop)

    lanes.start()

    assert lanes.join(PATIENCE_S)
    assert lanes.broken.is_set()
    assert stop.is_set()


def test_every_lane_has_a_thread():
    assert set(THREADS) == set(Lane)


@pytest.mark.django_db
def test_put_off_by_the_other_side_is_no_failed_start():
    clock = HandClock()
    asked = TryLater("451 come back later", after=timedelta(minutes=10))
    run = make_run()

    relay.sweep(around(raising(asked), clock=clock))

    run.refresh_from_db()
    assert (run.state, run.starts) == (RunState.NEW, 0)
    assert run.available_at == NOON + timedelta(minutes=10)
    assert "451" in run.last_error


@pytest.mark.django_db
class TestPruning:
    def finished(self, state: str, *, days_ago: int, **over) -> Run:
        run = make_run(**over)
        Run.objects.filter(pk=run.pk).update(
            state=state, finished_at=NOON - timedelta(days=days_ago), last_error="why"
        )
        return run

    def prune(self) -> int:
        run = make_run()
        relay.sweep(around(pruning.prune_runs))
        run.refresh_from_db()
        return run.result["deleted"]

    def test_done_runs_go_after_their_retention(self, settings):
        settings.KEEP_RUNS_DAYS = 30
        old = self.finished(RunState.DONE, days_ago=31)
        young = self.finished(RunState.DONE, days_ago=29)

        assert self.prune() == 1

        left = set(Run.objects.values_list("pk", flat=True))
        assert young.pk in left
        assert old.pk not in left

    def test_what_was_set_aside_stays_however_old(self):
        dead = self.finished(RunState.DEAD, days_ago=4000)

        assert self.prune() == 0

        assert Run.objects.filter(pk=dead.pk).exists()

    def test_what_recurs_keeps_its_row(self):
        row = self.finished(RunState.DONE, days_ago=400, dedupe_key="every:x")

        assert self.prune() == 0

        assert Run.objects.filter(pk=row.pk).exists()

    def test_more_than_a_batch_goes_in_one_run(self, monkeypatch):
        monkeypatch.setattr(pruning, "BATCH", 2)
        for _ in range(5):
            self.finished(RunState.DONE, days_ago=200)

        assert self.prune() == 5
