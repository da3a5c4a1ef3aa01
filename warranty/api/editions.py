"""Editions of the promise: drafted, checked against the law, published."""

from __future__ import annotations

import django_filters
from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import Lists, RegisterViewSet, Versioned, etag_of, require_match
from fleet.api.caller import Permit
from fleet.api.schema import IF_MATCH, IF_NONE_MATCH
from fleet.api.shape import SMALL_INT_MAX, In, Out, PlainOut
from fleet.models import OwnerKind
from warranty.actions.editions import change_draft, draft_edition, publish_edition
from warranty.models import Edition
from warranty.rules.law import CheckResult, Severity
from warranty.rules.promise import ITEMS
from warranty.rules.terms import Anchor, Designation
from warranty.selectors.editions import edition_checks, editions_visible_to

ANCHOR_CHOICES = [(word.value, word.value) for word in Anchor]
DESIGNATION_CHOICES = [(word.value, word.value) for word in Designation]
SEVERITY_CHOICES = [(word.value, word.value) for word in Severity]
ITEM_NAMES = tuple(item.value for item in ITEMS)
TEXT_LENGTH = 8000
TERMS = (
    "uuid",
    "code",
    "title",
    "owner_kind",
    "anchor",
    "interval_months",
    "window_days",
    "grace_days",
    "reinstatement_days",
    "registration_days",
    "serious_cure_days",
    "term_months",
    "designation",
    "life_of",
    "inspections_free",
    "requires_dry_deck",
    "forbids_alterations",
    "accepts_other_shops",
    "is_transferable",
    "transfer_notice_days",
    "transfer_needs_inspection",
)


class DaysField(serializers.IntegerField):
    """A count of days or months."""

    def __init__(self, **kwargs: object) -> None:
        super().__init__(**{"min_value": 0, "max_value": SMALL_INT_MAX, **kwargs})


class ItemField(serializers.CharField):
    """One item of an edition's text; lines are kept."""

    def __init__(self, **kwargs: object) -> None:
        shape = {"max_length": TEXT_LENGTH, "required": False, "allow_blank": True}
        super().__init__(**{**shape, **kwargs})


class EditionIn(In):
    """A draft of an edition: its numbers, and its text item by item."""

    uuid = serializers.UUIDField(required=False)
    code = serializers.CharField(max_length=40)
    title = serializers.CharField(max_length=200)
    owner_kind = serializers.ChoiceField(OwnerKind.choices)
    anchor = serializers.ChoiceField(ANCHOR_CHOICES)
    interval_months = DaysField(min_value=1, max_value=600)
    window_days = DaysField()
    grace_days = DaysField()
    reinstatement_days = DaysField()
    registration_days = DaysField()
    serious_cure_days = DaysField()
    term_months = DaysField(
        min_value=1, max_value=1200, required=False, allow_null=True
    )
    designation = serializers.ChoiceField(DESIGNATION_CHOICES, required=False)
    life_of = serializers.CharField(max_length=60, required=False, allow_blank=True)
    inspections_free = serializers.BooleanField(required=False)
    requires_dry_deck = serializers.BooleanField(required=False)
    forbids_alterations = serializers.BooleanField(required=False)
    accepts_other_shops = serializers.BooleanField(required=False)
    is_transferable = serializers.BooleanField(required=False)
    transfer_notice_days = DaysField(required=False, allow_null=True)
    transfer_needs_inspection = serializers.BooleanField(required=False)
    covered_owner = ItemField()
    covered = ItemField()
    exclusions = ItemField()
    remedy = ItemField()
    not_paid = ItemField()
    duties = ItemField()
    duties_reason = ItemField()
    claim_procedure = ItemField()
    who_may_work = ItemField()
    dispute_mechanism = ItemField()
    implied_limit = ItemField()
    consequential_limit = ItemField()
    rights = ItemField()
    registration = ItemField()


class EditionChangeIn(EditionIn):
    """What of a draft changes; what is left out stays as it is."""

    def get_fields(self) -> dict[str, serializers.Field]:
        """Return the draft's fields, none of them required, without its id."""
        fields = super().get_fields()
        fields.pop("uuid")
        for field in fields.values():
            field.required = False
        return fields


class EditionOut(Out):
    """The terms and the text of one edition. Local law governs."""

    anchor = serializers.ChoiceField(ANCHOR_CHOICES)
    designation = serializers.ChoiceField(DESIGNATION_CHOICES)
    published_at = serializers.DateTimeField(
        allow_null=True, help_text="Null: a draft, which only the office sees."
    )

    class Meta:
        model = Edition
        fields = (*TERMS, *ITEM_NAMES, "version", "published_at")


class CheckOut(PlainOut):
    """What one rule of the checklist says of an edition."""

    code = serializers.CharField(source="rule.code")
    title = serializers.CharField(source="rule.title")
    citation = serializers.CharField(source="rule.citation")
    severity = serializers.ChoiceField(SEVERITY_CHOICES, source="rule.severity")
    passed = serializers.SerializerMethodField()
    field = serializers.CharField(source="fault.field", default="")
    says = serializers.CharField(source="fault.says", default="")

    def get_passed(self, result: CheckResult) -> bool:
        """Whether the rule found nothing."""
        return result.fault is None


class ChecksOut(PlainOut):
    """Every rule's answer. Local law governs; no check is legal advice."""

    may_be_published = serializers.BooleanField()
    checks = CheckOut(many=True)


class EditionFilters(django_filters.FilterSet):
    """What editions can be narrowed by."""

    code = django_filters.CharFilter()
    owner_kind = django_filters.ChoiceFilter(choices=OwnerKind.choices)


class EditionViewSet(Versioned, Lists, RegisterViewSet):
    """Editions of the promise. A draft is the office's; published, it never changes."""

    serializer_class = EditionOut
    filterset_class = EditionFilters
    permits = {
        "create": Permit.OFFICE,
        "revise": Permit.OFFICE,
        "publish": Permit.OFFICE,
        "checks": Permit.OFFICE,
    }
    bodies = {"create": EditionIn, "revise": EditionChangeIn}
    answers = {"checks": ChecksOut}
    headers_in = {
        "retrieve": (IF_NONE_MATCH,),
        "revise": (IF_MATCH,),
        "publish": (IF_MATCH,),
    }

    def get_queryset(self) -> QuerySet[Edition]:
        """Return the published editions, and for the office its drafts."""
        return editions_visible_to(self.caller.scope)

    def create(self, request: Request) -> Response:
        """Draft an edition. The checks tell what keeps it from being published."""
        edition = draft_edition(edition=Edition(**self.body(request)))
        headers = {
            "Location": f"{request.path}/{edition.uuid}",
            "ETag": etag_of(edition),
        }
        return self.answer(edition, status=201, headers=headers)

    def revise(self, request: Request, uuid: object) -> Response:
        """Change a draft, from the version that was read."""
        draft = self._read_before(request)
        changed = change_draft(
            edition=draft, version=draft.version, changes=self.body(request)
        )
        return self.answer(changed, headers={"ETag": etag_of(changed)})

    def publish(self, request: Request, uuid: object) -> Response:
        """Publish a draft. Refused with the list of errors that the checks found."""
        draft = self._read_before(request)
        edition = publish_edition(
            edition=draft, version=draft.version, now=self.caller.now
        )
        return self.answer(edition, headers={"ETag": etag_of(edition)})

    def checks(self, request: Request, uuid: object) -> Response:
        """Return what each rule of the law's checklist says, with its citation."""
        results = edition_checks(self.get_object())  # type: ignore[arg-type]  # an Edition
        return self.answer(
            {
                "may_be_published": not any(result.is_error for result in results),
                "checks": results,
            }
        )

    def _read_before(self, request: Request) -> Edition:
        edition: Edition = self.get_object()  # type: ignore[assignment]  # an Edition
        require_match(request, edition)
        return edition
