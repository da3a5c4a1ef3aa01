"""Ask for the report of a visit, and fetch one."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone

from fleet.selectors.scopes import scope_of
from fleet.store import fetch
from jobs.reports import request_report
from warranty.pages.access import form, page
from warranty.selectors.packet.report import reports_visible_to, visits_reportable


@form
def request(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Ask for the report of a visit and lead to its run."""
    visit = get_object_or_404(visits_reportable(scope_of(request.user)), uuid=uuid)
    run = request_report(visit=visit, by=request.user, now=timezone.now())
    return redirect("run", uuid=run.uuid)


@page
def content(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Send the bytes of a report, checked against the hash they are kept under."""
    documents = reports_visible_to(scope_of(request.user))
    found = get_object_or_404(documents, uuid=uuid)
    return HttpResponse(
        fetch(found.sha256),
        content_type="application/pdf",
        headers={
            "Content-Disposition": f'attachment; filename="report-{found.uuid}.pdf"'
        },
    )
