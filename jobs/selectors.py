"""Which runs a caller may see, and how the later work is doing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Count, Max, Min, Q, QuerySet

from fleet.scope import Scope, Sight
from jobs.models import Lane, Run, RunnerBeat, RunState
from jobs.paging import Listed, listed

BEAT_FRESH_S = 60
PAGE_RUNS = 50


def runs_visible_to(scope: Scope) -> QuerySet[Run]:
    """Return the runs this caller may see: all, those of their owners, or none."""
    runs = Run.objects.select_related("requested_by", "owner")
    if scope.sight == Sight.EVERYTHING:
        return runs
    if scope.sight == Sight.OWN_COACHES:
        return runs.filter(owner_id__in=scope.owner_ids)
    return runs.none()


@dataclass(frozen=True, slots=True, kw_only=True)
class RunQuery:
    """What somebody asks of the list of runs."""

    state: str = ""
    lane: str = ""
    kind: str = ""
    oldest_first: bool = False
    page: int = 1


def run_list(scope: Scope, asked: RunQuery) -> Listed[Run]:
    """Return a page of the runs a caller may see, the newest first unless asked."""
    runs = runs_visible_to(scope)
    for name in ("state", "lane", "kind"):
        value = getattr(asked, name)
        if value:
            runs = runs.filter(**{name: value})
    order = ("available_at", "pk") if asked.oldest_first else ("-pk",)
    return listed(runs.order_by(*order), page=asked.page, size=PAGE_RUNS)


@dataclass(frozen=True, slots=True, kw_only=True)
class LaneWork:
    """How one lane is doing."""

    lane: str
    label: str
    waiting: int  # due now, and nobody has it yet
    planned: int  # due later
    running: int
    set_aside: int
    oldest_waiting_s: float  # since the oldest due row could have started
    beat_age_s: float | None  # None: nobody was ever seen here
    is_alive: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LaterWork:
    """How the later work is doing at one moment."""

    lanes: tuple[LaneWork, ...]

    @property
    def waiting(self) -> int:
        """Rows that are not started, due or not."""
        return sum(lane.waiting + lane.planned for lane in self.lanes)

    @property
    def running(self) -> int:
        """Rows that somebody holds."""
        return sum(lane.running for lane in self.lanes)

    @property
    def set_aside(self) -> int:
        """Rows that failed and wait for a person."""
        return sum(lane.set_aside for lane in self.lanes)

    @property
    def oldest_waiting_s(self) -> float:
        """How long the oldest due row has waited. [s]"""
        return max(lane.oldest_waiting_s for lane in self.lanes)

    @property
    def beat_age_s(self) -> float | None:
        """How long ago any runner was seen; None if none ever was. [s]"""
        ages = [lane.beat_age_s for lane in self.lanes if lane.beat_age_s is not None]
        return min(ages, default=None)

    @property
    def is_runner_alive(self) -> bool:
        """Whether any runner was seen a moment ago."""
        return self.beat_age_s is not None and self.beat_age_s < BEAT_FRESH_S


def later_work_summary(now: datetime) -> LaterWork:
    """Count by lane what waits, runs and was set aside, and who was last seen there."""
    new, running = Q(state=RunState.NEW), Q(state=RunState.RUNNING)
    due = Q(available_at__lte=now)
    counts = {
        row["lane"]: row
        for row in Run.objects.exclude(state=RunState.DONE)
        .values("lane")
        .annotate(
            waiting=Count("pk", filter=new & due),
            planned=Count("pk", filter=new & ~due),
            running=Count("pk", filter=running),
            held=Count("pk", filter=running & Q(lease_until__gte=now)),
            set_aside=Count("pk", filter=Q(state=RunState.DEAD)),
            oldest=Min("available_at", filter=new & due),
        )
        .order_by("lane")
    }
    seen = dict(
        RunnerBeat.objects.values("lane")
        .annotate(seen_at=Max("seen_at"))
        .values_list("lane", "seen_at")
    )
    return LaterWork(
        lanes=tuple(
            _lane_work(lane, counts.get(lane.value, {}), seen.get(lane.value), now)
            for lane in Lane
        )
    )


def _lane_work(
    lane: Lane, row: dict[str, object], seen_at: datetime | None, now: datetime
) -> LaneWork:
    oldest = row.get("oldest")
    age_s = _seconds(now - seen_at) if seen_at else None
    is_fresh = age_s is not None and age_s < BEAT_FRESH_S
    return LaneWork(
        lane=lane.value,
        label=str(lane.label),
        waiting=int(row.get("waiting", 0)),  # type: ignore[call-overload]  # a count
        planned=int(row.get("planned", 0)),  # type: ignore[call-overload]  # a count
        running=int(row.get("running", 0)),  # type: ignore[call-overload]  # a count
        set_aside=int(row.get("set_aside", 0)),  # type: ignore[call-overload]  # a count
        oldest_waiting_s=_seconds(now - oldest) if oldest else 0.0,  # type: ignore[operator]  # an instant
        beat_age_s=age_s,
        # Somebody too busy to beat still holds what they are busy with.
        is_alive=is_fresh or bool(row.get("held")),
    )


def lanes_without_worker(now: datetime) -> tuple[str, ...]:
    """Return the names of the lanes that nobody looks after; asked on every page."""
    since = now - timedelta(seconds=BEAT_FRESH_S)
    seen = RunnerBeat.objects.filter(seen_at__gt=since).values_list("lane", flat=True)
    held = Run.objects.filter(state=RunState.RUNNING, lease_until__gte=now)
    alive = set(seen.union(held.values_list("lane", flat=True)))
    return tuple(str(lane.label) for lane in Lane if lane.value not in alive)


def _seconds(span: timedelta) -> float:
    return max(0.0, span.total_seconds())
