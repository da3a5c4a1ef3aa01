"""The bodies of later work: Celery calls them, and so does the runner in place."""

from __future__ import annotations

import secrets
import socket
import time
from collections.abc import Callable, Sequence

from celery import shared_task

from jobs import beats, relay, schedule
from jobs.clock import shared_now
from jobs.registry import HANDLERS

# A sweep in a Celery worker starts nothing new after this, so that sweeps rotate.
SWEEP_STARTS_FOR_S = 5.0

_jitter = secrets.SystemRandom().random


def surroundings(is_stopping: Callable[[], bool] = bool) -> relay.Surroundings:
    """Return the real clock, jitter and handlers."""
    return relay.Surroundings(
        handlers=HANDLERS, clock=shared_now, jitter=_jitter, is_stopping=is_stopping
    )


@shared_task(name="jobs.tasks.run_later_work", acks_late=True, ignore_result=True)
def run_later_work(*, run_id: int, **_later: object) -> None:
    """Do one run, unless it is done or held.

    Safe to run twice or at the same time: the claim lets one in, and the lease's
    token lets one write.
    """
    run = relay.claim_one(run_id=run_id, now=shared_now())
    if run is not None:
        relay.attempt(run, surroundings())


@shared_task(name="jobs.tasks.sweep_later_work", acks_late=True, ignore_result=True)
def sweep_later_work(*, lane: str, **_later: object) -> None:
    """Do what no bell announced in one lane, and what is due by the schedule.

    Safe to run twice or at the same time, as every step is a compare-and-swap.
    """
    stop_at_s = time.monotonic() + SWEEP_STARTS_FOR_S
    look_after(
        name=socket.gethostname(),
        around=surroundings(),
        lanes=(lane,),
        may_go_on=lambda: time.monotonic() < stop_at_s,
    )


def keep_time(
    *, name: str, around: relay.Surroundings, lanes: Sequence[str] = relay.ALL_LANES
) -> None:
    """Say who looks after these lanes, and put back what is due by the schedule."""
    beats.beat(name, around.clock(), lanes)
    schedule.put_back_due(around.clock())


def look_after(
    *,
    name: str,
    around: relay.Surroundings,
    lanes: Sequence[str] = relay.ALL_LANES,
    may_go_on: Callable[[], bool] = lambda: True,
) -> int:
    """Keep time, then do what can be claimed; return how many starts."""
    keep_time(name=name, around=around, lanes=lanes)
    return relay.sweep(around, lanes=lanes, may_go_on=may_go_on)
