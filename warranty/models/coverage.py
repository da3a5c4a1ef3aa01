"""One roof's promise and what was recorded about it."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import F, Q

from fleet.models import Roof, RoofFact
from fleet.models.base import record_constraints
from warranty.rules.clause import NEVER_WAIVED, Clause
from warranty.rules.clause import Standing as StandingWord


class Coverage(models.Model):
    """One roof's promise under one edition. The edition is the projection of the
    terms assignments. Never deleted."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    roof = models.OneToOneField(Roof, models.PROTECT, related_name="coverage")
    edition = models.ForeignKey(
        "warranty.Edition", models.PROTECT, related_name="coverages"
    )


class TermsAssignment(RoofFact):
    """From the start the roof is promised under this edition."""

    event_noun = "coverages"

    ledger_fields = ("edition", "happened_on")

    edition = models.ForeignKey(
        "warranty.Edition", models.PROTECT, related_name="assignments"
    )
    happened_on = models.DateField()

    class Meta:
        constraints = record_constraints("terms_assignment")


class Registration(RoofFact):
    """The owner registered the coverage on this day."""

    ledger_fields = ("registered_on",)

    registered_on = models.DateField()

    class Meta:
        constraints = record_constraints("registration")


class Waiver(RoofFact):
    """The office waives one clause for a time, and says why."""

    ledger_fields = ("clause", "from_on", "until_on", "why", "seconded_by")

    clause = models.CharField(
        max_length=20, choices=[(clause.value, clause.value) for clause in Clause]
    )
    from_on = models.DateField()
    until_on = models.DateField(null=True, blank=True)
    why = models.ForeignKey("fleet.PrivateText", models.PROTECT, related_name="waivers")
    # A second person's word lets a waiver count for a loss noticed before it.
    seconded_by = models.ForeignKey(
        "fleet.User", models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        constraints = [
            *record_constraints("waiver"),
            models.CheckConstraint(
                name="waiver_never_of_coach_or_term",
                condition=Q(
                    clause__in=[
                        clause.value for clause in Clause if clause not in NEVER_WAIVED
                    ]
                ),
            ),
            models.CheckConstraint(
                name="waiver_ends_after_it_starts",
                condition=Q(until_on__isnull=True) | Q(until_on__gte=F("from_on")),
            ),
            models.CheckConstraint(
                name="waiver_seconded_by_another_person",
                condition=Q(seconded_by__isnull=True)
                | ~Q(seconded_by=F("recorded_by")),
            ),
        ]


class Standing(models.Model):
    """The last assessment of one roof: a projection, rewritten when records or days
    change it."""

    roof = models.OneToOneField(
        Roof, models.PROTECT, primary_key=True, related_name="standing"
    )
    word = models.CharField(
        max_length=12, choices=[(word.value, word.value) for word in StandingWord]
    )
    as_of = models.DateField()
    next_due_on = models.DateField(null=True, blank=True)
    holds_until = models.DateField(null=True, blank=True)
    # One letter a clause in the rules' order: M met, N not met, U unknown, - off.
    verdicts = models.CharField(max_length=16)
    rule_version = models.CharField(max_length=16)
    assessed_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="standing_word_known",
                condition=Q(word__in=[word.value for word in StandingWord]),
            )
        ]
        indexes = [
            models.Index(name="standing_by_horizon", fields=["holds_until"]),
            models.Index(name="standing_by_due", fields=["word", "next_due_on"]),
        ]
