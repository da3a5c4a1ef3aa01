"""Claim a row, do its work, finish it once: the loop behind every run."""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import connection, transaction
from django.db.models import Q, QuerySet

from fleet.errors import DomainError
from jobs.models import Lane, Run, RunState
from jobs.work import LEASE, Handler, LeaseLost, StopAsked, TryLater, Work

logger = logging.getLogger(__name__)

MAX_STARTS = 5
FIRST_PAUSE_S = 5.0
PAUSE_FACTOR = 4.0
ALL_LANES = (Lane.DEFAULT, Lane.NOTICES, Lane.WEBHOOKS, Lane.HEAVY)
ERROR_LENGTH = 2000
WAS_STOPPED = "The runner stopped before this was finished."


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """What the relay takes from outside, so that a test can give it its own."""

    handlers: Mapping[str, Handler]
    clock: Callable[[], datetime]
    jitter: Callable[[], float]  # in [0, 1)
    is_stopping: Callable[[], bool] = bool


def claim(*, now: datetime, lanes: Sequence[str] = ALL_LANES) -> Run | None:
    """Take the longest waiting row of the first lane that has one."""
    for lane in lanes:
        run = _take(claimable(now).filter(lane=lane), now)
        if run is not None:
            return run
    return None


def claim_one(*, run_id: int, now: datetime) -> Run | None:
    """Take this row, or nothing if it is done, held or not due yet."""
    return _take(claimable(now).filter(pk=run_id), now)


def claimable(now: datetime) -> QuerySet[Run]:
    """Return the rows that may be started: due, and held by nobody alive."""
    return Run.objects.filter(
        Q(state=RunState.NEW) | Q(state=RunState.RUNNING, lease_until__lt=now),
        available_at__lte=now,
        starts__lt=MAX_STARTS,
    )


def _take(rows: QuerySet[Run], now: datetime) -> Run | None:
    if not connection.features.has_select_for_update and not rows.exists():
        return None  # on SQLite a look that finds nothing must not lock out writers
    # PostgreSQL locks the row and skips locked ones. SQLite ignores the lock clause,
    # but its transactions are IMMEDIATE: the whole file is locked before the read.
    with transaction.atomic():
        run = (
            rows.select_for_update(skip_locked=True)
            .order_by("available_at", "id")
            .first()
        )
        if run is None:
            return None
        if run.state == RunState.RUNNING:
            run.last_error = WAS_STOPPED
        run.state = RunState.RUNNING
        run.lease_token += 1
        run.lease_until = now + LEASE
        run.starts += 1
        run.save(
            update_fields=[
                "state",
                "lease_token",
                "lease_until",
                "starts",
                "last_error",
            ]
        )
    return run


def attempt(run: Run, around: Surroundings) -> None:
    """Do the work of a claimed row and settle the row, whatever happens."""
    work = Work(
        run_id=run.pk,
        uuid=run.uuid,
        payload=run.payload,
        requested_by_id=run.requested_by_id,
        owner_id=run.owner_id,
        token=run.lease_token,
        clock=around.clock,
        is_stopping=around.is_stopping,
    )
    handler = around.handlers.get(run.kind)
    try:
        if handler is None:
            raise DomainError(
                f"No handler for runs of the kind {run.kind!r}. Update the runner."
            )
        work.finish(handler(work))
    except LeaseLost:
        logger.warning("Run %s was taken over by another runner.", run.uuid)
    except StopAsked:
        _release(run, around.clock())
    except TryLater as asked:
        _put_off(run, asked, around.clock())
    except DomainError as refusal:
        # A refusal is an answer, not an accident: the same work gets the same one.
        _set_aside(run, refusal.message, around.clock())
    except Exception as error:
        logger.exception("Run %s failed at start %s.", run.uuid, run.starts)
        _fail(run, error, around)


def sweep(
    around: Surroundings,
    *,
    lanes: Sequence[str] = ALL_LANES,
    may_go_on: Callable[[], bool] = lambda: True,
) -> int:
    """Do everything that can be claimed while allowed to; return how many starts."""
    set_aside_exhausted(around.clock())
    starts = 0
    while may_go_on() and not around.is_stopping():
        run = claim(now=around.clock(), lanes=lanes)
        if run is None:
            break
        attempt(run, around)
        starts += 1
    return starts


def set_aside_exhausted(now: datetime) -> int:
    """Set aside the rows whose last allowed start never came back."""
    lost = Run.objects.filter(
        state=RunState.RUNNING, lease_until__lt=now, starts__gte=MAX_STARTS
    )
    if not lost.exists():
        return 0
    return lost.update(
        state=RunState.DEAD,
        lease_until=None,
        finished_at=now,
        last_error=f"The runner stopped {MAX_STARTS} times while doing this. "
        "Look for what stops it, then try again.",
    )


def pause_after(starts: int, jitter: float) -> timedelta:
    """Return how long to wait after a failed start: 5, 20, 80, 320 s, half to full.

    The jitter in [0, 1) keeps rows that failed together from coming back together.
    """
    full_s = FIRST_PAUSE_S * PAUSE_FACTOR ** (starts - 1)
    return timedelta(seconds=full_s * (0.5 + 0.5 * jitter))


def _fail(run: Run, error: Exception, around: Surroundings) -> None:
    now = around.clock()
    reason = f"{type(error).__name__}: {error}"[:ERROR_LENGTH]
    if run.starts >= MAX_STARTS:
        _set_aside(run, reason, now)
        return
    _held(run).update(
        state=RunState.NEW,
        lease_until=None,
        available_at=now + pause_after(run.starts, around.jitter()),
        last_error=reason,
    )


def _set_aside(run: Run, reason: str, now: datetime) -> None:
    _held(run).update(
        state=RunState.DEAD, lease_until=None, finished_at=now, last_error=reason
    )


def _release(run: Run, now: datetime) -> None:
    # Asked to stop is no failure, so this start is not counted.
    _held(run).update(
        state=RunState.NEW, lease_until=None, available_at=now, starts=run.starts - 1
    )


def _put_off(run: Run, asked: TryLater, now: datetime) -> None:
    # The handler keeps its own count of tries, so this start is not counted.
    _held(run).update(
        state=RunState.NEW,
        lease_until=None,
        available_at=now + asked.after,
        starts=run.starts - 1,
        last_error=str(asked)[:ERROR_LENGTH],
    )


def _held(run: Run) -> QuerySet[Run]:
    return Run.objects.filter(
        pk=run.pk, state=RunState.RUNNING, lease_token=run.lease_token
    )
