"""Phones that may send field work, and the codes that pair them."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q

DEVICE_SCOPE = "device:"


class FieldDevice(models.Model):
    """One paired phone of one person. Revoked, never deleted: its records name it."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="field_devices"
    )
    name = models.CharField(max_length=60)
    # Of 32 random bytes: a secret this long needs no slow hash.
    token_sha256 = models.CharField(max_length=64, unique=True)
    paired_at = models.DateTimeField()
    last_seen_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )

    class Meta:
        constraints = [
            models.CheckConstraint(name="field_device_named", condition=~Q(name="")),
            models.CheckConstraint(
                name="field_device_revocation_complete",
                condition=Q(revoked_at__isnull=True, revoked_by__isnull=True)
                | Q(revoked_at__isnull=False, revoked_by__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def scope(self) -> str:
        """Return the scope in which this phone's ids are unique."""
        return f"{DEVICE_SCOPE}{self.uuid}"


class PairingCode(models.Model):
    """One code that pairs one phone with one person, once, for ten minutes."""

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.CASCADE, related_name="pairing_codes"
    )
    # Keyed with the secret key: a code is too short for a bare hash.
    code_hmac = models.CharField(max_length=64, unique=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.CASCADE, related_name="+"
    )
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="pairing_code_expires_after_made",
                condition=Q(expires_at__gt=F("made_at")),
            )
        ]


class PairingAttempt(models.Model):
    """One code tried from one address. Removed when the code was right or is old."""

    address = models.CharField(max_length=64)
    attempted_at = models.DateTimeField()

    class Meta:
        indexes = [
            models.Index(
                name="pairing_attempt_recent", fields=["address", "attempted_at"]
            )
        ]
