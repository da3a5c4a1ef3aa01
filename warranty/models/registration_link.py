"""Links by which an owner registers a coverage without a sign-in."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from fleet.models import Roof


class RegistrationLink(models.Model):
    """A link handed to an owner: it registers one coverage, once.

    Only the hash of its code is kept. Never deleted."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    roof = models.ForeignKey(Roof, models.PROTECT, related_name="registration_links")
    code_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="registration_link_ends_after_it_is_made",
                condition=Q(expires_at__gt=F("made_at")),
            ),
        ]
