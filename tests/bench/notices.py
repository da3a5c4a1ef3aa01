"""The sweep for notices over a large fleet, beside a small one and bare inserts.

Run ``python -m tests.bench.notices``. Another database to measure, an empty one, is
named by ``ROOFREG_BENCH_DATABASE_URL``; else it is a fresh SQLite file. 900 of 20,000
roofs reach a step today, then 900 of 200,000: the queries must be the same, and the
time must not follow the fleet. The ceiling is the writing of the same rows in one
statement a table: nothing that keeps them can be cheaper.
"""

from __future__ import annotations

import os
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from time import perf_counter

import django

IS_SHORT = os.environ.get("ROOFREG_BENCH_SHORT") == "1"
SIZES = (2_000, 20_000) if IS_SHORT else (20_000, 200_000)
ROUNDS = 5
DUE = 90 if IS_SHORT else 900
# A Wednesday; thirty days on is a Friday.
NOW = datetime(2026, 6, 3, 16, 0, tzinfo=UTC)
# The large fleet may cost so many times the small one; ten times would be its size.
MOST_TIMES = 2.0


def main() -> int:
    """Prepare a database, measure, print; fail when the cost follows the fleet."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ.setdefault("ROOFREG_SECRET_KEY", "only-for-the-bench")
        # Never the records of this machine: the bench leaves rows behind.
        os.environ["ROOFREG_DATABASE_URL"] = os.environ.get(
            "ROOFREG_BENCH_DATABASE_URL", f"sqlite:///{Path(folder) / 'bench.sqlite3'}"
        )
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
        django.setup()
        return measure()


def measure() -> int:
    """Sweep 900 due roofs beside few others, then beside many."""
    from django.core.management import call_command
    from django.db import connection

    from tests.notices.bulk import make_roofs

    call_command("migrate", verbosity=0)
    small, large = SIZES
    say(f"{connection.vendor}, {DUE} roofs due")
    make_roofs(small, due=DUE, now=NOW, prefix="S")
    queries, cost = swept(small)
    make_roofs(large - small, due=DUE, now=NOW, prefix="L")
    more_queries, more_cost = swept(large)
    times = more_cost / cost
    say(f"{large:,} roofs cost {times:.2f} times {small:,} roofs")
    if more_queries != queries:
        say(f"FAILED: {more_queries} queries instead of {queries}")
        return 1
    if times > MOST_TIMES:
        say(f"FAILED: more than {MOST_TIMES} times")
        return 1
    return 0


def swept(roofs: int) -> tuple[int, float]:
    """Sweep until nothing is due; return the queries, and the best round's time over
    the best bare writing's of the same rounds: both feel how busy the machine is."""
    from django.db import connection, reset_queries
    from django.test.utils import CaptureQueriesContext

    from jobs.models import NoticeWatch
    from jobs.notices.sweep import BATCH, look

    due = set(NoticeWatch.objects.filter(look_at__lte=NOW).values_list("pk", flat=True))

    def sweep() -> int:
        noted = 0
        while True:
            looked, made = look(now=NOW)
            noted += made
            if looked < BATCH:
                return noted

    times, bare = [], []
    for _ in range(ROUNDS):
        began = perf_counter()
        noted = sweep()
        times.append(perf_counter() - began)
        if noted != DUE:
            raise SystemExit(f"{noted} of {DUE} were noted")
        forget(due)
        bare.append(bare_writing())
        forget(due)
    seconds, ceiling = min(times), min(bare)
    # In developer mode the log of queries is full of those that made the roofs.
    reset_queries()
    with CaptureQueriesContext(connection) as seen:
        sweep()
    say(
        f"{roofs:>9,} roofs: {seconds * 1000:7.0f} ms in {len(seen)} queries; "
        f"the same rows written bare {ceiling * 1000:.0f} ms (ceiling), "
        f"{seconds / ceiling:.1f} times that"
    )
    forget(due, look_at=None)
    return len(seen), seconds / ceiling


def forget(due: set[int], look_at: datetime | None = NOW) -> None:
    """Take back what was noted; the watches are due again, or not at all."""
    from jobs.models import Message, Notice, NoticeWatch, Run

    Notice.objects.all().delete()
    Message.objects.all().delete()
    Run.objects.all().delete()
    NoticeWatch.objects.filter(pk__in=due).update(look_at=look_at)


def bare_writing() -> float:
    """Write as many notices, messages and runs in one transaction. [s]"""
    from django.db import transaction

    from fleet.models import Roof
    from jobs.models import Message, Notice, Run

    roofs = list(Roof.objects.select_related("coach")[:DUE])
    began = perf_counter()
    with transaction.atomic():
        messages = Message.objects.bulk_create(
            Message(owner_id=r.coach.holder_id, roof=r, send_at=NOW, created_at=NOW)
            for r in roofs
        )
        Notice.objects.bulk_create(
            Notice(
                owner_id=r.coach.holder_id,
                roof=r,
                step="BEFORE_30",
                about_on=NOW.date(),
                message=m,
                noted_at=NOW,
            )
            for r, m in zip(roofs, messages, strict=True)
        )
        Run.objects.bulk_create(
            Run(kind="send_message", available_at=NOW, created_at=NOW) for _ in roofs
        )
    return perf_counter() - began


def say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
