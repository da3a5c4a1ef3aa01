"""Which runs a caller may see, and how the later work is doing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Count, Min, Q, QuerySet

from fleet.scope import Scope, Sight
from jobs.models import Run, RunnerBeat, RunState

BEAT_FRESH_S = 60


def runs_visible_to(scope: Scope) -> QuerySet[Run]:
    """Return the runs this caller may see: all, those of their owners, or none."""
    runs = Run.objects.select_related("requested_by", "owner")
    if scope.sight == Sight.EVERYTHING:
        return runs
    if scope.sight == Sight.OWN_COACHES:
        return runs.filter(owner_id__in=scope.owner_ids)
    return runs.none()


@dataclass(frozen=True, slots=True, kw_only=True)
class LaterWork:
    """How the later work is doing at one moment."""

    waiting: int
    running: int
    set_aside: int
    oldest_waiting_s: float  # since the oldest claimable row could have started
    beat_age_s: float | None  # None: no runner was ever seen

    @property
    def is_runner_alive(self) -> bool:
        return self.beat_age_s is not None and self.beat_age_s < BEAT_FRESH_S


def later_work_summary(now: datetime) -> LaterWork:
    """Count what waits, runs and was set aside, and say when a runner was last seen."""
    waiting = Q(state=RunState.NEW)
    counts = Run.objects.exclude(state=RunState.DONE).aggregate(
        waiting=Count("pk", filter=waiting),
        running=Count("pk", filter=Q(state=RunState.RUNNING)),
        set_aside=Count("pk", filter=Q(state=RunState.DEAD)),
        oldest=Min("available_at", filter=waiting & Q(available_at__lte=now)),
    )
    seen_at = (
        RunnerBeat.objects.order_by("-seen_at").values_list("seen_at", flat=True)
    ).first()
    oldest = counts.pop("oldest")
    return LaterWork(
        **counts,
        oldest_waiting_s=_seconds(now - oldest) if oldest else 0.0,
        beat_age_s=_seconds(now - seen_at) if seen_at else None,
    )


def _seconds(span: timedelta) -> float:
    return max(0.0, span.total_seconds())
