"""The one clock that leases are measured by."""

from __future__ import annotations

from datetime import datetime

from django.db import connection
from django.utils import timezone


def shared_now() -> datetime:
    """Return the time that every runner of this database agrees on.

    Two hosts may disagree about the time, and a lease must not: on PostgreSQL the
    server is asked. SQLite has one host, so its clock is everybody's.
    """
    if connection.vendor != "postgresql":
        return timezone.now()
    with connection.cursor() as cursor:
        cursor.execute("SELECT clock_timestamp()")
        row = cursor.fetchone()
    now: datetime = row[0]
    return now
