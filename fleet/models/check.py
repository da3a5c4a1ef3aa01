"""Answers to the steps of a visit's checklist."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from fleet.models.base import RoofFact, record_constraints


class Answer(models.TextChoices):
    YES = "YES", "yes"
    NO = "NO", "no"
    NOT_APPLICABLE = "NOT_APPLICABLE", "not applicable"


class Check(RoofFact):
    """One step of a visit answered: a question or a hold point."""

    ledger_fields = ("visit", "step", "answer", "checked_at", "happened_on", "note")

    visit = models.ForeignKey("fleet.Visit", models.PROTECT, related_name="checks")
    # The step's code, as in ``hold.dry-and-clean``.
    step = models.CharField(max_length=60)
    answer = models.CharField(max_length=14, choices=Answer)
    checked_at = models.DateTimeField()
    # The civil day at the coach, in the phone's own offset.
    happened_on = models.DateField()
    note = models.ForeignKey(
        "fleet.PrivateText",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="checks",
    )

    class Meta:
        constraints = [
            *record_constraints("check"),
            models.CheckConstraint(name="check_step_given", condition=~Q(step="")),
            models.CheckConstraint(
                name="check_answer_known", condition=Q(answer__in=Answer.values)
            ),
        ]
