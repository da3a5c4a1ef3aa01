"""Coaches, and what was recorded about them over time."""

from __future__ import annotations

import uuid

from django.db import models

from fleet.models.base import CoachFact, record_constraints


class Body(models.TextChoices):
    MOTORHOME = "MOTORHOME", "motorhome"
    FIFTH_WHEEL = "FIFTH_WHEEL", "fifth wheel"
    TRAVEL_TRAILER = "TRAVEL_TRAILER", "travel trailer"
    TOY_HAULER = "TOY_HAULER", "toy hauler"
    TRUCK_CAMPER = "TRUCK_CAMPER", "truck camper"
    PARK_MODEL = "PARK_MODEL", "park model"


class Substrate(models.TextChoices):
    EPDM = "EPDM", "EPDM membrane"
    TPO = "TPO", "TPO membrane"
    ALUMINIUM = "ALUMINIUM", "aluminium sheet"
    FIBREGLASS = "FIBREGLASS", "fibreglass"


class Coach(models.Model):
    """One coach under the office's own number. All but the number are projections of
    its facts. A row is never deleted."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    unit_no = models.CharField(max_length=40, unique=True)
    vin = models.CharField(max_length=17, blank=True)
    model_year = models.PositiveSmallIntegerField(null=True, blank=True)
    make = models.CharField(max_length=60, blank=True)
    model = models.CharField(max_length=60, blank=True)
    body = models.CharField(max_length=16, choices=Body, blank=True)
    length_m = models.DecimalField(max_digits=6, decimal_places=4)
    width_m = models.DecimalField(max_digits=6, decimal_places=4)
    town = models.CharField(max_length=80, blank=True)
    state = models.CharField(max_length=40, blank=True)
    time_zone = models.CharField(max_length=48, blank=True)
    holder = models.ForeignKey(
        "fleet.Owner", models.PROTECT, null=True, blank=True, related_name="coaches"
    )
    retired_on = models.DateField(null=True, blank=True)
    merged_into = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="merged_coaches"
    )
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="coach_unit_no_given", condition=~models.Q(unit_no="")
            ),
            models.CheckConstraint(
                name="coach_size_positive",
                condition=models.Q(length_m__gt=0, width_m__gt=0),
            ),
            models.CheckConstraint(
                name="coach_not_merged_into_itself",
                condition=models.Q(merged_into__isnull=True)
                | ~models.Q(merged_into=models.F("id")),
            ),
        ]
        indexes = [
            models.Index(name="coach_by_vin", fields=["vin"]),
            models.Index(name="coach_by_holder", fields=["holder", "unit_no"]),
        ]

    def __str__(self) -> str:
        return self.unit_no


class CoachDescription(CoachFact):
    """What a coach was said to be; the newest that stands is the coach's."""

    ledger_fields = (
        "vin_as_typed",
        "vin",
        "model_year",
        "make",
        "model",
        "body",
        "length",
        "width",
        "length_unit",
        "length_m",
        "width_m",
        "happened_on",
    )

    happened_on = models.DateField(null=True, blank=True)
    vin_as_typed = models.CharField(max_length=40, blank=True)
    vin = models.CharField(max_length=17, blank=True)
    model_year = models.PositiveSmallIntegerField(null=True, blank=True)
    make = models.CharField(max_length=60, blank=True)
    model = models.CharField(max_length=60, blank=True)
    body = models.CharField(max_length=16, choices=Body, blank=True)
    length = models.DecimalField(max_digits=8, decimal_places=3)
    width = models.DecimalField(max_digits=8, decimal_places=3)
    length_unit = models.CharField(max_length=4, default="ft")
    length_m = models.DecimalField(max_digits=6, decimal_places=4)
    width_m = models.DecimalField(max_digits=6, decimal_places=4)
    town = models.CharField(max_length=80, blank=True)
    state = models.CharField(max_length=40, blank=True)
    time_zone = models.CharField(max_length=48, blank=True)

    class Meta:
        constraints = [
            *record_constraints("coach_description"),
            models.CheckConstraint(
                name="coach_description_size_plausible",
                condition=models.Q(length_m__gt=0, length_m__lte=30)
                & models.Q(width_m__gt=0, width_m__lte=5),
            ),
            models.CheckConstraint(
                name="coach_description_unit_known",
                condition=models.Q(length_unit__in=["ft", "m"]),
            ),
        ]
        indexes = [models.Index(name="description_superseded", fields=["supersedes"])]


class Ownership(CoachFact):
    """From this day on the owner holds the coach, until the next ownership."""

    ledger_fields = ("owner", "from_on")

    owner = models.ForeignKey("fleet.Owner", models.PROTECT, related_name="ownerships")
    from_on = models.DateField()

    class Meta:
        constraints = record_constraints("ownership")
        indexes = [models.Index(name="ownership_superseded", fields=["supersedes"])]


class Retirement(CoachFact):
    """The coach left the road on this day: scrapped, burnt, taken apart."""

    ledger_fields = ("retired_on",)

    retired_on = models.DateField()

    class Meta:
        constraints = record_constraints("retirement")
        indexes = [models.Index(name="retirement_superseded", fields=["supersedes"])]
