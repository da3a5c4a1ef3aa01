"""Attendances that are planned."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from fleet.models.visit import VisitKind


class BookingState(models.TextChoices):
    PLANNED = "PLANNED", "planned"
    DONE = "DONE", "done"
    CANCELLED = "CANCELLED", "cancelled"


class Booking(models.Model):
    """One planned attendance at a roof. ``version`` counts the office's changes; that
    it was done changes no version. A row is never deleted."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    roof = models.ForeignKey("fleet.Roof", models.PROTECT, related_name="bookings")
    kind = models.CharField(max_length=16, choices=VisitKind)
    planned_on = models.DateField()
    window = models.CharField(max_length=60, blank=True)
    # Nobody yet: every technician sees it.
    technician = models.ForeignKey(
        "fleet.Technician",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="bookings",
    )
    place = models.CharField(max_length=200, blank=True)
    state = models.CharField(
        max_length=10, choices=BookingState, default=BookingState.PLANNED
    )
    version = models.PositiveIntegerField(default=1)
    changed_at = models.DateTimeField()
    changed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="booking_kind_known", condition=Q(kind__in=VisitKind.values)
            ),
            models.CheckConstraint(
                name="booking_state_known", condition=Q(state__in=BookingState.values)
            ),
        ]
        indexes = [
            models.Index(name="booking_by_day", fields=["technician", "planned_on"])
        ]
