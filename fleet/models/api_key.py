"""Keys by which a fleet's own programs ask and write."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q


class KeyRight(models.TextChoices):
    """What a key may do, within what its fleet may see."""

    READ = "read", "read coaches, roofs, standings and documents"
    WRITE = "write", "register roofs and ask for inspections and documents"
    CLAIMS = "claims", "report leaks and follow claims"


class ApiKey(models.Model):
    """One program's key to one fleet. Revoked, never deleted: records name its user.

    What it records is recorded by ``user``, a caller of its own who cannot sign in.
    """

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    owner = models.ForeignKey("fleet.Owner", models.PROTECT, related_name="api_keys")
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="api_key"
    )
    name = models.CharField(max_length=60)
    may_read = models.BooleanField(default=False)
    may_write = models.BooleanField(default=False)
    may_claim = models.BooleanField(default=False)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(name="api_key_named", condition=~Q(name="")),
            models.CheckConstraint(
                name="api_key_may_something",
                condition=Q(may_read=True) | Q(may_write=True) | Q(may_claim=True),
            ),
        ]
        indexes = [models.Index(name="api_key_of_owner", fields=["owner", "-id"])]

    def __str__(self) -> str:
        return self.name

    @property
    def rights(self) -> tuple[KeyRight, ...]:
        """Return what the key may do."""
        told = {
            KeyRight.READ: self.may_read,
            KeyRight.WRITE: self.may_write,
            KeyRight.CLAIMS: self.may_claim,
        }
        return tuple(right for right, is_given in told.items() if is_given)


class ApiKeySecret(models.Model):
    """One secret of a key, by its hash. While a program changes over two are live."""

    key = models.ForeignKey(ApiKey, models.PROTECT, related_name="secrets")
    slot = models.PositiveSmallIntegerField()
    # Shown, so that people know which secret is meant; also how it is found.
    prefix = models.CharField(max_length=12, unique=True)
    # Of 32 random bytes: a secret this long needs no slow hash.
    secret_sha256 = models.CharField(max_length=64)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    last_used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="api_key_secret_slot_known", condition=Q(slot__in=(1, 2))
            ),
            models.UniqueConstraint(
                name="api_key_two_secrets_live",
                fields=["key", "slot"],
                condition=Q(ended_at__isnull=True),
            ),
            models.CheckConstraint(
                name="api_key_secret_expires_after_made",
                condition=Q(expires_at__gt=F("made_at")),
            ),
        ]
