"""The page that confirms a certificate's number to anybody who holds it."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from fleet.civil import office_day
from warranty.pages.showing import WORTH
from warranty.rules.clause import Standing
from warranty.selectors.certificates import confirmed

# Shared caches may answer for a while: a camera held still asks once, not a hundred
# times, and a standing changes with the day.
KEPT_SECONDS = 300


@require_safe
def certificate(request: HttpRequest, number: str) -> HttpResponse:
    """Confirm a number, its edition and today's standing; no personal data."""
    now = timezone.now()
    found = confirmed(number.upper(), today=office_day(now), now=now)
    worth = WORTH[Standing(found.standing)] if found and found.standing else ""
    response = render(
        request,
        "warranty/certificates/public.html",
        {"found": found, "worth": worth},
        status=200 if found else 404,
    )
    response.headers["Cache-Control"] = f"public, max-age={KEPT_SECONDS}"
    response.headers["X-Robots-Tag"] = "noindex"
    response.headers["Referrer-Policy"] = "no-referrer"
    return response
