"""Visits, what was found at them, and what cured it."""

from __future__ import annotations

import django_filters
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.actions.attendance import cure, record_attendance, visit
from fleet.actions.roofs import text
from fleet.api.base import named
from fleet.api.facts import (
    ROOF_FACT_FIELDS,
    DayFilters,
    FactIn,
    FactOut,
    FactViewSet,
    ToldText,
    correction_marks,
    mark,
)
from fleet.api.film import refuse_half_a_place
from fleet.api.shape import DayField, In, decimal, word
from fleet.models import (
    Cure,
    Finding,
    Roof,
    Severity,
    Visit,
    VisitKind,
    VisitResult,
)
from fleet.selectors.lists import facts_visible_to

NOTE_LENGTH = 4000


class SeenIn(In):
    """Something seen on the roof."""

    severity = serializers.ChoiceField(Severity.choices)
    cause = word(24)
    penetration_label = word(80)
    x_m = decimal(7, 4, low=0, required=False)
    y_m = decimal(7, 4, low=0, required=False)
    note = word(NOTE_LENGTH)

    def validate(self, attrs: dict[str, object]) -> dict[str, object]:
        """Refuse half a place."""
        attrs = super().validate(attrs)
        refuse_half_a_place(attrs)
        return attrs


class VisitIn(FactIn):
    """One attendance, with what was found and which earlier findings it cured."""

    ref = word(40, required=True)
    kind = serializers.ChoiceField(VisitKind.choices)
    happened_on = DayField()
    result = serializers.ChoiceField(VisitResult.choices, default=VisitResult.NONE)
    technician = word(120)
    note = word(NOTE_LENGTH)
    shop = word(120)
    findings = serializers.ListField(child=SeenIn(), required=False, max_length=100)
    cures = serializers.ListField(
        child=serializers.UUIDField(), required=False, max_length=100
    )


class VisitOut(FactOut):
    """One attendance at a coach, about one roof."""

    technician = serializers.CharField(
        source="technician.name", default=None, allow_null=True
    )
    note = ToldText()
    is_by_other_shop = serializers.BooleanField()
    shop = ToldText(help_text="Another shop that came; none: our own people.")

    class Meta:
        model = Visit
        fields = (
            *ROOF_FACT_FIELDS,
            "ref",
            "kind",
            "happened_on",
            "technician",
            "result",
            "note",
            "is_by_other_shop",
            "shop",
        )


class VisitFilters(DayFilters):
    """What visits can be narrowed by."""

    kind = django_filters.ChoiceFilter(choices=VisitKind.choices)
    result = django_filters.ChoiceFilter(choices=VisitResult.choices)
    ref = django_filters.CharFilter()


class VisitViewSet(FactViewSet):
    """Visits, from the survey to the last repair."""

    table = Visit
    entry_kind = "visit"
    serializer_class = VisitOut
    filterset_class = VisitFilters
    bodies = {"create": VisitIn}

    def create(self, request: Request) -> Response:
        """Record a visit with its findings and cures, all or none."""
        body = self.body(request)
        roof = self.roof(body.pop("roof"))
        marks = correction_marks(body, self.caller)
        own = facts_visible_to(Finding, self.caller.scope).filter(roof=roof)
        cured = [named(own, uuid, "cures") for uuid in body.pop("cures", ())]  # type: ignore[attr-defined]  # a list
        findings = [seen(item) for item in body.pop("findings", ())]  # type: ignore[attr-defined]  # a list
        attended = visit(technician_name=body.pop("technician", ""), **body)  # type: ignore[arg-type]  # shape checked
        mark(attended, marks)
        kept = record_attendance(
            roof=roof,
            attended=attended,
            findings=findings,
            cured=cured,  # type: ignore[arg-type]  # findings
            by=self.caller.user,
            now=self.caller.now,
            scope=self.caller.scope.record_scope,
        )
        return self.recorded(kept, is_new=kept is attended)


class FindingIn(FactIn, SeenIn):
    """Something seen, on a visit or reported by an owner."""

    visit = serializers.UUIDField(required=False)
    happened_on = DayField()


class FindingOut(FactOut):
    """Something seen at a place on the roof."""

    visit = serializers.UUIDField(source="visit.uuid", default=None, allow_null=True)
    note = ToldText()

    class Meta:
        model = Finding
        fields = (
            *ROOF_FACT_FIELDS,
            "visit",
            "happened_on",
            "severity",
            "cause",
            "penetration_label",
            "x_m",
            "y_m",
            "note",
        )


class FindingFilters(DayFilters):
    """What findings can be narrowed by."""

    severity = django_filters.ChoiceFilter(choices=Severity.choices)
    visit = django_filters.UUIDFilter(field_name="visit__uuid")


class FindingViewSet(FactViewSet):
    """Findings."""

    table = Finding
    entry_kind = "findings"
    serializer_class = FindingOut
    filterset_class = FindingFilters
    bodies = {"create": FindingIn}

    def fact(self, body: dict[str, object], roof: Roof) -> Finding:
        """Return the finding."""
        at = body.pop("visit", None)
        finding = seen(body)
        if at is not None:
            visits = facts_visible_to(Visit, self.caller.scope).filter(roof=roof)
            finding.visit = named(visits, at, "visit")  # type: ignore[assignment]  # a Visit
        return finding


class CureIn(FactIn):
    """A repair that cured a finding."""

    finding = serializers.UUIDField()
    visit = serializers.UUIDField()
    happened_on = DayField()


class CureOut(FactOut):
    """A repair cured a finding: names both."""

    finding = serializers.UUIDField(source="finding.uuid")
    visit = serializers.UUIDField(source="visit.uuid")

    class Meta:
        model = Cure
        fields = (*ROOF_FACT_FIELDS, "finding", "visit", "happened_on")


class CureFilters(DayFilters):
    """What cures can be narrowed by."""

    finding = django_filters.UUIDFilter(field_name="finding__uuid")
    visit = django_filters.UUIDFilter(field_name="visit__uuid")


class CureViewSet(FactViewSet):
    """Cures: which repair cured which finding."""

    table = Cure
    entry_kind = "cures"
    serializer_class = CureOut
    filterset_class = CureFilters
    bodies = {"create": CureIn}

    def fact(self, body: dict[str, object], roof: Roof) -> Cure:
        """Return the cure."""
        scope = self.caller.scope
        findings = facts_visible_to(Finding, scope).filter(roof=roof)
        visits = facts_visible_to(Visit, scope).filter(roof=roof)
        return cure(
            finding=named(findings, body.pop("finding"), "finding"),  # type: ignore[arg-type]  # a Finding
            repair=named(visits, body.pop("visit"), "visit"),  # type: ignore[arg-type]  # a Visit
            **body,  # type: ignore[arg-type]  # shape checked
        )


def seen(body: dict[str, object]) -> Finding:
    """Return a finding that is not recorded yet."""
    return Finding(**{**body, "note": text(str(body.get("note", "")))})
