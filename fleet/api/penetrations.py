"""What goes through the roof, and what was fitted to it later."""

from __future__ import annotations

import django_filters
from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from fleet.actions.readings import penetration
from fleet.actions.roofs import text
from fleet.api.caller import Permit
from fleet.api.facts import (
    ROOF_FACT_FIELDS,
    DayFilters,
    FactIn,
    FactOut,
    FactViewSet,
    ToldText,
)
from fleet.api.filters import TruthFilter
from fleet.api.shape import DayField, decimal
from fleet.models import Alteration, Penetration, PenetrationKind, Roof

NOTE_LENGTH = 4000
LENGTH_UNITS = ["ft", "in", "m"]


class PenetrationIn(FactIn):
    """One penetration: its middle from front cap and left gutter, and its size."""

    label = serializers.CharField(max_length=80)
    kind = serializers.ChoiceField(PenetrationKind.choices)
    x = decimal(8, 4, low=0)
    y = decimal(8, 4, low=0)
    place_unit = serializers.ChoiceField(LENGTH_UNITS)
    width = decimal(8, 4, low=0)
    length = decimal(8, 4, low=0)
    size_unit = serializers.ChoiceField(LENGTH_UNITS)
    is_detailed = serializers.BooleanField()
    happened_on = DayField()

    def validate(self, attrs: dict[str, object]) -> dict[str, object]:
        """Refuse a place or size that no roof has: they are kept as metres."""
        attrs = super().validate(attrs)
        factor = {"ft": 3, "in": 36, "m": 1}
        for names, unit in ((("x", "y"), "place"), (("width", "length"), "size")):
            most = 100 * factor[attrs[f"{unit}_unit"]]  # type: ignore[index]  # one of three
            errors = {
                name: [f"More than {most} {attrs[f'{unit}_unit']}: check the unit."]
                for name in names
                if attrs[name] > most  # type: ignore[operator]  # a decimal
            }
            if errors:
                raise ValidationError(errors, "out-of-range")
        return attrs


class PenetrationOut(FactOut):
    """One penetration where it sits, in metres."""

    class Meta:
        model = Penetration
        fields = (
            *ROOF_FACT_FIELDS,
            "label",
            "kind",
            "x_m",
            "y_m",
            "width_m",
            "length_m",
            "is_detailed",
            "happened_on",
        )


class PenetrationFilters(DayFilters):
    """What penetrations can be narrowed by."""

    kind = django_filters.ChoiceFilter(choices=PenetrationKind.choices)
    is_detailed = TruthFilter()


class PenetrationViewSet(FactViewSet):
    """Penetrations: anything through or on the roof."""

    table = Penetration
    entry_kind = "penetrations"
    serializer_class = PenetrationOut
    filterset_class = PenetrationFilters
    bodies = {"create": PenetrationIn}

    def fact(self, body: dict[str, object], roof: Roof) -> Penetration:
        """Return the penetration."""
        return penetration(**body)  # type: ignore[arg-type]  # shape checked


class AlterationIn(FactIn):
    """Something fitted to or put on the roof; a correction can approve it."""

    happened_on = DayField()
    note = serializers.CharField(max_length=NOTE_LENGTH)
    approved_on = DayField(required=False)


class AlterationOut(FactOut):
    """Something fitted to or put on the roof after completion."""

    note = ToldText()

    class Meta:
        model = Alteration
        fields = (*ROOF_FACT_FIELDS, "happened_on", "note", "approved_on")


class AlterationViewSet(FactViewSet):
    """Alterations. Only the office approves them."""

    table = Alteration
    entry_kind = "alteration"
    serializer_class = AlterationOut
    bodies = {"create": AlterationIn}

    def fact(self, body: dict[str, object], roof: Roof) -> Alteration:
        """Return the alteration."""
        if "approved_on" in body:
            self.caller.require(Permit.OFFICE)
        return Alteration(**{**body, "note": text(str(body["note"]))})
