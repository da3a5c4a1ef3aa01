"""Old photos that no visit could be found for: say which, or leave them out."""

from __future__ import annotations

from uuid import UUID

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from fleet import store
from fleet.actions.tray import assign_from_tray, leave_out_of_tray
from fleet.errors import DomainError
from fleet.exhibits.limits import THUMBNAIL_EDGE_PX
from fleet.models import TrayState
from fleet.pages.field_review.access import OFFICE, only_for
from fleet.selectors.exhibits import files_of, tray_photos
from fleet.selectors.field_review import visit_called

PAGE_PHOTOS = 24


class AssignForm(forms.Form):
    """The visit that a photo belongs to."""

    ref = forms.CharField(max_length=40)

    def clean_ref(self) -> str:
        """Keep the visit of this reference."""
        ref: str = self.cleaned_data["ref"].strip()
        self.visit = visit_called(ref)
        if self.visit is None:
            raise forms.ValidationError(f"No visit has the reference {ref}.")
        return ref


@only_for(OFFICE)
def tray(request: HttpRequest) -> HttpResponse:
    """Show the photos that wait, the oldest first."""
    waiting = tray_photos().filter(state=TrayState.WAITING).order_by("pk")
    page = Paginator(waiting, PAGE_PHOTOS).get_page(request.GET.get("page"))
    return render(request, "field_review/tray.html", {"page": page})


@only_for(OFFICE)
def settle(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Give one photo to a visit, or leave it out."""
    photo = get_object_or_404(tray_photos(), uuid=uuid)
    by, now = request.user, timezone.now()
    form = AssignForm(request.POST)
    try:
        if request.POST.get("how") == "leave-out":
            leave_out_of_tray(photo=photo, by=by, now=now)
            messages.success(request, f"{photo.file_name} is left out.")
        elif form.is_valid():
            assign_from_tray(photo=photo, visit=form.visit, by=by, now=now)
            messages.success(request, f"{photo.file_name} belongs to {form.visit}.")
        else:
            [fault] = form.errors["ref"]
            messages.error(request, f"{photo.file_name}: {fault}")
    except DomainError as refusal:
        messages.error(request, refusal.message)
    return redirect("photo-tray")


@only_for(OFFICE)
def picture(request: HttpRequest, uuid: UUID) -> HttpResponse | FileResponse:
    """Return the small upright copy of a photo that waits."""
    photo = get_object_or_404(tray_photos(), uuid=uuid)
    file = files_of([photo.file.sha256])[photo.file.sha256]
    for copy in file.derivatives.all():
        if copy.edge_px == THUMBNAIL_EDGE_PX:
            return FileResponse(store.opened(copy.sha256), content_type="image/jpeg")
    raise Http404("There is no small copy of this photo yet.")
