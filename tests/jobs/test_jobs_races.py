"""Many claimers at once, on the database that the suite runs on."""

from __future__ import annotations

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from jobs import relay, schedule
from jobs.models import Run, RunState
from tests.jobs.later import NOON, around, make_run

CLAIMERS = 8
ROWS = 40

pytestmark = pytest.mark.slow


def at_once(body, claimers: int = CLAIMERS) -> list:
    """Run ``body`` in threads that start together; return what each returned."""
    barrier = Barrier(claimers)

    def one(_number: int):
        try:
            barrier.wait(timeout=10)
            return body()
        finally:
            connection.close()

    with ThreadPoolExecutor(claimers) as pool:
        return list(pool.map(one, range(claimers)))


def test_eight_claimers_take_each_row_once(shared_database):
    rows = {make_run().pk for _ in range(ROWS)}

    def claim_until_empty() -> list[int]:
        taken = []
        while (run := relay.claim(now=NOON)) is not None:
            taken.append(run.pk)
        return taken

    taken = Counter(pk for claimer in at_once(claim_until_empty) for pk in claimer)

    assert taken == dict.fromkeys(rows, 1)
    assert set(Run.objects.values_list("starts", flat=True)) == {1}


def test_eight_bells_for_one_row_start_it_once(shared_database):
    run = make_run()

    claims = at_once(lambda: relay.claim_one(run_id=run.pk, now=NOON))

    assert sum(claim is not None for claim in claims) == 1


def test_eight_sweepers_have_one_effect_a_row(shared_database):
    for _ in range(ROWS):
        make_run()

    def handler(work):
        def effect():
            make_run(kind="effect", now=NOON.replace(year=2099))
            return {}

        return effect

    at_once(lambda: relay.sweep(around(handler)))

    assert Run.objects.filter(kind="count", state=RunState.DONE).count() == ROWS
    assert Run.objects.filter(kind="effect").count() == ROWS


def test_eight_starts_under_one_key_are_one_row(shared_database):
    started = at_once(lambda: make_run(dedupe_key="packet:7").pk)

    assert len(set(started)) == 1
    assert Run.objects.count() == 1


def test_eight_schedules_put_a_due_run_back_once(shared_database):
    recurring = (schedule.Recurring(kind="count", every=schedule.timedelta(0)),)
    schedule.put_back_due(NOON, recurring)
    Run.objects.update(state=RunState.DONE, finished_at=NOON)

    moved = at_once(lambda: schedule.put_back_due(NOON, recurring))

    assert sum(moved) == 1
