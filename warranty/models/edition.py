"""Editions of the promise."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import F, Q

from fleet.models import OwnerKind
from warranty.rules.terms import Anchor, Designation


class Edition(models.Model):
    """One edition of the promise: a draft until it is published, from then on a trigger
    refuses any change. Never deleted once published."""

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
    # Whether another shop's passing inspection satisfies a due date by itself.
    accepts_other_shops = models.BooleanField(default=False)
    is_transferable = models.BooleanField(default=True)
    # From the sale; empty: no limit. What a late notice means is the office's word.
    transfer_notice_days = models.PositiveSmallIntegerField(null=True, blank=True)
    transfer_needs_inspection = models.BooleanField(default=False)
    # What the edition says, item by item (16 CFR 701.3).
    covered_owner = models.TextField(blank=True)
    covered = models.TextField(blank=True)
    exclusions = models.TextField(blank=True)
    remedy = models.TextField(blank=True)
    not_paid = models.TextField(blank=True)
    duties = models.TextField(blank=True)
    duties_reason = models.TextField(blank=True)
    claim_procedure = models.TextField(blank=True)
    who_may_work = models.TextField(blank=True)
    dispute_mechanism = models.TextField(blank=True)
    implied_limit = models.TextField(blank=True)
    consequential_limit = models.TextField(blank=True)
    rights = models.TextField(blank=True)
    registration = models.TextField(blank=True)
    version = models.PositiveIntegerField(default=1)
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
            # What passes on to nobody has no notice to give and nothing to inspect.
            models.CheckConstraint(
                name="edition_transfer_fields_together",
                condition=Q(is_transferable=True)
                | Q(transfer_notice_days__isnull=True, transfer_needs_inspection=False),
            ),
        ]

    def __str__(self) -> str:
        return self.code
