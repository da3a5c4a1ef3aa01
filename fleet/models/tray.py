"""Old photos that nobody could match to a visit yet."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from fleet.exhibits.matching import Unmatched
from fleet.models.exhibit import Exhibit, StoredFile


class TrayState(models.TextChoices):
    WAITING = "WAITING", "waiting"
    ASSIGNED = "ASSIGNED", "assigned"
    LEFT_OUT = "LEFT_OUT", "left out"


class TrayPhoto(models.Model):
    """One photo that waits for the office to say where it belongs. Never deleted."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    file = models.OneToOneField(StoredFile, models.PROTECT, related_name="tray_photo")
    file_name = models.CharField(max_length=200)
    reason = models.CharField(
        max_length=24, choices=[(word.value, word.value) for word in Unmatched]
    )
    taken_local = models.CharField(max_length=19, blank=True)
    taken_offset_min = models.SmallIntegerField(null=True, blank=True)
    place = models.ForeignKey(
        "fleet.PrivateText",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="tray_photos",
    )
    state = models.CharField(max_length=8, choices=TrayState, default=TrayState.WAITING)
    added_at = models.DateTimeField()
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="settled_tray_photos",
    )
    exhibit = models.OneToOneField(
        Exhibit, models.PROTECT, null=True, blank=True, related_name="tray_photo"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="tray_photo_state_known", condition=Q(state__in=TrayState.values)
            ),
            models.CheckConstraint(
                name="tray_photo_settled_together",
                condition=Q(
                    state=TrayState.WAITING,
                    settled_at__isnull=True,
                    settled_by__isnull=True,
                )
                | (
                    ~Q(state=TrayState.WAITING)
                    & Q(settled_at__isnull=False, settled_by__isnull=False)
                ),
            ),
            models.CheckConstraint(
                name="tray_photo_exhibit_when_assigned",
                condition=Q(state=TrayState.ASSIGNED, exhibit__isnull=False)
                | (~Q(state=TrayState.ASSIGNED) & Q(exhibit__isnull=True)),
            ),
        ]
        indexes = [models.Index(name="tray_photo_waiting", fields=["state", "id"])]
