"""Say that a runner is alive."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from jobs.models import Lane, RunnerBeat

BEAT_EVERY = timedelta(seconds=5)
FORGET_AFTER = timedelta(days=1)
ALL_LANES = tuple(Lane)


def beat(name: str, now: datetime, lanes: Sequence[str] = ALL_LANES) -> None:
    """Note that this runner was seen at these lanes, at most every five seconds."""
    known = RunnerBeat.objects.filter(name=name)
    seen_at = dict(known.values_list("lane", "seen_at"))
    new = [lane for lane in lanes if lane not in seen_at]
    if new:
        RunnerBeat.objects.filter(seen_at__lt=now - FORGET_AFTER).delete()
        RunnerBeat.objects.bulk_create(
            [RunnerBeat(name=name, lane=lane, seen_at=now) for lane in new],
            ignore_conflicts=True,
        )
    stale = [
        lane for lane in lanes if lane in seen_at and now - seen_at[lane] >= BEAT_EVERY
    ]
    if stale:
        known.filter(lane__in=stale).update(seen_at=now)
