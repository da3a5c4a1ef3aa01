"""Phones: pair one, see when it was last here, revoke it."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from fleet.actions.devices import CODE_LIFE, make_code, revoke_device
from fleet.errors import DomainError
from fleet.pages.field_review.access import OFFICE_AND_TECHNICIANS, only_for
from fleet.selectors.field_review import devices_for, people_to_pair


@only_for(OFFICE_AND_TECHNICIANS)
def devices(request: HttpRequest) -> HttpResponse:
    """Show the phones; on request, a new code, once."""
    people = people_to_pair(request.user)
    context: dict[str, object] = {"people": people}
    if request.method == "POST":
        person = get_object_or_404(people, uuid=_uuid(request.POST.get("person")))
        code = make_code(user=person, by=request.user, now=timezone.now())
        minutes = int(CODE_LIFE.total_seconds() // 60)
        context |= {"code": code, "person": person, "minutes": minutes}
    context["devices"] = devices_for(request.user)
    return render(request, "field_review/devices.html", context)


@only_for(OFFICE_AND_TECHNICIANS)
def revoke(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Refuse a phone from now on."""
    device = get_object_or_404(devices_for(request.user), uuid=uuid)
    if request.method == "POST":
        try:
            revoke_device(device=device, by=request.user, now=timezone.now())
        except DomainError as refusal:
            messages.error(request, refusal.message)
        else:
            messages.success(request, f"{device} may not send any more.")
    return redirect("field-devices")


def _uuid(text: str | None) -> UUID | None:
    try:
        return UUID(text or "")
    except ValueError:
        return None
