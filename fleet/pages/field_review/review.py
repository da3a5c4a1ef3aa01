"""What phones sent that needs the office's word."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from fleet.actions.field_settle import apply_as_is, dismiss
from fleet.actions.met_coaches import match_met_coach
from fleet.errors import DomainError
from fleet.pages.field_review.access import OFFICE, only_for
from fleet.selectors.field_review import (
    every_operation,
    met_coaches,
    newest_roof_of,
    open_operations,
    reviews,
    waiting_operations,
)


@only_for(OFFICE)
def review(request: HttpRequest) -> HttpResponse:
    """Show flagged, kept and conflicting operations, and those that wait."""
    context = {
        "open": reviews(open_operations()),
        "open_count": open_operations().count(),
        "waiting": reviews(waiting_operations()),
        "met": met_coaches(),
    }
    return render(request, "field_review/review.html", context)


@only_for(OFFICE)
def settle(request: HttpRequest, pk: int) -> HttpResponse:
    """Record one operation as it is, or dismiss it with a reason."""
    operation = get_object_or_404(every_operation(), pk=pk)
    act = apply_as_is if request.POST.get("how") == "apply" else dismiss
    try:
        act(
            operation=operation,
            why=request.POST.get("why", ""),
            by=request.user,
            now=timezone.now(),
        )
    except DomainError as refusal:
        messages.error(request, refusal.message)
    else:
        messages.success(request, "Settled.")
    return redirect("field-review")


@only_for(OFFICE)
def match(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Say which coach a phone met."""
    unit_no = request.POST.get("unit_no", "").strip()
    roof = newest_roof_of(unit_no)
    if roof is None:
        messages.error(
            request,
            f"No coach with a roof has the number {unit_no}. Add the coach and its "
            "roof, then match.",
        )
        return redirect("field-review")
    try:
        count = match_met_coach(
            told_roof=uuid, roof=roof, by=request.user, now=timezone.now()
        )
    except DomainError as refusal:
        messages.error(request, refusal.message)
    else:
        messages.success(request, f"Coach {unit_no}: {count} records were looked at.")
    return redirect("field-review")
