"""Film readings, one at a time or a gauge's whole round at once."""

from __future__ import annotations

from collections.abc import Mapping

import django_filters
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.actions.errors import InvalidValue
from fleet.actions.readings import dry_reading, notch_reading
from fleet.actions.roofs import record
from fleet.api.batch import BatchIn, BatchOut
from fleet.api.facts import (
    ROOF_FACT_FIELDS,
    DayFilters,
    FactOut,
    FactViewSet,
    RecordIn,
)
from fleet.api.shape import SMALL_INT_MAX, DayField, In, decimal
from fleet.models import CoatRole, FilmMethod, FilmReading, Roof

BATCH_READINGS = 500
WET, DRY = ("last_wet", "first_dry"), ("dry_value",)


class FilmReadingIn(RecordIn):
    """A gauge reading: last wetted and first dry tooth, or one dry value."""

    coat = serializers.ChoiceField(CoatRole.choices)
    area_no = serializers.IntegerField(min_value=1, max_value=SMALL_INT_MAX)
    spot_no = serializers.IntegerField(min_value=1, max_value=SMALL_INT_MAX)
    shot_no = serializers.IntegerField(
        min_value=1,
        max_value=SMALL_INT_MAX,
        help_text="Counts the readings on a spot: equal readings are still two.",
    )
    method = serializers.ChoiceField(FilmMethod.choices, default=FilmMethod.NOTCH)
    last_wet = decimal(10, 4, required=False)
    first_dry = decimal(10, 4, required=False)
    dry_value = decimal(10, 4, required=False)
    unit = serializers.CharField(max_length=12, help_text="mil or um.")
    happened_on = DayField()
    x_m = decimal(7, 4, low=0, required=False)
    y_m = decimal(7, 4, low=0, required=False)

    def validate(self, attrs: dict[str, object]) -> dict[str, object]:
        """Ask for the values of the method, and for no others."""
        attrs = super().validate(attrs)
        is_wet = attrs["method"] == FilmMethod.NOTCH
        wanted, strange = (WET, DRY) if is_wet else (DRY, WET)
        errors = {
            name: ["This method reads this value."]
            for name in wanted
            if attrs.get(name) is None
        } | {
            name: ["This method does not read this value."]
            for name in strange
            if attrs.get(name) is not None
        }
        if errors:
            raise ValidationError(errors, "method-mismatch")
        refuse_half_a_place(attrs)
        return attrs


class OneFilmReadingIn(FilmReadingIn):
    """One reading of a batch, with its roof."""

    roof = serializers.UUIDField()


class FilmRoundIn(In):
    """A gauge's round on one roof: all of its readings are recorded, or none."""

    roof = serializers.UUIDField()
    readings = serializers.ListField(
        child=FilmReadingIn(), min_length=1, max_length=BATCH_READINGS
    )


class FilmReadingOut(FactOut):
    """A reading as read, and in micrometres."""

    class Meta:
        model = FilmReading
        fields = (
            *ROOF_FACT_FIELDS,
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


class FilmRoundOut(serializers.Serializer):
    """The readings of a round, in the order they were sent."""

    readings = FilmReadingOut(many=True)


class FilmReadingFilters(DayFilters):
    """What film readings can be narrowed by."""

    coat = django_filters.ChoiceFilter(choices=CoatRole.choices)
    area_no = django_filters.NumberFilter()


class FilmReadingViewSet(FactViewSet):
    """Film readings, wet or dry. A POST takes a round of up to 500 on one roof."""

    table = FilmReading
    entry_kind = "film"
    serializer_class = FilmReadingOut
    filterset_class = FilmReadingFilters
    bodies = {
        "create": FilmRoundIn,
        "create_batch": BatchIn,
        "item": OneFilmReadingIn,
    }
    answers = {"create": FilmRoundOut, "create_batch": {"207": BatchOut}}

    def create(self, request: Request) -> Response:
        """Record a round of readings, all or none."""
        body = self.body(request)
        roof = self.roof(body["roof"])
        facts = self.round(body["readings"], roof)  # type: ignore[arg-type]  # checked
        kept = record(
            roof=roof,
            kind=self.entry_kind,
            facts=facts,
            by=self.caller.user,
            now=self.caller.now,
            scope=self.caller.scope.record_scope,
        )
        is_new = any(old is fact for old, fact in zip(kept, facts, strict=True))
        context = self.get_serializer_context() | self.told(kept)
        out = FilmRoundOut({"readings": kept}, context=context)
        return Response(out.data, 201 if is_new else 200)

    def round(self, readings: list[dict[str, object]], roof: Roof) -> list[FilmReading]:
        """Return the readings as facts; every refused one is named by its place."""
        facts: list[FilmReading] = []
        errors: dict[str, object] = {}
        used: set[object] = set()
        for place, reading in enumerate(readings):
            uuid = reading.get("uuid")
            if uuid is not None and uuid in used:
                errors[str(place)] = {"uuid": ["This id stands twice in the round."]}
            used.add(uuid)
            try:
                facts.append(self.made(dict(reading), roof))  # type: ignore[arg-type]  # a reading
            except InvalidValue as error:
                errors[str(place)] = {error.field: [error.message]}
        if errors:
            raise ValidationError({"readings": errors}, InvalidValue.code)
        return facts

    def _recorded_alone(self, item: Mapping[str, object]) -> Response:
        return self.recorded_from(self.checked("item", item))

    def fact(self, body: dict[str, object], roof: Roof) -> FilmReading:
        """Return the reading: an interval of wet film, or a dry value."""
        value = body.pop("dry_value", None)
        if body["method"] == FilmMethod.NOTCH:
            del body["method"]
            return notch_reading(**body)  # type: ignore[arg-type]  # shape checked
        for name in WET:
            body.pop(name, None)
        try:
            return dry_reading(value=value, **body)  # type: ignore[arg-type]  # shape checked
        except InvalidValue as error:
            field = "dry_value" if error.field == "value" else error.field
            raise InvalidValue(field, error.message) from None


def refuse_half_a_place(attrs: dict[str, object]) -> None:
    """Refuse a place with one coordinate.

    Raises:
        ValidationError: x or y stands alone.
    """
    for one, other in (("x_m", "y_m"), ("y_m", "x_m")):
        if attrs.get(one) is not None and attrs.get(other) is None:
            raise ValidationError({other: ["A place has x and y."]}, "required")
