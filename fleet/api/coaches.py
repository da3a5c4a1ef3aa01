"""Coaches, and what was recorded about them over time."""

from __future__ import annotations

from collections.abc import Callable

import django_filters
from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.actions.coaches import (
    add_coach,
    describe_coach,
    description,
    hand_over,
    retire_coach,
)
from fleet.actions.errors import InvalidValue
from fleet.api.base import Lists, RegisterViewSet, Versioned, etag_of, named
from fleet.api.caller import Permit
from fleet.api.choosing import Expansion
from fleet.api.facts import FACT_FIELDS, RecordedBy, RecordFilters
from fleet.api.filters import TruthFilter
from fleet.api.owners import OwnerOut
from fleet.api.schema import IF_NONE_MATCH
from fleet.api.shape import DayField, In, Out, decimal, word
from fleet.models import (
    Body,
    Coach,
    CoachDescription,
    CoachFact,
    Owner,
    Ownership,
    Record,
    Retirement,
)
from fleet.selectors.lists import coach_facts_visible_to
from fleet.selectors.scopes import coaches_visible_to, owners_visible_to


class DescribedIn(In):
    """What a coach is said to be, its size as measured."""

    vin = word(40)
    model_year = serializers.IntegerField(
        min_value=1900, max_value=2199, required=False
    )
    make = word(60)
    model = word(60)
    body = serializers.ChoiceField(Body.choices, required=False)
    length = decimal(8, 3)
    width = decimal(8, 3)
    length_unit = serializers.ChoiceField(["ft", "m"])
    town = word(80)
    state = word(40)
    time_zone = word(48)
    happened_on = DayField(required=False)


class CorrectableIn(In):
    """A fact about a coach, known by the client's uuid."""

    uuid = serializers.UUIDField(required=False)
    supersedes = serializers.UUIDField(required=False)


class DescribeIn(CorrectableIn, DescribedIn):
    """A new description of a coach."""


class HandOverIn(CorrectableIn):
    """From which day who holds the coach."""

    owner = serializers.UUIDField()
    from_on = DayField()


class RetireIn(CorrectableIn):
    """When the coach left the road."""

    retired_on = DayField()


class CoachIn(In):
    """A coach under the office's own number."""

    uuid = serializers.UUIDField(required=False)
    unit_no = serializers.CharField(max_length=40)
    description = DescribedIn()
    owner = serializers.UUIDField(required=False)
    held_from = DayField(required=False)

    def validate(self, attrs: dict[str, object]) -> dict[str, object]:
        """Ask for the day with the owner, and for the owner with the day."""
        for one, other in (("owner", "held_from"), ("held_from", "owner")):
            if one in attrs and other not in attrs:
                raise ValidationError({other: ["Owner and day go together."]})
        return attrs


class CoachOut(Out):
    """One coach as its facts describe it."""

    body = serializers.CharField(help_text="Empty: not known.")
    holder = serializers.UUIDField(source="holder.uuid", default=None, allow_null=True)

    class Meta:
        model = Coach
        fields = (
            "uuid",
            "unit_no",
            "vin",
            "model_year",
            "make",
            "model",
            "body",
            "length_m",
            "width_m",
            "town",
            "state",
            "time_zone",
            "holder",
            "retired_on",
            "version",
        )


class CoachFactOut(Out):
    """A fact about one coach."""

    coach = serializers.UUIDField(source="coach.uuid")
    is_corrected = serializers.SerializerMethodField()
    recorded_by = RecordedBy()

    def get_is_corrected(self, fact: Record) -> bool:
        """Whether a later record names this one."""
        return bool(getattr(fact, "is_corrected", False))


class CoachDescriptionOut(CoachFactOut):
    """What a coach was said to be."""

    body = serializers.CharField(help_text="Empty: not known.")

    class Meta:
        model = CoachDescription
        fields = (
            *FACT_FIELDS,
            "coach",
            "happened_on",
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
            "town",
            "state",
            "time_zone",
        )


class OwnershipOut(CoachFactOut):
    """From this day on the owner holds the coach, until the next ownership."""

    owner = serializers.UUIDField(source="owner.uuid")

    class Meta:
        model = Ownership
        fields = (*FACT_FIELDS, "coach", "owner", "from_on")


class RetirementOut(CoachFactOut):
    """The coach left the road on this day."""

    class Meta:
        model = Retirement
        fields = (*FACT_FIELDS, "coach", "retired_on")


class CoachFilters(django_filters.FilterSet):
    """What coaches can be narrowed by."""

    unit_no = django_filters.CharFilter()
    vin = django_filters.CharFilter()
    holder = django_filters.UUIDFilter(field_name="holder__uuid")
    body = django_filters.ChoiceFilter(choices=Body.choices)
    town = django_filters.CharFilter(lookup_expr="icontains")
    state = django_filters.CharFilter(lookup_expr="iexact")
    is_retired = TruthFilter(
        field_name="retired_on", lookup_expr="isnull", exclude=True
    )


class CoachViewSet(Versioned, Lists, RegisterViewSet):
    """Coaches. Their columns follow from descriptions, ownerships and retirements."""

    serializer_class = CoachOut
    filterset_class = CoachFilters
    is_idempotent = True
    permits = {
        "create": Permit.RECORD,
        "describe": Permit.RECORD,
        "hand_over": Permit.OFFICE,
        "retire": Permit.OFFICE,
    }
    bodies = {
        "create": CoachIn,
        "describe": DescribeIn,
        "hand_over": HandOverIn,
        "retire": RetireIn,
    }
    answers = {
        "describe": {"201": CoachDescriptionOut, "200": CoachDescriptionOut},
        "hand_over": {"201": OwnershipOut, "200": OwnershipOut},
        "retire": {"201": RetirementOut, "200": RetirementOut},
    }
    headers_in = {"retrieve": (IF_NONE_MATCH,)}
    expansions = {
        "holder": Expansion(
            out=OwnerOut, rows=owners_visible_to, key=lambda row: row.holder_id
        )
    }

    def get_queryset(self) -> QuerySet[Coach]:
        """Return the coaches in the caller's scope."""
        return coaches_visible_to(self.caller.scope).select_related("holder")

    def create(self, request: Request) -> Response:
        """Add a coach with its description and, where known, its holder."""
        body = self.body(request)
        known = self.get_queryset().filter(uuid=body.get("uuid")).first()
        if known is not None:
            return self.known_already(known, known.unit_no == body["unit_no"])
        if "owner" in body:
            self.caller.require(Permit.OFFICE)
            body["owner"] = self._owner(body["owner"])
        try:
            described = description(**body.pop("description"))  # type: ignore[arg-type]  # shape checked
        except InvalidValue as error:
            raise ValidationError(
                {"description": {error.field: [error.message]}}, error.code
            ) from None
        coach = add_coach(described=described, **self.made_by, **body)  # type: ignore[arg-type]  # shape checked
        headers = {
            "Location": f"{request.path}/{coach.uuid}",
            "ETag": etag_of(coach),
        }
        return self.answer(coach, status=201, headers=headers)

    def describe(self, request: Request, uuid: object) -> Response:
        """Record a new description; name the older one to correct it."""
        body = self.body(request)
        described = description(**body)  # type: ignore[arg-type]  # shape checked
        return self._recorded(
            describe_coach, CoachDescriptionOut, {"described": described}
        )

    def hand_over(self, request: Request, uuid: object) -> Response:
        """Record that an owner holds the coach from a day on."""
        body = self.body(request)
        body["owner"] = self._owner(body["owner"])
        return self._recorded(hand_over, OwnershipOut, body)

    def retire(self, request: Request, uuid: object) -> Response:
        """Record that the coach left the road."""
        return self._recorded(retire_coach, RetirementOut, self.body(request))

    @property
    def made_by(self) -> dict[str, object]:
        """Who records it, and when."""
        return {"by": self.caller.user, "now": self.caller.now}

    def _owner(self, uuid: object) -> Owner:
        owners = owners_visible_to(self.caller.scope)
        return named(owners, uuid, "owner")  # type: ignore[return-value]  # an Owner

    def _recorded(
        self,
        action: Callable[..., CoachFact],
        out: type[CoachFactOut],
        body: dict[str, object],
    ) -> Response:
        fact = action(coach=self.get_object(), **self.made_by, **body)
        is_new = fact.recorded_at == self.caller.now
        data = out(fact, context=self.get_serializer_context()).data
        return Response(data, 201 if is_new else 200)


class CoachFactFilters(RecordFilters):
    """What facts about coaches can be narrowed by."""

    coach = django_filters.UUIDFilter(field_name="coach__uuid")


class CoachFactViewSet(Lists, RegisterViewSet):
    """Facts of one kind about coaches; they are recorded at the coach."""

    table: type[CoachFact]
    filterset_class = CoachFactFilters

    def get_queryset(self) -> QuerySet[CoachFact]:
        """Return the facts in the caller's scope."""
        return coach_facts_visible_to(self.table, self.caller.scope)


class CoachDescriptionViewSet(CoachFactViewSet):
    """Descriptions of coaches; the newest that stands is the coach's."""

    table = CoachDescription
    serializer_class = CoachDescriptionOut


class OwnershipViewSet(CoachFactViewSet):
    """Who held which coach from which day; a fleet's manager sees its own."""

    table = Ownership
    serializer_class = OwnershipOut


class RetirementViewSet(CoachFactViewSet):
    """Coaches that left the road."""

    table = Retirement
    serializer_class = RetirementOut
