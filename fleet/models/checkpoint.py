"""Signed roots over all roofs' chains, and the keys that signed them."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

HEX_32 = r"^[0-9a-f]{64}$"
HEX_64 = r"^[0-9a-f]{128}$"


class SigningKey(models.Model):
    """The public half of a signing key. The newest signs; rows are never changed.

    A key that follows another is endorsed by it: the older key signed the newer one.
    """

    public_key = models.CharField(max_length=64, unique=True)
    previous = models.OneToOneField(
        "self", models.PROTECT, null=True, blank=True, related_name="next"
    )
    endorsement = models.CharField(max_length=128, blank=True)
    added_at = models.DateTimeField()
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="signing_key_well_formed", condition=Q(public_key__regex=HEX_32)
            ),
            models.CheckConstraint(
                name="signing_key_endorsed_by_previous",
                condition=Q(previous__isnull=True, endorsement="")
                | Q(previous__isnull=False, endorsement__regex=HEX_64),
            ),
        ]


class Checkpoint(models.Model):
    """One signed root. ``note`` is the exact text that was signed. Never changed."""

    number = models.PositiveIntegerField(unique=True)
    # The newest ledger entry it covers; entries are never deleted, so the tree can be
    # built again from it.
    last_entry = models.ForeignKey(
        "fleet.LedgerEntry",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="checkpoints",
    )
    size = models.PositiveIntegerField()
    root_sha256 = models.CharField(max_length=64)
    note = models.TextField()
    signature = models.CharField(max_length=128)
    key = models.ForeignKey(SigningKey, models.PROTECT, related_name="checkpoints")
    made_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="checkpoint_number_from_one", condition=Q(number__gte=1)
            ),
            models.CheckConstraint(
                name="checkpoint_root_well_formed",
                condition=Q(root_sha256__regex=HEX_32),
            ),
            models.CheckConstraint(
                name="checkpoint_signature_well_formed",
                condition=Q(signature__regex=HEX_64),
            ),
            models.CheckConstraint(
                name="checkpoint_entry_when_not_empty",
                condition=Q(size=0, last_entry__isnull=True)
                | Q(size__gt=0, last_entry__isnull=False),
            ),
        ]
