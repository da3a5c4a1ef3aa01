"""Weather, deck moisture, adhesion and the log of each coat."""

from __future__ import annotations

import django_filters
from rest_framework import serializers

from fleet.actions.readings import (
    adhesion_reading,
    climate_reading,
    coat_log,
    moisture_reading,
)
from fleet.api.batch import BatchIn, BatchOut
from fleet.api.facts import (
    ROOF_FACT_FIELDS,
    DayFilters,
    FactIn,
    FactOut,
    FactViewSet,
)
from fleet.api.film import refuse_half_a_place
from fleet.api.shape import DayField, MomentField, decimal, word
from fleet.models import (
    AdhesionMethod,
    AdhesionReading,
    ClimateReading,
    CoatLog,
    CoatRole,
    MoistureMode,
    MoistureReading,
    Roof,
)


class PlacedIn(FactIn):
    """A fact that may say where on the roof plan it was taken."""

    x_m = decimal(7, 4, low=0, required=False)
    y_m = decimal(7, 4, low=0, required=False)

    def validate(self, attrs: dict[str, object]) -> dict[str, object]:
        """Refuse half a place."""
        attrs = super().validate(attrs)
        refuse_half_a_place(attrs)
        return attrs


class ClimateReadingIn(FactIn):
    """Air, surface and humidity at one moment; a missing value makes it incomplete."""

    taken_at = MomentField()
    air = decimal(6, 2, required=False)
    surface = decimal(6, 2, required=False)
    temperature_unit = serializers.ChoiceField(["F", "C"])
    rh_pct = decimal(5, 2, required=False)
    coat = serializers.ChoiceField(CoatRole.choices, required=False)


class ClimateReadingOut(FactOut):
    """Weather as read, in °C and as a share of saturation."""

    coat = serializers.CharField(help_text="Empty: for every coat.")
    temperature_unit = serializers.ChoiceField(["F", "C"])

    class Meta:
        model = ClimateReading
        fields = (
            *ROOF_FACT_FIELDS,
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


class ClimateReadingViewSet(FactViewSet):
    """Climate readings, each in its own offset from UTC."""

    table = ClimateReading
    entry_kind = "climate"
    serializer_class = ClimateReadingOut
    bodies = {"create": ClimateReadingIn, "create_batch": BatchIn}
    answers = {"create_batch": {"207": BatchOut}}

    def fact(self, body: dict[str, object], roof: Roof) -> ClimateReading:
        """Return the reading."""
        body = {"air": None, "surface": None, "rh_pct": None, **body}
        return climate_reading(**body)  # type: ignore[arg-type]  # shape checked


class MoistureReadingIn(PlacedIn):
    """Deck moisture at one place."""

    moisture_pct = decimal(5, 2)
    is_above_range = serializers.BooleanField(required=False)
    mode = serializers.ChoiceField(MoistureMode.choices)
    species = word(40)
    wood_c = decimal(5, 2, required=False)
    happened_on = DayField()


class MoistureReadingOut(FactOut):
    """Deck moisture as a share of dry weight."""

    class Meta:
        model = MoistureReading
        fields = (
            *ROOF_FACT_FIELDS,
            "moisture_ratio",
            "is_above_range",
            "mode",
            "species",
            "wood_c",
            "x_m",
            "y_m",
            "happened_on",
        )


class MoistureReadingViewSet(FactViewSet):
    """Moisture readings of the deck."""

    table = MoistureReading
    entry_kind = "moisture"
    serializer_class = MoistureReadingOut
    bodies = {"create": MoistureReadingIn, "create_batch": BatchIn}
    answers = {"create_batch": {"207": BatchOut}}

    def fact(self, body: dict[str, object], roof: Roof) -> MoistureReading:
        """Return the reading."""
        return moisture_reading(**body)  # type: ignore[arg-type]  # shape checked


class AdhesionReadingIn(PlacedIn):
    """One adhesion test: a grade for tape, a force with its unit for the others."""

    method = serializers.ChoiceField(AdhesionMethod.choices)
    grade = serializers.IntegerField(min_value=0, max_value=5, required=False)
    value = decimal(9, 3, low=0, required=False)
    unit = serializers.ChoiceField(["MPa", "psi", "N/m", "lbf/in"], required=False)
    coat = serializers.ChoiceField(CoatRole.choices, required=False)
    happened_on = DayField()


class AdhesionReadingOut(FactOut):
    """One adhesion test. Grades of different methods are never compared."""

    unit = serializers.CharField(help_text="Empty for a grade.")
    coat = serializers.CharField(help_text="Empty: the whole film.")

    class Meta:
        model = AdhesionReading
        fields = (
            *ROOF_FACT_FIELDS,
            "method",
            "grade",
            "value",
            "unit",
            "coat",
            "x_m",
            "y_m",
            "happened_on",
        )


class AdhesionReadingViewSet(FactViewSet):
    """Adhesion tests."""

    table = AdhesionReading
    entry_kind = "adhesion"
    serializer_class = AdhesionReadingOut
    bodies = {"create": AdhesionReadingIn, "create_batch": BatchIn}
    answers = {"create_batch": {"207": BatchOut}}

    def fact(self, body: dict[str, object], roof: Roof) -> AdhesionReading:
        """Return the test."""
        return adhesion_reading(**body)  # type: ignore[arg-type]  # shape checked


class CoatLogIn(FactIn):
    """One coat as it was laid."""

    coat = serializers.ChoiceField(CoatRole.choices)
    lot = word(40)
    volume = decimal(9, 3, required=False)
    volume_unit = serializers.ChoiceField(["gal", "l", "ml"], required=False)
    thinner_ratio = serializers.DecimalField(
        5, 4, min_value=0, required=False, help_text="Volume per volume of product."
    )
    happened_on = DayField()


class CoatLogOut(FactOut):
    """One coat as it was laid, its volume as read and in millilitres."""

    volume_unit = serializers.CharField(help_text="Empty without a volume.")

    class Meta:
        model = CoatLog
        fields = (
            *ROOF_FACT_FIELDS,
            "coat",
            "lot",
            "volume",
            "volume_unit",
            "volume_ml",
            "thinner_ratio",
            "happened_on",
        )


class CoatLogFilters(DayFilters):
    """What coat logs can be narrowed by: a lot leads to its roofs."""

    lot = django_filters.CharFilter()
    coat = django_filters.ChoiceFilter(choices=CoatRole.choices)


class CoatLogViewSet(FactViewSet):
    """The log of each coat: lot, volume, thinner."""

    table = CoatLog
    entry_kind = "coat_log"
    serializer_class = CoatLogOut
    filterset_class = CoatLogFilters
    bodies = {"create": CoatLogIn, "create_batch": BatchIn}
    answers = {"create_batch": {"207": BatchOut}}

    def fact(self, body: dict[str, object], roof: Roof) -> CoatLog:
        """Return the log."""
        return coat_log(**{"lot": "", **body})  # type: ignore[arg-type]  # shape checked
