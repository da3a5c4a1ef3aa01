"""Builders for the tests of later work."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta

from jobs import runs
from jobs.models import Run
from jobs.relay import Surroundings
from jobs.work import Effect, Handler, Work

NOON = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)


class HandClock:
    """A clock that stands still until it is moved."""

    def __init__(self, at: datetime = NOON) -> None:
        self.at = at

    def __call__(self) -> datetime:
        return self.at

    def move(self, **span: float) -> None:
        self.at += timedelta(**span)


def make_run(**over) -> Run:
    """Start a run with valid defaults."""
    fields = {"kind": "count", "payload": {}, "by": None, "now": NOON, **over}
    return runs.start(**fields)


def around(
    handler: Handler,
    *,
    clock: Callable[[], datetime] | None = None,
    is_stopping: Callable[[], bool] = bool,
) -> Surroundings:
    """Give the relay one handler, a still clock and no jitter."""
    return Surroundings(
        handlers={"count": handler},
        clock=clock or HandClock(),
        jitter=lambda: 0.0,
        is_stopping=is_stopping,
    )


def returning(result: Mapping[str, object]) -> Handler:
    """Return a handler that only answers."""

    def handle(work: Work) -> Effect:
        return lambda: result

    return handle


def raising(error: Exception) -> Handler:
    """Return a handler that always fails in the same way."""

    def handle(work: Work) -> Effect:
        raise error

    return handle
