"""What phones sent that needs the office's word."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from fleet.actions.field_settle import apply_as_is, dismiss
from fleet.errors import DomainError
from fleet.pages.field_review.access import OFFICE, only_for
from fleet.selectors.field_review import (
    every_operation,
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
