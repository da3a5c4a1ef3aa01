"""A real runner or Celery process that also knows two kinds of run for the drills.

``python -m tests.drills.later_process runner``, ``... worker [celery arguments]`` or
``... beat [celery arguments]``.
"""

from __future__ import annotations

import os
import sys
import time
from datetime import timedelta
from pathlib import Path

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
django.setup()

from django.core.management import call_command  # noqa: E402 - after set-up

from config.celery import app  # noqa: E402 - after set-up
from jobs import registry, relay, runs  # noqa: E402 - after set-up
from jobs import work as jobs_work  # noqa: E402 - after set-up
from jobs.work import Effect, Work  # noqa: E402 - after set-up


def slow(work: Work) -> Effect:
    """Take ``steps`` tenths of a second, then leave one row as the effect."""
    Path(str(work.payload["mark"])).touch()
    steps = int(str(work.payload["steps"]))
    work.progress.total(steps)
    for _ in range(steps):
        time.sleep(0.1)
        work.progress.step("another tenth of a second")
    return leave_a_row(work)


def stroke(work: Work) -> Effect:
    """Take a few hundredths of a second, then leave one row that names this run."""
    time.sleep(float(str(work.payload["seconds"])))
    return leave_a_row(work)


def leave_a_row(work: Work) -> Effect:
    """Return the effect of both kinds: a row that nobody starts."""

    def effect() -> dict[str, object]:
        far = work.clock() + timedelta(days=3650)
        payload = {"of": work.run_id}
        row = runs.start(kind="effect", payload=payload, by=None, now=far)
        return {"effect": str(row.uuid)}

    return effect


def shorten_the_lease(seconds: str) -> None:
    """Have dead holders be found sooner than after two minutes."""
    if seconds:
        lease = timedelta(seconds=float(seconds))
        relay.LEASE = jobs_work.LEASE = lease


if __name__ == "__main__":
    registry.HANDLERS["slow"] = slow
    registry.HANDLERS["stroke"] = stroke
    shorten_the_lease(os.environ.get("DRILL_LEASE_S", ""))
    if sys.argv[1] == "runner":
        call_command("runner", every=0.1)
    elif sys.argv[1] == "beat":
        app.start(["beat", *sys.argv[2:]])
    else:
        app.worker_main(["worker", *sys.argv[2:]])
