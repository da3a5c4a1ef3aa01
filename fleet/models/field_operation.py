"""What phones sent, byte for byte, and what became of it."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from fleet.models.device import FieldDevice


class OperationState(models.TextChoices):
    APPLIED = "APPLIED", "recorded"
    WAITING = "WAITING", "waiting for what it names"
    KEPT_ASIDE = "KEPT_ASIDE", "kept aside"
    CONFLICT = "CONFLICT", "another body under a used id"


class Settlement(models.TextChoices):
    NONE = "", "not settled"
    APPLIED_AS_IS = "APPLIED_AS_IS", "recorded as it is"
    DISMISSED = "DISMISSED", "dismissed"


class FieldOperation(models.Model):
    """One body that a phone sent under one id. A row is never deleted and its bytes
    never change, but they can be erased with the person they tell of; triggers refuse
    the rest. ``stands`` is the one body that counts under its id: the first that could
    be read."""

    device = models.ForeignKey(FieldDevice, models.PROTECT, related_name="operations")
    op_id = models.UUIDField()
    raw = models.BinaryField()
    sha256 = models.CharField(max_length=64)
    received_at = models.DateTimeField()
    erased_at = models.DateTimeField(null=True, blank=True)
    stands = models.BooleanField()
    state = models.CharField(max_length=10, choices=OperationState)
    kind = models.CharField(max_length=24, blank=True)
    roof = models.ForeignKey(
        "fleet.Roof",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="field_operations",
    )
    # The first record or photo it names that is not here.
    waits_for = models.UUIDField(null=True, blank=True)
    reason_code = models.CharField(max_length=40, blank=True)
    reason = models.TextField(blank=True)
    flags = models.JSONField(default=list)
    entry = models.ForeignKey(
        "fleet.LedgerEntry",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="field_operations",
    )
    # Whether the office has something to decide.
    is_open = models.BooleanField(default=False)
    settlement = models.CharField(
        max_length=14, choices=Settlement, default=Settlement.NONE, blank=True
    )
    settled_why = models.CharField(max_length=400, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="field_operation_body_once", fields=["device", "op_id", "sha256"]
            ),
            models.UniqueConstraint(
                name="field_operation_one_body_stands",
                fields=["device", "op_id"],
                condition=Q(stands=True),
            ),
            models.CheckConstraint(
                name="field_operation_state_known",
                condition=Q(state__in=OperationState.values),
            ),
            models.CheckConstraint(
                name="field_operation_applied_has_its_entry",
                condition=Q(state=OperationState.APPLIED, entry__isnull=False)
                | (~Q(state=OperationState.APPLIED) & Q(entry__isnull=True)),
            ),
            models.CheckConstraint(
                name="field_operation_waits_for_something",
                condition=Q(state=OperationState.WAITING, waits_for__isnull=False)
                | (~Q(state=OperationState.WAITING) & Q(waits_for__isnull=True)),
            ),
            models.CheckConstraint(
                name="field_operation_settlement_complete",
                condition=Q(
                    settlement=Settlement.NONE,
                    settled_at__isnull=True,
                    settled_by__isnull=True,
                )
                | (
                    ~Q(settlement=Settlement.NONE)
                    & Q(settled_at__isnull=False, settled_by__isnull=False)
                ),
            ),
        ]
        indexes = [
            models.Index(
                name="field_operation_waiting",
                fields=["waits_for"],
                condition=Q(state=OperationState.WAITING),
            ),
            models.Index(
                name="field_operation_open",
                fields=["received_at"],
                condition=Q(is_open=True),
            ),
        ]


class FieldPhoto(models.Model):
    """The bytes that a phone sent under one photo id, kept by their hash. A row is
    never deleted; other bytes under a used id are kept beside the first."""

    device = models.ForeignKey(FieldDevice, models.PROTECT, related_name="photos")
    photo = models.UUIDField()
    sha256 = models.CharField(max_length=64)
    size = models.PositiveIntegerField()
    media_type = models.CharField(max_length=60)
    received_at = models.DateTimeField()
    stands = models.BooleanField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="field_photo_bytes_once", fields=["device", "photo", "sha256"]
            ),
            models.UniqueConstraint(
                name="field_photo_one_stands",
                fields=["device", "photo"],
                condition=Q(stands=True),
            ),
            models.CheckConstraint(
                name="field_photo_size_positive", condition=Q(size__gt=0)
            ),
        ]
        indexes = [models.Index(name="field_photo_by_id", fields=["photo", "sha256"])]
