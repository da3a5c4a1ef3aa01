"""Other shops' inspections that the office lets count, and what was paid."""

from __future__ import annotations

import django_filters
from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import named
from fleet.api.caller import Permit
from fleet.api.facts import (
    ROOF_FACT_FIELDS,
    FactFilters,
    FactOut,
    FactViewSet,
    ToldText,
)
from fleet.api.shape import DayField, In, word
from fleet.models import RoofFact, Visit
from fleet.selectors.lists import facts_visible_to
from warranty.actions.approvals import approve_visit, withdraw_approval
from warranty.actions.receipts import MOST_CENTS, note_receipt
from warranty.models import Receipt, VisitApproval

WHY_LENGTH = 2000


class VisitApprovalIn(In):
    """Which other shop's inspection counts, and why."""

    uuid = serializers.UUIDField(required=False)
    visit = serializers.UUIDField()
    why = word(WHY_LENGTH, required=True)


class WithdrawApprovalIn(In):
    """Why an approval is withdrawn."""

    why = word(WHY_LENGTH, required=True)


class VisitApprovalOut(FactOut):
    """The office lets another shop's inspection count; struck, it counts no more."""

    visit = serializers.UUIDField(source="visit.uuid")
    why = ToldText()

    class Meta:
        model = VisitApproval
        fields = (*ROOF_FACT_FIELDS, "visit", "why")


class VisitApprovalFilters(FactFilters):
    """What approvals can be narrowed by."""

    visit = django_filters.UUIDFilter(field_name="visit__uuid")


class VisitApprovalViewSet(FactViewSet):
    """Approvals of inspections by other shops, for editions that do not accept such."""

    table = VisitApproval
    entry_kind = "visit-approval"
    serializer_class = VisitApprovalOut
    filterset_class = VisitApprovalFilters
    permits = {"create": Permit.OFFICE, "withdraw": Permit.OFFICE}
    bodies = {"create": VisitApprovalIn, "withdraw": WithdrawApprovalIn}
    answers = {"withdraw": {"201": VisitApprovalOut}}

    def create(self, request: Request) -> Response:
        """Let another shop's passing inspection count."""
        body, now = self.body(request), self.caller.now
        visits = facts_visible_to(Visit, self.caller.scope)
        body["visit"] = named(visits, body["visit"], "visit")
        kept = approve_visit(**body, by=self.caller.user, now=now)  # type: ignore[arg-type]  # shape checked
        return self.recorded(kept, is_new=kept.recorded_at == now)

    def withdraw(self, request: Request, uuid: object) -> Response:
        """Withdraw an approval: the visit counts no more."""
        approval: VisitApproval = self.get_object()  # type: ignore[assignment]  # an approval
        kept = withdraw_approval(
            approval=approval,
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
            **self.body(request),  # type: ignore[arg-type]  # shape checked
        )
        return self.answer(kept, status=201)

    def answer(
        self, row: object, *, status: int = 200, headers: dict[str, str] | None = None
    ) -> Response:
        """Return one approval as it is told to the caller."""
        context = self.get_serializer_context() | self.told([row])  # type: ignore[list-item]  # a Record
        data = VisitApprovalOut(row, context=context).data
        return Response(data, status, headers=headers)


class ReceiptIn(In):
    """An invoice, or what was paid for an inspection."""

    uuid = serializers.UUIDField(required=False)
    supersedes = serializers.UUIDField(required=False)
    roof = serializers.UUIDField()
    visit = serializers.UUIDField(
        required=False, help_text="Whose fee it is; none: the installation's invoice."
    )
    happened_on = DayField()
    invoice_no = word(40)
    paid_cents = serializers.IntegerField(
        min_value=0, max_value=MOST_CENTS, required=False, help_text="Whole cents."
    )


class ReceiptOut(FactOut):
    """An invoice noted on a coverage, or the fee paid noted on a visit."""

    visit = serializers.UUIDField(source="visit.uuid", default=None, allow_null=True)

    class Meta:
        model = Receipt
        fields = (
            *ROOF_FACT_FIELDS,
            "visit",
            "happened_on",
            "invoice_no",
            "paid_cents",
            "currency",
        )


class ReceiptFilters(FactFilters):
    """What receipts can be narrowed by."""

    visit = django_filters.UUIDFilter(field_name="visit__uuid")


class ReceiptViewSet(FactViewSet):
    """Receipts: invoices of roofs and fees of inspections. The office's own."""

    table = Receipt
    entry_kind = "receipt"
    serializer_class = ReceiptOut
    filterset_class = ReceiptFilters
    permits = {
        "list": Permit.STAFF,
        "retrieve": Permit.STAFF,
        "create": Permit.OFFICE,
    }
    bodies = {"create": ReceiptIn}

    def get_queryset(self) -> QuerySet[RoofFact]:
        """Return all receipts: only staff come here, a later holder does not."""
        return facts_visible_to(Receipt, self.caller.scope)

    def create(self, request: Request) -> Response:
        """Note an invoice, or a fee paid."""
        body, now = self.body(request), self.caller.now
        roof = self.roof(body.pop("roof"))
        if "visit" in body:
            visits = facts_visible_to(Visit, self.caller.scope).filter(roof=roof)
            body["visit"] = named(visits, body["visit"], "visit")
        kept = note_receipt(roof=roof, by=self.caller.user, now=now, **body)  # type: ignore[arg-type]  # shape checked
        return self.recorded(kept, is_new=kept.recorded_at == now)
