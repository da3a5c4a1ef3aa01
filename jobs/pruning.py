"""Let done runs go after a while; what was set aside waits for a person."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta

from django.conf import settings

from jobs.models import Run, RunState
from jobs.schedule import RECURRING_PREFIX
from jobs.work import Effect, Work

KIND = "prune_runs"
BATCH = 500


def prune_runs(work: Work) -> Effect:
    """Delete done runs past their retention, a batch a transaction."""
    gone = 0
    while True:
        before = work.clock() - timedelta(days=settings.KEEP_RUNS_DAYS)
        with work.writing():
            pruned = delete_done_runs(before=before, limit=BATCH)
        gone += pruned
        work.progress.step(f"{gone} done runs deleted", steps=pruned)
        if pruned < BATCH:
            break

    def count() -> Mapping[str, object]:
        return {"deleted": gone}

    return count


def delete_done_runs(*, before: datetime, limit: int) -> int:
    """Delete up to so many runs that were done before this; return how many."""
    old = (
        Run.objects.filter(state=RunState.DONE, finished_at__lt=before)
        .exclude(dedupe_key__startswith=RECURRING_PREFIX)
        .order_by("finished_at")
        .values_list("pk", flat=True)[:limit]
    )
    # Once more by state: somebody may have put one back in between.
    doomed = Run.objects.filter(pk__in=list(old), state=RunState.DONE)
    return doomed.delete()[0]
