"""The link that the office hands out, and the page that it opens for the owner."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from fleet.actions.attempts import TooManyTries, count_attempt
from fleet.civil import office_day
from fleet.errors import DomainError
from warranty.actions.registration_links import make_link, register_by_link
from warranty.pages.access import form, office_of
from warranty.pages.promises import roof_of
from warranty.selectors.registration_links import link_of, link_page

DOOR = "owner-registration"


@form
def link(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Make a link for the owner and show it, this once."""
    office_of(request)
    roof = roof_of(request, uuid)
    made = make_link(roof=roof, by=request.user, now=timezone.now())  # type: ignore[arg-type]  # signed in
    address = request.build_absolute_uri(reverse(DOOR, args=[made.code]))
    context = {"roof": roof, "address": address, "link": made.link}
    return render(request, "warranty/promise/link.html", context)


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def owner(request: HttpRequest, code: str) -> HttpResponse:
    """Let whoever holds the link register; it names the promise and nobody."""
    now = timezone.now()
    today = office_day(now)
    found = link_of(code, now=now)
    shown = link_page(found, today=today) if found else None
    context: dict[str, object] = {"page": shown, "today": today}
    status = 200 if shown else 404
    if request.method == "POST":
        status = _registered(request, code, context)
    response = render(request, "warranty/promise/owner.html", context, status=status)
    response.headers["X-Robots-Tag"] = "noindex"
    # The address is the key: it goes to no other site. Sent nowhere at all, a browser
    # would hide from the form's check where it came from.
    response.headers["Referrer-Policy"] = "same-origin"
    if status == TooManyTries.http_status:
        response.headers["Retry-After"] = "600"
    return response


def _registered(request: HttpRequest, code: str, context: dict[str, object]) -> int:
    now = timezone.now()
    try:
        count_attempt(door=DOOR, address=request.META.get("REMOTE_ADDR", ""), now=now)
        kept = register_by_link(code=code, now=now)
    except DomainError as error:
        context["said"] = error.message
        return error.http_status
    context["registered_on"] = kept.registered_on
    return 200
