"""Keep public doors from being hammered."""

from __future__ import annotations

import hashlib
import hmac
from datetime import UTC, datetime, timedelta
from typing import Final

from django.conf import settings
from django.db import transaction
from django.db.models import F

from fleet.errors import DomainError
from fleet.models import Attempt

WINDOW: Final = timedelta(minutes=10)
MOST_TRIES: Final = 30


class TooManyTries(DomainError):
    """An address tried too often in a short time."""

    code = "too-many-requests"
    http_status = 429


def count_attempt(*, door: str, address: str, now: datetime) -> None:
    """Count one try at a public door.

    Raises:
        TooManyTries: more than the window allows.
    """
    stretch = int(WINDOW.total_seconds())
    started = int(now.timestamp()) // stretch * stretch
    window_at = datetime.fromtimestamp(started, tz=UTC)
    who = hmac.new(
        settings.SECRET_KEY.encode(), f"{door} {address}".encode(), hashlib.sha256
    ).hexdigest()
    with transaction.atomic():
        Attempt.objects.filter(window_at__lt=window_at).delete()
        Attempt.objects.get_or_create(who_sha256=who, window_at=window_at)
        own = Attempt.objects.filter(who_sha256=who, window_at=window_at)
        own.update(count=F("count") + 1)
        tries = own.values_list("count", flat=True).get()
    if tries > MOST_TRIES:
        minutes = stretch // 60
        raise TooManyTries(f"Too many tries. Wait {minutes} minutes, then try again.")
