"""Ask for a certificate, and fetch one."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone

from fleet.errors import NotAllowed
from fleet.selectors.scopes import roofs_visible_to, scope_of
from fleet.store import fetch
from jobs.certificates import request_certificate
from warranty.pages.access import form, page
from warranty.selectors.certificates import certificates_visible_to


@form
def request(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Ask for the certificate of a roof and lead to its run."""
    scope = scope_of(request.user)
    roof = get_object_or_404(roofs_visible_to(scope), uuid=uuid)
    if not scope.may_run_office:
        raise NotAllowed("Only the service office issues certificates. Ask the office.")
    run = request_certificate(roof=roof, by=request.user, now=timezone.now())
    return redirect("run", uuid=run.uuid)


@page
def content(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Send the bytes of a certificate, checked against the hash they are kept under."""
    documents = certificates_visible_to(scope_of(request.user))
    found = get_object_or_404(documents, uuid=uuid)
    name = f"certificate-{found.certificate.number}.pdf"
    return HttpResponse(
        fetch(found.sha256),
        content_type="application/pdf",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
