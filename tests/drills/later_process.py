"""A real runner or Celery worker that also knows one slow kind of run.

``python -m tests.drills.later_process runner`` or ``... worker [celery arguments]``.
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
from fleet.wall import is_the_registers_own_process  # noqa: E402 - after set-up
from jobs import registry, runs  # noqa: E402 - after set-up
from jobs.work import Effect, Work  # noqa: E402 - after set-up


def slow(work: Work) -> Effect:
    """Take ``steps`` tenths of a second, then leave one row as the effect."""
    Path(str(work.payload["mark"])).touch()
    steps = int(str(work.payload["steps"]))
    work.progress.total(steps)
    for _ in range(steps):
        time.sleep(0.1)
        work.progress.step("another tenth of a second")

    def effect() -> dict[str, object]:
        far = work.clock() + timedelta(days=3650)
        row = runs.start(kind="effect", payload={}, by=None, now=far)
        return {"effect": str(row.uuid)}

    return effect


if __name__ == "__main__":
    is_the_registers_own_process()
    registry.HANDLERS["slow"] = slow
    if sys.argv[1] == "runner":
        call_command("runner", every=0.1)
    else:
        app.worker_main(["worker", *sys.argv[2:]])
