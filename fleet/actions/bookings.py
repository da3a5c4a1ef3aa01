"""Planned attendances: plan, move, cancel; a phone's visit marks them done."""

from __future__ import annotations

from datetime import date, datetime

from django.db.models import F

from fleet.errors import DomainError
from fleet.models import Booking, BookingState, Roof, Technician, User


class BookingMovedOn(DomainError):
    """The booking was changed, done or cancelled since it was read."""

    code = "booking-moved-on"
    http_status = 409


def plan_booking(
    *,
    roof: Roof,
    kind: str,
    planned_on: date,
    by: User,
    now: datetime,
    technician: Technician | None = None,
    window: str = "",
    place: str = "",
) -> Booking:
    """Plan an attendance at a roof."""
    return Booking.objects.create(
        roof=roof,
        kind=kind,
        planned_on=planned_on,
        technician=technician,
        window=window,
        place=place,
        changed_by=by,
        changed_at=now,
    )


def move_booking(
    *,
    booking: Booking,
    version: int,
    planned_on: date,
    by: User,
    now: datetime,
    technician: Technician | None = None,
    window: str = "",
    place: str = "",
) -> None:
    """Give a booking another day, person, window or place.

    Raises:
        BookingMovedOn: it was changed, done or cancelled since this version.
    """
    _change(
        booking,
        version,
        planned_on=planned_on,
        technician=technician,
        window=window,
        place=place,
        changed_by=by,
        changed_at=now,
    )


def cancel_booking(*, booking: Booking, version: int, by: User, now: datetime) -> None:
    """Cancel a booking; work that a phone sends for it anyway is kept and flagged.

    Raises:
        BookingMovedOn: it was changed, done or cancelled since this version.
    """
    _change(
        booking,
        version,
        state=BookingState.CANCELLED,
        changed_by=by,
        changed_at=now,
    )


def mark_done(*, booking: Booking, by: User, now: datetime) -> None:
    """Mark a booking done by a visit. No version changes: the plan did not."""
    Booking.objects.filter(pk=booking.pk, state=BookingState.PLANNED).update(
        state=BookingState.DONE, changed_by=by, changed_at=now
    )


def _change(booking: Booking, version: int, **values: object) -> None:
    planned = Booking.objects.filter(
        pk=booking.pk, version=version, state=BookingState.PLANNED
    )
    if planned.update(version=F("version") + 1, **values) == 0:
        raise BookingMovedOn(
            "The booking was changed, done or cancelled meanwhile. Read it again."
        )
    booking.refresh_from_db()
