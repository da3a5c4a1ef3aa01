"""Which roofs have to be looked at for notices, and when."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from jobs.models import NoticeWatch

BATCH = 500


def after_recording(
    *, roof_ids: tuple[int, ...], entry_ids: tuple[int, ...], now: datetime
) -> None:
    """Have the roofs of a recording looked at, inside its transaction."""
    look_again(roof_ids, now=now)


def look_again(roof_ids: Sequence[int], *, now: datetime) -> None:
    """Have these roofs looked at in the next sweep; one never watched is from now."""
    for start in range(0, len(roof_ids), BATCH):
        NoticeWatch.objects.bulk_create(
            [
                NoticeWatch(roof_id=roof_id, look_at=now, since_at=now)
                for roof_id in roof_ids[start : start + BATCH]
            ],
            update_conflicts=True,
            unique_fields=["roof"],
            update_fields=["look_at"],
        )


def look_back(*, since: datetime, now: datetime) -> None:
    """Count steps since an earlier moment as owed, and look at every roof: the demo."""
    NoticeWatch.objects.update(since_at=since, look_at=now)
