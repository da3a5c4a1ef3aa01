"""Work that comes back: one row a kind, put back into its lane when it is due."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Q

from jobs import runs
from jobs.models import Lane, Run, RunState

# Set aside by an accident that has passed, say a database away for an hour, a
# recurring run must not wait for somebody to press a button.
REVIVE_AFTER = timedelta(minutes=15)


@dataclass(frozen=True, slots=True, kw_only=True)
class Recurring:
    kind: str
    every: timedelta
    lane: Lane = Lane.DEFAULT

    @property
    def dedupe_key(self) -> str:
        return f"every:{self.kind}"


RECURRING = (
    Recurring(kind="reassess_due", every=timedelta(seconds=60)),
    Recurring(kind="turn_the_day", every=timedelta(minutes=30)),
    Recurring(kind="check_files", every=timedelta(hours=1), lane=Lane.HEAVY),
    Recurring(kind="collect_files", every=timedelta(days=1), lane=Lane.HEAVY),
    Recurring(kind="checkpoint", every=timedelta(days=1), lane=Lane.HEAVY),
)


def put_back_due(now: datetime, recurring: tuple[Recurring, ...] = RECURRING) -> int:
    """Note or put back every recurring run that is due; return how many."""
    known = {
        run.dedupe_key: run
        for run in Run.objects.filter(
            dedupe_key__in=[entry.dedupe_key for entry in recurring]
        )
    }
    moved = 0
    for entry in recurring:
        run = known.get(entry.dedupe_key)
        if run is None:
            runs.start(
                kind=entry.kind,
                payload={},
                by=None,
                now=now,
                lane=entry.lane,
                dedupe_key=entry.dedupe_key,
            )
            moved += 1
        elif _is_due(run, entry, now):
            moved += _put_back(run, now)
    return moved


def _is_due(run: Run, entry: Recurring, now: datetime) -> bool:
    if run.finished_at is None:
        return False
    wait = entry.every
    if run.state == RunState.DEAD:
        wait = max(wait, REVIVE_AFTER)
    return run.finished_at + wait <= now


def _put_back(run: Run, now: datetime) -> int:
    # Compare and swap: of several sweeps at once, one puts the row back.
    return Run.objects.filter(
        Q(pk=run.pk, state=run.state, finished_at=run.finished_at)
    ).update(state=RunState.NEW, starts=0, available_at=now, finished_at=None)
