"""What is recorded about one roof's promise: its edition, registration, waivers."""

from __future__ import annotations

import django_filters
from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import Lists, RegisterViewSet, found, named
from fleet.api.caller import Permit
from fleet.api.facts import (
    ROOF_FACT_FIELDS,
    FactFilters,
    FactIn,
    FactOut,
    FactViewSet,
    RecordedBy,
    ToldText,
)
from fleet.api.shape import DayField, In, Out
from fleet.models import Roof
from fleet.selectors.scopes import roofs_visible_to
from warranty.actions.promises import assign_terms, waive
from warranty.models import Coverage, Registration, Waiver
from warranty.rules.clause import NEVER_WAIVED, Clause
from warranty.selectors.lists import coverages_visible_to, editions

WAIVABLE_CHOICES = [
    (word.value, word.value) for word in Clause if word not in NEVER_WAIVED
]
WHY_LENGTH = 2000


class CoverageIn(In):
    """Which edition a roof is promised under."""

    uuid = serializers.UUIDField(required=False, help_text="Of the assignment.")
    supersedes = serializers.UUIDField(required=False)
    roof = serializers.UUIDField()
    edition = serializers.CharField(max_length=40, help_text="The edition's code.")
    happened_on = DayField()


class CoverageOut(Out):
    """One roof's promise under one edition."""

    roof = serializers.UUIDField(source="roof.uuid")
    edition = serializers.CharField(source="edition.code")

    class Meta:
        model = Coverage
        fields = ("uuid", "roof", "edition")


class CoverageFilters(django_filters.FilterSet):
    """What coverages can be narrowed by."""

    roof = django_filters.UUIDFilter(field_name="roof__uuid")
    edition = django_filters.CharFilter(field_name="edition__code")


class CoverageViewSet(Lists, RegisterViewSet):
    """Coverages: which roof is promised under which edition."""

    serializer_class = CoverageOut
    filterset_class = CoverageFilters
    is_idempotent = True
    permits = {"create": Permit.OFFICE}
    bodies = {"create": CoverageIn}

    def get_queryset(self) -> QuerySet[Coverage]:
        """Return the coverages in the caller's scope."""
        return coverages_visible_to(self.caller.scope)

    def create(self, request: Request) -> Response:
        """Promise a roof under an edition."""
        body, now = self.body(request), self.caller.now
        roof = found(roofs_visible_to(self.caller.scope), body.pop("roof"))
        edition = named(editions(), body.pop("edition"), "edition", by="code")
        fact = assign_terms(
            roof=roof,  # type: ignore[arg-type]  # a Roof
            edition=edition,  # type: ignore[arg-type]  # an Edition
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=now,
            **body,  # type: ignore[arg-type]  # shape checked
        )
        coverage = self.get_queryset().get(roof=roof)
        headers = {"Location": f"{request.path}/{coverage.uuid}"}
        status = 201 if fact.recorded_at == now else 200
        return self.answer(coverage, status=status, headers=headers)


class RegistrationIn(FactIn):
    """The day on which the owner registered the coverage."""

    registered_on = DayField()


class RegistrationOut(FactOut):
    """The owner registered the coverage on this day."""

    class Meta:
        model = Registration
        fields = (*ROOF_FACT_FIELDS, "registered_on")


class RegistrationViewSet(FactViewSet):
    """Registrations. A fleet's manager registers its own coaches."""

    table = Registration
    entry_kind = "registration"
    serializer_class = RegistrationOut
    filterset_class = FactFilters
    permits = {"create": Permit.TAKE_PART}
    bodies = {"create": RegistrationIn}

    def fact(self, body: dict[str, object], roof: Roof) -> Registration:
        """Return the registration."""
        return Registration(**body)


class WaiverIn(In):
    """Which clause is waived, for how long, and why."""

    uuid = serializers.UUIDField(required=False)
    supersedes = serializers.UUIDField(required=False)
    roof = serializers.UUIDField()
    clause = serializers.ChoiceField(WAIVABLE_CHOICES)
    from_on = DayField()
    until_on = DayField(required=False, allow_null=True)
    why = serializers.CharField(max_length=WHY_LENGTH)


class WaiverOut(FactOut):
    """The office waives one clause for a time. Two people's word counts backwards."""

    clause = serializers.ChoiceField(WAIVABLE_CHOICES)
    why = ToldText()
    seconded_by = RecordedBy()

    class Meta:
        model = Waiver
        fields = (
            *ROOF_FACT_FIELDS,
            "clause",
            "from_on",
            "until_on",
            "why",
            "seconded_by",
        )


class WaiverFilters(FactFilters):
    """What waivers can be narrowed by."""

    clause = django_filters.ChoiceFilter(choices=WAIVABLE_CHOICES)


class WaiverViewSet(FactViewSet):
    """Waivers. Coach and term are never waived, and no waiver moves a due date."""

    table = Waiver
    entry_kind = "waiver"
    serializer_class = WaiverOut
    filterset_class = WaiverFilters
    permits = {"create": Permit.OFFICE, "second": Permit.OFFICE}
    bodies = {"create": WaiverIn}
    answers = {"second": {"201": WaiverOut}}

    def create(self, request: Request) -> Response:
        """Waive one clause for a time."""
        body = {"until_on": None, **self.body(request)}
        roof = self.roof(body.pop("roof"))
        return self._waived(roof, body)

    def second(self, request: Request, uuid: object) -> Response:
        """Say so as a second person: it then counts for losses noticed before it."""
        first: Waiver = self.get_object()  # type: ignore[assignment]  # a Waiver
        return self._waived(
            first.roof,
            {
                "clause": first.clause,
                "from_on": first.from_on,
                "until_on": first.until_on,
                "why": str(first.why),
                "supersedes": first.uuid,
                "seconded_by": first.recorded_by,
            },
        )

    def _waived(self, roof: Roof, body: dict[str, object]) -> Response:
        now = self.caller.now
        fact = waive(roof=roof, by=self.caller.user, now=now, **body)  # type: ignore[arg-type]  # shape checked
        return self.recorded(fact, is_new=fact.recorded_at == now)
