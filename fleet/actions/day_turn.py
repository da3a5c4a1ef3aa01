"""What a new day changes in the columns of coaches: a holder whose day has come."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import F

from fleet.actions.events import gathering
from fleet.actions.projection import project_coaches
from fleet.civil import office_day
from fleet.models import Ownership

# A register that stood still for a while catches up this far.
LOOK_BACK = timedelta(days=31)


def follow_new_holders(*, now: datetime) -> int:
    """Give coaches the holder whose ownership was recorded ahead and starts now."""
    today = office_day(now)
    begun = Ownership.objects.filter(
        from_on__gt=today - LOOK_BACK,
        from_on__lte=today,
        recorded_at__date__lt=F("from_on"),
    ).exclude(coach__holder=F("owner"))
    with transaction.atomic(), gathering():
        coach_ids = sorted(set(begun.values_list("coach_id", flat=True)))
        if coach_ids:
            project_coaches(coach_ids, now=now)
    return len(coach_ids)
