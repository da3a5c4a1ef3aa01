"""Claims: reported, corrected, and read by who held the coach at the time."""

from __future__ import annotations

from collections import defaultdict

import django_filters
from django.db.models import Model, QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import Lists, RegisterViewSet, Versioned, found
from fleet.api.caller import Permit
from fleet.api.choosing import Expansion
from fleet.api.facts import RecordedBy
from fleet.api.film import refuse_half_a_place
from fleet.api.roofs import RoofOut
from fleet.api.schema import IF_NONE_MATCH
from fleet.api.shape import DayField, In, Out, decimal, word
from fleet.errors import NotAllowed
from fleet.selectors.scopes import roofs_visible_to
from warranty.actions.claim_intake import take_claim
from warranty.actions.claims import claim_report, correct_claim
from warranty.models import Claim, ClaimReport
from warranty.rules.claim import ClaimStatus
from warranty.selectors.claims import claims_visible_to
from warranty.selectors.lists import reports_of

DESCRIPTION_LENGTH = 4000
CENTS_MAX = 10_000_000_000
STATUS_CHOICES = [(status.value, status.value) for status in ClaimStatus]


class LossIn(In):
    """What was lost, when it was noticed and when it was told."""

    noticed_on = DayField()
    reported_on = DayField()
    description = word(DESCRIPTION_LENGTH, required=True)
    estimate_cents = serializers.IntegerField(
        min_value=0, max_value=CENTS_MAX, required=False, help_text="Whole cents."
    )
    currency = serializers.RegexField(r"^[A-Z]{3}$", required=False)
    penetration_label = word(80)
    x_m = decimal(7, 4, low=0, required=False)
    y_m = decimal(7, 4, low=0, required=False)
    uuid = serializers.UUIDField(
        required=False, help_text="Of the report; the same again is the same report."
    )

    def validate(self, attrs: dict[str, object]) -> dict[str, object]:
        """Refuse half a place."""
        refuse_half_a_place(attrs)
        return attrs


class ClaimIn(LossIn):
    """A claim to open on a roof."""

    roof = serializers.UUIDField()
    ref = word(40)


class ReportIn(LossIn):
    """A corrected report of a claim."""

    supersedes = serializers.UUIDField(help_text="The report that this one corrects.")


class ReportOut(Out):
    """What was reported at one time."""

    description = serializers.CharField()
    recorded_by = RecordedBy()

    class Meta:
        model = ClaimReport
        fields = (
            "uuid",
            "supersedes",
            "noticed_on",
            "reported_on",
            "description",
            "estimate_cents",
            "currency",
            "penetration_label",
            "x_m",
            "y_m",
            "recorded_at",
            "recorded_by",
        )


class ClaimOut(Out):
    """A claim and its reports. Only who held the coach then, and the office, see it."""

    roof = serializers.UUIDField(source="roof.uuid")
    unit_no = serializers.CharField(source="roof.coach.unit_no")
    holder = serializers.UUIDField(source="holder.uuid", default=None, allow_null=True)
    status = serializers.ChoiceField(STATUS_CHOICES)
    reports = serializers.SerializerMethodField()

    class Meta:
        model = Claim
        fields = (
            "uuid",
            "ref",
            "roof",
            "unit_no",
            "holder",
            "status",
            "noticed_on",
            "reported_on",
            "version",
            "reports",
        )

    @extend_schema_field(ReportOut(many=True))
    def get_reports(self, claim: Claim) -> list[object]:
        """The reports, the oldest first; the last that no other corrects counts."""
        rows = self.context["reports"][claim.pk]
        told: list[object] = ReportOut(rows, many=True, context=self.context).data
        return told


class ClaimFilters(django_filters.FilterSet):
    """What claims can be narrowed by."""

    roof = django_filters.UUIDFilter(field_name="roof__uuid")
    coach = django_filters.UUIDFilter(field_name="roof__coach__uuid")
    ref = django_filters.CharFilter()
    status = django_filters.ChoiceFilter(choices=STATUS_CHOICES)
    noticed_from = django_filters.DateFilter(field_name="noticed_on", lookup_expr="gte")
    noticed_to = django_filters.DateFilter(field_name="noticed_on", lookup_expr="lte")


class ClaimViewSet(Versioned, Lists, RegisterViewSet):
    """Claims. After a sale a claim stays with who held the coach when it was seen."""

    serializer_class = ClaimOut
    filterset_class = ClaimFilters
    is_idempotent = True
    permits = {"create": Permit.TAKE_PART, "correct": Permit.OFFICE}
    bodies = {"create": ClaimIn, "correct": ReportIn}
    answers = {"correct": ClaimOut}
    headers_in = {"retrieve": (IF_NONE_MATCH,)}
    expansions = {
        "roof": Expansion(
            out=RoofOut, rows=roofs_visible_to, key=lambda row: row.roof_id
        )
    }

    def get_queryset(self) -> QuerySet[Claim]:
        """Return the claims in the caller's scope."""
        return claims_visible_to(self.caller.scope)

    def page_context(self, page: list[Model]) -> dict[str, object]:
        """Read the reports of all claims of a page at once."""
        by_claim: dict[int, list[ClaimReport]] = defaultdict(list)
        for report in reports_of([claim.pk for claim in page]):
            by_claim[report.claim_id].append(report)
        return {"reports": by_claim}

    def answer(
        self, row: object, *, status: int = 200, headers: dict[str, str] | None = None
    ) -> Response:
        """Return one claim with its reports."""
        context = self.get_serializer_context() | self.page_context([row])  # type: ignore[list-item]  # a Claim
        return Response(ClaimOut(row, context=context).data, status, headers=headers)

    def create(self, request: Request) -> Response:
        """Report a loss on a roof and open its claim."""
        body = self.body(request)
        scope = self.caller.scope
        roof = found(roofs_visible_to(scope), body.pop("roof"))
        ref = str(body.pop("ref", ""))
        self._refuse_office_members(ref, body)
        claim, is_new = take_claim(
            roof=roof,  # type: ignore[arg-type]  # a Roof
            ref=ref,
            report=_report(body),
            by=self.caller.user,
            now=self.caller.now,
            scope=scope,
        )
        headers = {"Location": f"{request.path}/{claim.uuid}"}
        return self.answer(claim, status=201 if is_new else 200, headers=headers)

    def correct(self, request: Request, uuid: object) -> Response:
        """Record a corrected report of the claim."""
        body = self.body(request)
        claim: Claim = self.get_object()  # type: ignore[assignment]  # a Claim
        correct_claim(
            claim=claim,
            report=_report(body),
            by=self.caller.user,
            now=self.caller.now,
        )
        return self.answer(claim)

    def _refuse_office_members(self, ref: str, body: dict[str, object]) -> None:
        scope = self.caller.scope
        if ref and not scope.may_write_records:
            raise NotAllowed("The register gives the reference. Leave ref out.")
        is_technician = scope.may_write_records and not scope.may_run_office
        if is_technician and "estimate_cents" in body:
            raise NotAllowed("A claim's money is the office's. Leave the estimate out.")


def _report(body: dict[str, object]) -> ClaimReport:
    return claim_report(**{"estimate_cents": None, **body})  # type: ignore[arg-type]  # shape checked
