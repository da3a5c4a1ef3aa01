"""How many runs one runner does a second, beside what its commits alone cost.

Run ``python -m tests.bench.later_work [--runs N]``. Another database to measure, an
empty one, is named by ``ROOFREG_BENCH_DATABASE_URL``; else it is a fresh SQLite file.
The ceiling: each run needs two commits, its claim and its finish, so no relay does more
than half the single-row commits that the same database takes in the same run.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from pathlib import Path
from time import perf_counter

import django

from fleet.wall import is_the_registers_own_process


def main() -> int:
    """Prepare a database, measure, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    short = os.environ.get("ROOFREG_BENCH_SHORT") == "1"
    parser.add_argument("--runs", type=int, default=200 if short else 1000)
    runs = parser.parse_args().runs
    with tempfile.TemporaryDirectory() as folder:
        os.environ.setdefault("ROOFREG_SECRET_KEY", "only-for-the-bench")
        # Never the records of this machine: the bench leaves rows behind.
        os.environ["ROOFREG_DATABASE_URL"] = os.environ.get(
            "ROOFREG_BENCH_DATABASE_URL", f"sqlite:///{Path(folder) / 'bench.sqlite3'}"
        )
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
        django.setup()
        is_the_registers_own_process()
        measure(runs)
    return 0


def measure(count: int) -> None:
    """Time single-row commits, then starts, then runs, on one connection."""
    from django.core.management import call_command
    from django.db import connection
    from django.utils import timezone

    from jobs import relay, runs
    from jobs.models import RunnerBeat

    call_command("migrate", verbosity=0)
    row, _ = RunnerBeat.objects.get_or_create(
        name="bench", defaults={"seen_at": timezone.now()}
    )

    def commit_rows() -> None:
        for _ in range(count):
            RunnerBeat.objects.filter(pk=row.pk).update(seen_at=timezone.now())

    def start_runs() -> None:
        for _ in range(count):
            runs.start(kind="bench", payload={}, by=None, now=timezone.now())

    def do_runs() -> None:
        around = relay.Surroundings(
            handlers={"bench": lambda work: dict},
            clock=timezone.now,
            jitter=lambda: 0.0,
        )
        done = relay.sweep(around)
        if done != count:
            raise SystemExit(f"{done} of {count} runs were done")

    commits = count / _seconds(commit_rows)
    starts = count / _seconds(start_runs)
    done = count / _seconds(do_runs)
    ceiling = commits / 2
    sys.stdout.write(
        f"{connection.vendor}, {count} runs, one runner\n"
        f"single-row commits {commits:10.0f} /s\n"
        f"runs started       {starts:10.0f} /s  ceiling {commits:.0f} /s"
        f"  ({starts / commits:.0%})\n"
        f"runs done          {done:10.0f} /s  ceiling {ceiling:.0f} /s"
        f"  ({done / ceiling:.0%})\n"
    )


def _seconds(body) -> float:
    began = perf_counter()
    body()
    return perf_counter() - began


if __name__ == "__main__":
    sys.exit(main())
