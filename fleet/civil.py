"""Which civil day an instant is at the office."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.conf import settings


def office_day(now: datetime) -> date:
    """Return the civil date at the office at this instant."""
    return now.astimezone(ZoneInfo(settings.OFFICE_TIME_ZONE)).date()
