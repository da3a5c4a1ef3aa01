"""What one recording with its reassessment costs, beside a bare INSERT of its rows.

Run ``python -m tests.bench.reassessment``. Another database to measure, an empty one,
is named by ``ROOFREG_BENCH_DATABASE_URL``; else it is a fresh SQLite file. The ceiling
is the same rows written with one INSERT a table and a COMMIT: nothing that keeps them
can be cheaper.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from statistics import median
from time import perf_counter

import django

from fleet.wall import is_the_registers_own_process

IS_SHORT = os.environ.get("ROOFREG_BENCH_SHORT") == "1"
ROUNDS = 5 if IS_SHORT else 15
Work = Callable[[], object]


def main() -> int:
    """Prepare a database, measure, print."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ.setdefault("ROOFREG_SECRET_KEY", "only-for-the-bench")
        # Never the records of this machine: the bench leaves rows behind.
        os.environ["ROOFREG_DATABASE_URL"] = os.environ.get(
            "ROOFREG_BENCH_DATABASE_URL", f"sqlite:///{Path(folder) / 'bench.sqlite3'}"
        )
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
        django.setup()
        is_the_registers_own_process()
        measure()
    return 0


def measure() -> None:
    """Time one recording over each fleet, and the bare INSERT of its rows."""
    from django.core.management import call_command
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    from tests.bench import reassessment_cases as cases

    call_command("migrate", verbosity=0)
    say(f"{connection.vendor}, median of {ROUNDS} recordings")
    for name, roofs in cases.fleets():
        with CaptureQueriesContext(connection) as seen:
            cases.record_on(roofs)
        recorded = milliseconds(lambda roofs=roofs: cases.recording_of(roofs))
        bare = milliseconds(lambda roofs=roofs: cases.bare_writing_of(roofs))
        say(
            f"{name}: {recorded:.1f} ms in {len(seen)} queries; ceiling {bare:.1f} ms "
            f"(INSERT and COMMIT of the same rows), {recorded / bare:.1f} times that"
        )


def milliseconds(prepare: Callable[[], Work]) -> float:
    """Return the middle time of some rounds of prepared work. [ms]"""
    times = []
    for _ in range(ROUNDS):
        work = prepare()
        began = perf_counter()
        work()
        times.append(perf_counter() - began)
    return median(times) * 1000


def say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
