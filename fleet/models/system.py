"""Product builds: what a system is made of and under which limits it is applied."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import F, Q

from fleet.models.coach import Substrate


class CoatRole(models.TextChoices):
    PRIMER = "primer", "primer"
    BASE = "base", "base coat"
    DETAIL = "detail", "detail"
    FINISH = "finish", "finish coat"


def ordered(low: str, high: str) -> Q:
    """Return that ``low`` is not above ``high`` where both are given."""
    either_blank = Q(**{f"{low}__isnull": True}) | Q(**{f"{high}__isnull": True})
    return either_blank | Q(**{f"{low}__lte": F(high)})


class WeatherLimits(models.Model):
    """Limits of air, humidity and dew margin; blank means no limit of its own."""

    air_min_c = models.DecimalField(
        max_digits=5, decimal_places=2, null=True, blank=True
    )
    air_max_c = models.DecimalField(
        max_digits=5, decimal_places=2, null=True, blank=True
    )
    rh_max_ratio = models.DecimalField(
        max_digits=5, decimal_places=4, null=True, blank=True
    )
    dew_margin_c = models.DecimalField(
        max_digits=4, decimal_places=2, null=True, blank=True
    )

    class Meta:
        abstract = True


class System(WeatherLimits):
    """One product build. Immutable: another build has another code."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    code = models.CharField(max_length=40, unique=True)
    title = models.CharField(max_length=200)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="system_air_limits_ordered",
                condition=ordered("air_min_c", "air_max_c"),
            ),
            models.CheckConstraint(
                name="system_rh_is_a_share",
                condition=Q(rh_max_ratio__isnull=True)
                | Q(rh_max_ratio__gt=0, rh_max_ratio__lte=1),
            ),
        ]

    def __str__(self) -> str:
        return self.code


class SystemSubstrate(models.Model):
    """One substrate that a system may be laid on."""

    system = models.ForeignKey(System, models.CASCADE, related_name="substrates")
    substrate = models.CharField(max_length=16, choices=Substrate)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="system_substrate_once", fields=["system", "substrate"]
            ),
            models.CheckConstraint(
                name="system_substrate_known",
                condition=Q(substrate__in=Substrate.values),
            ),
        ]


class SystemCoat(WeatherLimits):
    """One coat of a system, in the order of application."""

    system = models.ForeignKey(System, models.CASCADE, related_name="coats")
    position = models.PositiveSmallIntegerField()
    role = models.CharField(max_length=8, choices=CoatRole)
    product = models.CharField(max_length=120, blank=True)
    wet_target_um = models.DecimalField(max_digits=10, decimal_places=4)
    volume_solids_ratio = models.DecimalField(max_digits=5, decimal_places=4)
    dry_min_um = models.DecimalField(
        max_digits=10, decimal_places=4, null=True, blank=True
    )
    dry_max_um = models.DecimalField(
        max_digits=10, decimal_places=4, null=True, blank=True
    )
    recoat_min_hours = models.DecimalField(
        max_digits=6, decimal_places=2, null=True, blank=True
    )
    recoat_max_hours = models.DecimalField(
        max_digits=6, decimal_places=2, null=True, blank=True
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="system_coat_position_once", fields=["system", "position"]
            ),
            models.UniqueConstraint(
                name="system_coat_role_once", fields=["system", "role"]
            ),
            models.CheckConstraint(
                name="system_coat_role_known", condition=Q(role__in=CoatRole.values)
            ),
            models.CheckConstraint(
                name="system_coat_solids_is_a_share",
                condition=Q(volume_solids_ratio__gt=0, volume_solids_ratio__lte=1),
            ),
            models.CheckConstraint(
                name="system_coat_dry_limits_ordered",
                condition=ordered("dry_min_um", "dry_max_um"),
            ),
            models.CheckConstraint(
                name="system_coat_wet_target_positive", condition=Q(wet_target_um__gt=0)
            ),
        ]
