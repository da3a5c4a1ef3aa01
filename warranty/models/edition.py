"""Editions of the promise."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import F, Q

from fleet.models import OwnerKind
from warranty.rules.terms import Anchor, Designation


class Edition(models.Model):
    """One edition of the promise; once published its terms never change."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    code = models.CharField(max_length=40, unique=True)
    title = models.CharField(max_length=200)
    owner_kind = models.CharField(max_length=16, choices=OwnerKind)
    anchor = models.CharField(
        max_length=16, choices=[(anchor.value, anchor.value) for anchor in Anchor]
    )
    interval_months = models.PositiveSmallIntegerField()
    window_days = models.PositiveSmallIntegerField()
    grace_days = models.PositiveSmallIntegerField()
    reinstatement_days = models.PositiveSmallIntegerField()
    registration_days = models.PositiveSmallIntegerField()
    serious_cure_days = models.PositiveSmallIntegerField()
    term_months = models.PositiveSmallIntegerField(null=True, blank=True)
    designation = models.CharField(
        max_length=8,
        choices=[(word.value, word.value) for word in Designation],
        default=Designation.LIMITED.value,
    )
    # Whose life a promise without a term runs for (16 CFR 239.4).
    life_of = models.CharField(max_length=60, default="coach", blank=True)
    inspections_free = models.BooleanField(default=False)
    requires_dry_deck = models.BooleanField(default=False)
    forbids_alterations = models.BooleanField(default=False)
    published_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="edition_anchor_known",
                condition=Q(anchor__in=[anchor.value for anchor in Anchor]),
            ),
            models.CheckConstraint(
                name="edition_owner_kind_known",
                condition=Q(owner_kind__in=OwnerKind.values),
            ),
            models.CheckConstraint(
                name="edition_interval_positive", condition=Q(interval_months__gte=1)
            ),
            # A net for gross errors; the rules check the shortest interval to the day.
            models.CheckConstraint(
                name="edition_windows_apart",
                condition=Q(
                    interval_months__gt=(F("window_days") + F("grace_days")) / 31
                ),
            ),
            models.CheckConstraint(
                name="edition_designation_known",
                condition=Q(designation__in=[word.value for word in Designation]),
            ),
            models.CheckConstraint(
                name="edition_term_positive",
                condition=Q(term_months__isnull=True) | Q(term_months__gte=1),
            ),
        ]

    def __str__(self) -> str:
        return self.code
