"""What a handler is given: its row's ids, progress, and the right to write."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import QuerySet

from jobs.models import Run, RunState

LEASE = timedelta(seconds=120)
PROGRESS_EVERY = timedelta(seconds=1)
NOTE_LENGTH = 200

# The last step of a run: it writes the effect and returns the ids to show. It is
# called in the transaction that marks the row done, so both happen or neither.
Effect = Callable[[], Mapping[str, object]]


class LeaseLost(Exception):
    """Somebody else holds this run by now; what this holder writes is rolled back."""


class StopAsked(Exception):
    """The runner was asked to stop and has finished the step it was at."""


class TryLater(Exception):
    """The other side asks to come back later; the handler counts its own tries."""

    def __init__(self, reason: str, *, after: timedelta) -> None:
        super().__init__(reason)
        self.after = after


@dataclass(slots=True, kw_only=True)
class Progress:
    """Counts steps for the people watching; written at most once a second."""

    _hold: Callable[[dict[str, object]], None]
    _clock: Callable[[], datetime]
    _is_stopping: Callable[[], bool]
    _done: int = 0
    _total: int | None = None
    _note: str = ""
    _written_at: datetime | None = None

    def total(self, steps: int) -> None:
        """Say how many steps there are."""
        self._total = steps
        self._write(self._clock())

    def step(self, note: str = "", *, steps: int = 1) -> None:
        """Count steps as taken; call it at least once in a lease of two minutes.

        Raises:
            LeaseLost: the lease ran out and somebody else took the run.
            StopAsked: the runner stops; the run goes back to its lane.
        """
        self._done += steps
        self._note = note[:NOTE_LENGTH]
        now = self._clock()
        if self._written_at is None or now - self._written_at >= PROGRESS_EVERY:
            self._write(now)
        if self._is_stopping():
            self._write(now)
            raise StopAsked

    def columns(self) -> dict[str, object]:
        """Return what the row's progress columns should hold."""
        total = self._total
        done = self._done if total is None else min(self._done, total)
        return {
            "progress_done": done,
            "progress_total": total,
            "progress_note": self._note,
        }

    def _write(self, now: datetime) -> None:
        self._written_at = now
        self._hold(self.columns())


@dataclass(slots=True, kw_only=True)
class Work:
    """One start of one run. A handler reads, computes, and returns its effect.

    A long handler commits batches of its own inside ``writing()`` and must find by
    itself what an earlier start has already committed.
    """

    run_id: int
    uuid: uuid.UUID
    payload: Mapping[str, object]
    requested_by_id: int | None
    owner_id: int | None
    token: int
    clock: Callable[[], datetime]
    is_stopping: Callable[[], bool]
    progress: Progress = field(init=False)

    def __post_init__(self) -> None:
        self.progress = Progress(
            _hold=self._hold, _clock=self.clock, _is_stopping=self.is_stopping
        )

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Open a transaction that commits only while this start holds the run.

        Count the step after it, not in it: a stop raised inside would undo the batch.

        Raises:
            LeaseLost: somebody else holds it; nothing was written.
        """
        with transaction.atomic():
            self._hold({})
            yield

    def finish(self, effect: Effect) -> None:
        """Write the effect and mark the row done in one transaction.

        Raises:
            LeaseLost: somebody else holds the run; the effect was not written.
        """
        with transaction.atomic():
            # The row first: from here on nobody else can claim it.
            self._hold({})
            result = dict(effect())
            self._held().update(
                state=RunState.DONE,
                lease_until=None,
                finished_at=self.clock(),
                result=result,
                last_error="",
                **self.progress.columns(),
            )

    def _hold(self, columns: dict[str, object]) -> None:
        if not self._held().update(lease_until=self.clock() + LEASE, **columns):
            raise LeaseLost(f"run {self.run_id} is no longer held by {self.token}")

    def _held(self) -> QuerySet[Run]:
        return Run.objects.filter(
            pk=self.run_id, state=RunState.RUNNING, lease_token=self.token
        )


Handler = Callable[[Work], Effect]
