"""What the links in a message open, without a sign-in."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_safe

from fleet.selectors.scopes import owner_by_uuid
from jobs.notices import links
from jobs.notices.selectors import message_by_uuid
from jobs.notices.stopping import turn_reminders


@require_safe
@never_cache
def show(request: HttpRequest, token: str) -> HttpResponse:
    """Show a message to who holds its link: what it said, and nothing else."""
    uuid = links.shown(token)
    found = message_by_uuid(uuid) if uuid else None
    is_known = found is not None and bool(found.text)
    context = {"text": _before_links(found.text) if found and is_known else ""}
    return _private(
        render(
            request,
            "jobs/notices/link.html",
            context,
            status=200 if is_known else 404,
        )
    )


# Mail programs press this button for people (RFC 8058): no cookie, no form of ours.
# Whoever holds the signed link got the mail; it can do nothing but stop reminders.
@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
def stop(request: HttpRequest, token: str) -> HttpResponse:
    """Stop an owner's reminders: asked by GET, done by POST."""
    uuid = links.stopped(token)
    owner = owner_by_uuid(uuid) if uuid else None
    if owner is not None and request.method == "POST":
        turn_reminders(owner, off=True, now=timezone.now())
    context = {"is_known": owner is not None, "is_done": request.method == "POST"}
    return _private(
        render(
            request,
            "jobs/notices/stop.html",
            context,
            status=200 if owner is not None else 404,
        )
    )


def _before_links(text: str) -> str:
    """Return a message's text without its lines of links."""
    blocks = [block for block in text.split("\n\n") if "://" not in block]
    return "\n\n".join(blocks)


def _private(response: HttpResponse) -> HttpResponse:
    response.headers["X-Robots-Tag"] = "noindex"
    response.headers["Referrer-Policy"] = "no-referrer"
    return response
