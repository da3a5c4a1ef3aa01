"""Coaches that a phone worked on where nobody had booked a visit."""

from __future__ import annotations

from django.conf import settings
from django.db import models


class MetCoach(models.Model):
    """The office's word on which roof a phone met: never changed or deleted.

    Without a signal a phone makes up the roof's id; what it sends names that id.
    """

    told_roof = models.UUIDField(unique=True)
    roof = models.ForeignKey("fleet.Roof", models.PROTECT, related_name="met_as")
    matched_at = models.DateTimeField()
    matched_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )
