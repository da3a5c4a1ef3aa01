"""Start real processes for the drills, and stop them by their id."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.utils import timezone

from jobs import runs
from jobs.models import Lane, Run

# Only a wall against waiting for ever: a busy machine may need long for a start.
PATIENCE_S = 120


# Every lane's bells and looks, for a worker that serves them all.
EVERY_QUEUE = "--queues=" + ",".join(
    f"{lane.lower()},{lane.lower()}-sweep" for lane in Lane.values
)


@contextmanager
def later_process(*arguments: str, **environment: str) -> Iterator[subprocess.Popen]:
    """Start a runner or worker in a process group of its own."""
    process = subprocess.Popen(  # noqa: S603 - our own program
        [sys.executable, "-m", "tests.drills.later_process", *arguments],
        cwd=settings.BASE_DIR,
        env={**os.environ, **environment},
        start_new_session=True,
    )
    try:
        yield process
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
        process.wait(timeout=PATIENCE_S)


def start_slow(mark: Path, *, steps: int, lane: Lane = Lane.DEFAULT) -> Run:
    """Start a run that takes so many tenths of a second and says when it began."""
    return runs.start(
        kind="slow",
        payload={"mark": str(mark), "steps": steps},
        by=None,
        now=timezone.now(),
        lane=lane,
    )


def wait_until(condition: Callable[[], bool], *, within_s: float, what: str) -> float:
    """Wait for a condition and return how long it took. [s]"""
    began_s = time.monotonic()
    while time.monotonic() - began_s < within_s:
        if condition():
            return time.monotonic() - began_s
        time.sleep(0.05)
    raise AssertionError(f"{what} did not happen within {within_s} s")


def is_in(run: Run, state: str) -> bool:
    """Return whether the row is in this state now."""
    return Run.objects.filter(pk=run.pk, state=state).exists()


def effects() -> int:
    """Return how many effects there are."""
    return Run.objects.filter(kind="effect").count()
