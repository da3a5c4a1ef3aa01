"""Headers that every answer carries, and how far each request sees."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from fleet.api.outside import is_api, no_factor_yet
from fleet.models import Role
from fleet.pages.session_store import FACTOR
from fleet.selectors.scopes import scope_of
from fleet.wall import at_the_door, see_only

# What the office may open before it has a second factor.
BEFORE_FACTOR = frozenset({"second-factor", "sign-in", "sign-in-code", "sign-out"})
Answering = Callable[[HttpRequest], HttpResponse]


class SecurityHeaders:
    """Add the content security policy unless a view has set its own."""

    def __init__(self, get_response: Answering) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault(
            "Content-Security-Policy", settings.CONTENT_SECURITY_POLICY
        )
        return response


class AtTheDoor:
    """Begin each request without sight of any record, and end it so."""

    def __init__(self, get_response: Answering) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with at_the_door():
            return self.get_response(request)


class WithinScope:
    """Let a request see what belongs to the person who signed in.

    Programs and phones show who they are later: their views narrow the sight.
    """

    def __init__(self, get_response: Answering) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., object], *_: object
    ) -> HttpResponse | None:
        """Narrow the sight, unless the view answers everybody alike."""
        has_session = settings.SESSION_COOKIE_NAME in request.COOKIES
        if not has_session or getattr(view, "asks_nobody", False):
            return None
        if not request.user.is_authenticated:
            return None
        request.user.known_scope = scope_of(request.user)
        see_only(request.user.known_scope)
        if request.session.is_stale(timezone.now()):
            request.session.modified = True  # so that its last use is written
        return self._second_factor_first(request)

    def _second_factor_first(self, request: HttpRequest) -> HttpResponse | None:
        """Lead the office to its second factor, where the settings ask for one."""
        is_asked = settings.REQUIRE_SECOND_FACTOR and request.user.role == Role.OFFICE
        name = request.resolver_match.url_name if request.resolver_match else ""
        if not is_asked or request.session.get(FACTOR) or name in BEFORE_FACTOR:
            return None
        if is_api(request):
            return no_factor_yet(request)
        return redirect("second-factor")
