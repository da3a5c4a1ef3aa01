"""Measured numbers, each as read and in SI."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from fleet.models.base import RoofFact, record_constraints
from fleet.models.system import CoatRole


class FilmMethod(models.TextChoices):
    NOTCH = "NOTCH", "notch gauge, wet"
    EDDY_CURRENT = "EDDY_CURRENT", "eddy current, dry"
    ULTRASONIC = "ULTRASONIC", "ultrasonic, dry"
    CUT_FILM = "CUT_FILM", "cut film, dry"


class MoistureMode(models.TextChoices):
    PIN = "PIN", "pins"
    SURFACE = "SURFACE", "surface pad"


class AdhesionMethod(models.TextChoices):
    TAPE_X = "TAPE_X", "tape over an X-cut (ASTM D3359 A)"
    TAPE_LATTICE = "TAPE_LATTICE", "tape over a lattice (ASTM D3359 B)"
    PULL_OFF = "PULL_OFF", "pull-off (ASTM D4541, ISO 4624)"
    PEEL = "PEEL", "peel (ASTM D903)"


PLACE = Q(x_m__isnull=True, y_m__isnull=True) | Q(x_m__isnull=False, y_m__isnull=False)


class PlacedFact(RoofFact):
    """A reading that may say where on the plan it was taken."""

    event_kind = "READINGS"

    x_m = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)
    y_m = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)

    class Meta:
        abstract = True


class FilmReading(PlacedFact):
    """One gauge reading on one spot of one area of one coat. A notch gauge gives an
    interval of wet film; a dry gauge gives a dry value."""

    ledger_fields = (
        "coat",
        "area_no",
        "spot_no",
        "shot_no",
        "method",
        "last_wet",
        "first_dry",
        "dry_value",
        "unit",
        "last_wet_um",
        "first_dry_um",
        "dry_um",
        "x_m",
        "y_m",
        "happened_on",
    )

    coat = models.CharField(max_length=8, choices=CoatRole)
    area_no = models.PositiveSmallIntegerField()
    spot_no = models.PositiveSmallIntegerField()
    # Equal readings are separate shots; the occurrence tells them apart.
    shot_no = models.PositiveSmallIntegerField()
    method = models.CharField(
        max_length=12, choices=FilmMethod, default=FilmMethod.NOTCH
    )
    last_wet = models.DecimalField(
        max_digits=10, decimal_places=4, null=True, blank=True
    )
    first_dry = models.DecimalField(
        max_digits=10, decimal_places=4, null=True, blank=True
    )
    dry_value = models.DecimalField(
        max_digits=10, decimal_places=4, null=True, blank=True
    )
    unit = models.CharField(max_length=4)
    last_wet_um = models.DecimalField(
        max_digits=10, decimal_places=4, null=True, blank=True
    )
    first_dry_um = models.DecimalField(
        max_digits=10, decimal_places=4, null=True, blank=True
    )
    dry_um = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    happened_on = models.DateField()

    class Meta:
        constraints = [
            *record_constraints("film_reading"),
            models.CheckConstraint(
                name="film_reading_coat_known", condition=Q(coat__in=CoatRole.values)
            ),
            models.CheckConstraint(
                name="film_reading_unit_known", condition=Q(unit__in=["mil", "um"])
            ),
            models.CheckConstraint(
                name="film_reading_wet_or_dry",
                condition=Q(
                    method=FilmMethod.NOTCH,
                    last_wet_um__gte=0,
                    first_dry_um__gt=F("last_wet_um"),
                    dry_um__isnull=True,
                )
                | (
                    ~Q(method=FilmMethod.NOTCH)
                    & Q(
                        dry_um__gte=0,
                        last_wet_um__isnull=True,
                        first_dry_um__isnull=True,
                    )
                ),
            ),
            models.CheckConstraint(
                name="film_reading_numbers_from_one",
                condition=Q(area_no__gte=1, spot_no__gte=1, shot_no__gte=1),
            ),
            models.CheckConstraint(
                name="film_reading_place_both_or_neither", condition=PLACE
            ),
        ]


class ClimateReading(RoofFact):
    """Air, surface and humidity at one moment; a blank makes it incomplete."""

    event_kind = "READINGS"

    ledger_fields = (
        "taken_at",
        "offset_minutes",
        "happened_on",
        "air",
        "surface",
        "temperature_unit",
        "air_c",
        "surface_c",
        "rh_ratio",
        "coat",
    )

    taken_at = models.DateTimeField()
    offset_minutes = models.SmallIntegerField()
    # The civil day at the coach, in the reading's own offset.
    happened_on = models.DateField()
    air = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    surface = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    temperature_unit = models.CharField(max_length=1, default="F")
    air_c = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)
    surface_c = models.DecimalField(
        max_digits=9, decimal_places=6, null=True, blank=True
    )
    rh_ratio = models.DecimalField(
        max_digits=5, decimal_places=4, null=True, blank=True
    )
    coat = models.CharField(max_length=8, choices=CoatRole, blank=True)

    class Meta:
        constraints = [
            *record_constraints("climate_reading"),
            models.CheckConstraint(
                name="climate_reading_unit_known",
                condition=Q(temperature_unit__in=["F", "C"]),
            ),
            models.CheckConstraint(
                name="climate_reading_rh_is_a_share",
                condition=Q(rh_ratio__isnull=True) | Q(rh_ratio__gt=0, rh_ratio__lte=1),
            ),
            models.CheckConstraint(
                name="climate_reading_offset_within_a_day",
                condition=Q(offset_minutes__gte=-900, offset_minutes__lte=900),
            ),
        ]


class MoistureReading(PlacedFact):
    """Deck moisture at one place; above the instrument's range it says so."""

    ledger_fields = (
        "moisture_ratio",
        "is_above_range",
        "mode",
        "species",
        "wood_c",
        "x_m",
        "y_m",
        "happened_on",
    )

    moisture_ratio = models.DecimalField(max_digits=5, decimal_places=4)
    is_above_range = models.BooleanField(default=False)
    mode = models.CharField(max_length=8, choices=MoistureMode)
    species = models.CharField(max_length=40, blank=True)
    wood_c = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    happened_on = models.DateField()

    class Meta:
        constraints = [
            *record_constraints("moisture_reading"),
            models.CheckConstraint(
                name="moisture_reading_is_a_share",
                condition=Q(moisture_ratio__gte=0, moisture_ratio__lte=1),
            ),
            models.CheckConstraint(
                name="moisture_reading_place_both_or_neither", condition=PLACE
            ),
        ]


class AdhesionReading(PlacedFact):
    """One adhesion test. Grades of different methods are never compared."""

    ledger_fields = (
        "method",
        "grade",
        "value",
        "unit",
        "coat",
        "x_m",
        "y_m",
        "happened_on",
    )

    method = models.CharField(max_length=12, choices=AdhesionMethod)
    grade = models.PositiveSmallIntegerField(null=True, blank=True)
    value = models.DecimalField(max_digits=9, decimal_places=3, null=True, blank=True)
    unit = models.CharField(max_length=6, blank=True)
    coat = models.CharField(max_length=8, choices=CoatRole, blank=True)
    happened_on = models.DateField()

    class Meta:
        constraints = [
            *record_constraints("adhesion_reading"),
            # A tape test has a whole grade from 0 to 5; the others have a force.
            models.CheckConstraint(
                name="adhesion_reading_grade_or_value",
                condition=Q(
                    method__in=[AdhesionMethod.TAPE_X, AdhesionMethod.TAPE_LATTICE],
                    grade__gte=0,
                    grade__lte=5,
                    value__isnull=True,
                )
                | Q(
                    method__in=[AdhesionMethod.PULL_OFF, AdhesionMethod.PEEL],
                    grade__isnull=True,
                    value__gte=0,
                    unit__in=["MPa", "psi", "N/m", "lbf/in"],
                ),
            ),
            models.CheckConstraint(
                name="adhesion_reading_place_both_or_neither", condition=PLACE
            ),
        ]


class CoatLog(RoofFact):
    """One coat as it was laid: lot, volume, thinner."""

    event_kind = "READINGS"

    ledger_fields = (
        "coat",
        "lot",
        "volume",
        "volume_unit",
        "volume_ml",
        "thinner_ratio",
        "happened_on",
    )

    coat = models.CharField(max_length=8, choices=CoatRole)
    lot = models.CharField(max_length=40, blank=True)
    volume = models.DecimalField(max_digits=9, decimal_places=3, null=True, blank=True)
    volume_unit = models.CharField(max_length=4, blank=True)
    volume_ml = models.DecimalField(
        max_digits=11, decimal_places=2, null=True, blank=True
    )
    # Volume of thinner per volume of the unthinned product.
    thinner_ratio = models.DecimalField(max_digits=5, decimal_places=4, default=0)
    happened_on = models.DateField()

    class Meta:
        constraints = [
            *record_constraints("coat_log"),
            models.CheckConstraint(
                name="coat_log_coat_known", condition=Q(coat__in=CoatRole.values)
            ),
            models.CheckConstraint(
                name="coat_log_volume_with_its_unit",
                condition=Q(volume__isnull=True, volume_ml__isnull=True, volume_unit="")
                | Q(volume__gt=0, volume_ml__gt=0, volume_unit__in=["gal", "l", "ml"]),
            ),
            models.CheckConstraint(
                name="coat_log_thinner_not_negative", condition=Q(thinner_ratio__gte=0)
            ),
        ]
        indexes = [models.Index(name="coat_log_by_lot", fields=["lot", "roof"])]
