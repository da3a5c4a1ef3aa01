"""Anything through or on the roof, and what was fitted after the coating."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from fleet.models.base import RoofFact, record_constraints


class PenetrationKind(models.TextChoices):
    VENT = "VENT", "vent"
    AIR_CONDITIONER = "AIR_CONDITIONER", "air conditioner"
    SKYLIGHT = "SKYLIGHT", "skylight"
    REFRIGERATOR_VENT = "REFRIGERATOR_VENT", "refrigerator vent"
    SEWER_VENT = "SEWER_VENT", "sewer vent"
    ANTENNA = "ANTENNA", "antenna"
    LADDER_FOOT = "LADDER_FOOT", "ladder foot"
    SOLAR_FOOT = "SOLAR_FOOT", "solar foot"
    CAP_SEAM = "CAP_SEAM", "cap seam"
    SIDE_SEAM = "SIDE_SEAM", "side seam"
    MARKER_LIGHT = "MARKER_LIGHT", "marker light"
    CABLE_COVER = "CABLE_COVER", "cable cover"
    OTHER = "OTHER", "other"


class Penetration(RoofFact):
    """One penetration where it sits (x from the front cap, y from the left gutter),
    and whether it was detailed."""

    ledger_fields = (
        "label",
        "kind",
        "x_m",
        "y_m",
        "width_m",
        "length_m",
        "is_detailed",
        "happened_on",
    )

    label = models.CharField(max_length=80)
    kind = models.CharField(max_length=20, choices=PenetrationKind)
    x_m = models.DecimalField(max_digits=7, decimal_places=4)
    y_m = models.DecimalField(max_digits=7, decimal_places=4)
    width_m = models.DecimalField(max_digits=7, decimal_places=4)
    length_m = models.DecimalField(max_digits=7, decimal_places=4)
    is_detailed = models.BooleanField()
    happened_on = models.DateField()

    class Meta:
        constraints = [
            *record_constraints("penetration"),
            models.CheckConstraint(
                name="penetration_kind_known",
                condition=Q(kind__in=PenetrationKind.values),
            ),
            models.CheckConstraint(
                name="penetration_size_positive",
                condition=Q(width_m__gt=0, length_m__gt=0),
            ),
            models.CheckConstraint(
                name="penetration_place_not_negative",
                condition=Q(x_m__gte=0, y_m__gte=0),
            ),
        ]


class Alteration(RoofFact):
    """Something fitted to or put on the roof after completion. A correction with
    ``approved_on`` is the office's approval."""

    ledger_fields = ("happened_on", "note", "approved_on")

    happened_on = models.DateField()
    note = models.ForeignKey(
        "fleet.PrivateText", models.PROTECT, related_name="alterations"
    )
    approved_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = record_constraints("alteration")
