"""Start, retry and list runs. Nothing else may create work for later."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction

from fleet.errors import DomainError
from fleet.models import Owner, User
from fleet.wall import whole
from jobs import bell
from jobs.models import Lane, Run, RunState
from jobs.selectors import runs_visible_to as visible_to

__all__ = ["RunNotSetAside", "retry", "start", "visible_to"]


class RunNotSetAside(DomainError):
    """Only a run that was set aside can be tried again."""

    code = "run-not-set-aside"
    http_status = 409


def start(
    *,
    kind: str,
    payload: Mapping[str, object],
    by: User | None,
    now: datetime,
    lane: Lane = Lane.DEFAULT,
    dedupe_key: str | None = None,
    owner: Owner | None = None,
) -> Run:
    """Note a piece of later work in the caller's transaction and return its row.

    The same ``dedupe_key`` is the same work: its first row is returned, whatever has
    become of it. The bell rings once the caller's transaction has committed.
    """
    fields = {
        "kind": kind,
        "payload": dict(payload),
        "lane": lane,
        "available_at": now,
        "requested_by": by,
        "owner": owner,
        "created_at": now,
    }
    # The same work may have been asked for by somebody else.
    with whole(), transaction.atomic():
        if dedupe_key is None:
            run, created = Run.objects.create(**fields), True
        else:
            run, created = Run.objects.get_or_create(
                dedupe_key=dedupe_key, defaults=fields
            )
        if created:
            _ring_after_commit(run)
    return run


def retry(run: Run, *, now: datetime) -> Run:
    """Put a run that was set aside back into its lane, with five new starts.

    Raises:
        RunNotSetAside: the run waits, runs or is done, or somebody else was first.
    """
    with transaction.atomic():
        moved = Run.objects.filter(pk=run.pk, state=RunState.DEAD).update(
            state=RunState.NEW, starts=0, available_at=now, finished_at=None
        )
        if not moved:
            raise RunNotSetAside(
                "This run is not set aside. Load the page again to see its state.",
                run=str(run.uuid),
            )
        _ring_after_commit(run)
    run.refresh_from_db()
    return run


def _ring_after_commit(run: Run) -> None:
    def ring_the_bell() -> None:
        bell.ring(run_id=run.pk, lane=run.lane)

    # robust: what was committed stays an accepted request, whatever the bell does.
    transaction.on_commit(ring_the_bell, robust=True)
