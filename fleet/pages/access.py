"""Who may open the pages of this room, and where a page is asked from."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from django.conf import settings
from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from fleet.client_address import client_address
from fleet.errors import DomainError
from fleet.models import Role

View = Callable[..., HttpResponse]
EVERYBODY = (Role.OFFICE, Role.TECHNICIAN, Role.FLEET_MANAGER)
OFFICE_AND_MANAGERS = (Role.OFFICE, Role.FLEET_MANAGER)


def page_for(roles: tuple[Role, ...]) -> Callable[[View], View]:
    """Ask for a sign-in of one of these roles; show refusals; stay out of caches."""

    def decorated(view: View) -> View:
        @wraps(view)
        def guarded(
            request: HttpRequest, *args: object, **kwargs: object
        ) -> HttpResponse:
            if request.user.role not in roles:
                raise PermissionDenied
            return view(request, *args, **kwargs)

        takes = require_http_methods(["GET", "HEAD", "POST"])
        return login_required(never_cache(takes(refusals_shown(guarded))))

    return decorated


def refusals_shown(view: View) -> View:
    """Show the sentence of a refusal, the same that the API tells."""

    @wraps(view)
    def shown(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        try:
            return view(request, *args, **kwargs)
        except DomainError as refusal:
            return refused(request, refusal)

    return shown


def refused(request: HttpRequest, refusal: DomainError) -> HttpResponse:
    """Return the page of a refusal, with the time to wait where there is one."""
    answer = render(
        request,
        "refused.html",
        {"message": refusal.message},
        status=refusal.http_status,
    )
    if "retry_after" in refusal.detail:
        answer["Retry-After"] = str(refusal.detail["retry_after"])
    return answer


def address_of(request: HttpRequest) -> str:
    """Return the address a request comes from."""
    return client_address(request.META, trusted=settings.TRUSTED_PROXIES)
