"""Say that a runner is alive."""

from __future__ import annotations

from datetime import datetime, timedelta

from jobs.models import RunnerBeat

BEAT_EVERY = timedelta(seconds=5)
FORGET_AFTER = timedelta(days=1)


def beat(name: str, now: datetime) -> None:
    """Note that this runner was seen, at most every five seconds."""
    known = RunnerBeat.objects.filter(name=name)
    seen_at = known.values_list("seen_at", flat=True).first()
    if seen_at is None:
        RunnerBeat.objects.filter(seen_at__lt=now - FORGET_AFTER).delete()
        RunnerBeat.objects.get_or_create(name=name, defaults={"seen_at": now})
    elif now - seen_at >= BEAT_EVERY:
        known.update(seen_at=now)
