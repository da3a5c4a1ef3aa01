"""Certificates that were issued."""

from __future__ import annotations

from django.core.validators import RegexValidator
from django.db import models
from django.db.models import Q

from fleet.models import RoofFact
from fleet.models.base import record_constraints

NUMBER_LENGTH = 23
NUMBER_FORM = r"^[0-9A-HJKMNP-TV-Z]{5}(-[0-9A-HJKMNP-TV-Z]{5}){3}$"


class Certificate(RoofFact):
    """One certificate of a roof's promise, under a number that nobody can guess."""

    ledger_fields = ("number", "edition", "holder", "issued_on", "content_sha256")

    number = models.CharField(
        max_length=NUMBER_LENGTH, unique=True, validators=[RegexValidator(NUMBER_FORM)]
    )
    edition = models.ForeignKey(
        "warranty.Edition", models.PROTECT, related_name="certificates"
    )
    holder = models.ForeignKey(
        "fleet.Owner",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="certificates",
    )
    issued_on = models.DateField()
    # Of what it says, not of its pages; printed on it as its last item.
    content_sha256 = models.CharField(max_length=64)

    class Meta:
        constraints = [
            *record_constraints("certificate"),
            models.CheckConstraint(
                name="certificate_number_given", condition=~Q(number="")
            ),
        ]

    def __str__(self) -> str:
        return self.number
