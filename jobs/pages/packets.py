"""Ask for a claim packet, and fetch one."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone

from fleet.selectors.scopes import scope_of
from fleet.store import fetch
from jobs.packets import request_packet
from warranty.pages.access import form, page
from warranty.selectors.claims import claims_visible_to
from warranty.selectors.documents import documents_visible_to


@form
def request(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Ask for the packet of a claim and lead to its run."""
    claim = get_object_or_404(claims_visible_to(scope_of(request.user)), uuid=uuid)
    run = request_packet(claim=claim, by=request.user, now=timezone.now())
    return redirect("run", uuid=run.uuid)


@page
def content(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Send the bytes of a packet, checked against the hash they are kept under."""
    documents = documents_visible_to(scope_of(request.user))
    packet = get_object_or_404(documents, uuid=uuid)
    name = f"claim-packet-{packet.claim.ref}-{packet.uuid.hex[:8]}.pdf"
    return HttpResponse(
        fetch(packet.sha256),
        content_type="application/pdf",
        headers={"Content-Disposition": f'attachment; filename="{_ascii(name)}"'},
    )


def _ascii(name: str) -> str:
    """Return a file name that needs no quoting in a header."""
    return "".join(
        c if c.isascii() and (c.isalnum() or c in "-._") else "-" for c in name
    )
