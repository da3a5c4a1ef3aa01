"""Sign in with name and password, then with a code where there is a second factor."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth import login, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render, resolve_url
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from fleet.actions.access_log import note_access
from fleet.actions.second_factor import CodeRefused, check_code, has_factor
from fleet.actions.sessions import forget_old_sessions
from fleet.actions.sign_in import SignInRefused, TooManyTries, check_password
from fleet.errors import DomainError
from fleet.models import AccessKind, User
from fleet.pages.access import address_of
from fleet.pages.session_store import ADDRESS, BEGAN, FACTOR, PROGRAM
from fleet.selectors.access import person_by_id

PENDING = "pending_sign_in"
PENDING_FOR = timedelta(minutes=10)
BACKEND = "django.contrib.auth.backends.ModelBackend"


@sensitive_post_parameters("password")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Show the form, and take it when it is sent."""
    if request.user.is_authenticated:
        return redirect(_next(request))
    if request.method != "POST":
        return _form(request, "")
    name, password = request.POST.get("username", ""), request.POST.get("password", "")
    now = timezone.now()
    try:
        user = check_password(
            name=name, password=password, address=address_of(request), now=now
        )
    except (SignInRefused, TooManyTries) as refusal:
        return _form(request, name, refusal)
    if not has_factor(user):
        return _signed_in(request, user, _next(request), now, by_factor=False)
    request.session.flush()
    request.session[PENDING] = [user.pk, now.isoformat(), _next(request)]
    return redirect("sign-in-code")


@sensitive_post_parameters("code")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in_code(request: HttpRequest) -> HttpResponse:
    """Ask for the code of the second factor, once the password was right."""
    now = timezone.now()
    user, to = _pending(request, now)
    if user is None:
        return redirect("sign-in")
    if request.method != "POST":
        return render(request, "fleet/sign_in_code.html")
    code = request.POST.get("code", "")
    try:
        check_code(user=user, code=code, address=address_of(request), now=now)
    except (CodeRefused, TooManyTries) as refusal:
        answer = render(request, "fleet/sign_in_code.html", {"fault": refusal.message})
        return _told_to_wait(answer, refusal)
    return _signed_in(request, user, to, now, by_factor=True)


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """End this session."""
    if request.user.is_authenticated:
        note_access(
            AccessKind.SIGNED_OUT,
            now=timezone.now(),
            by=request.user,
            address=address_of(request),
        )
    logout(request)
    return redirect(settings.LOGOUT_REDIRECT_URL)


def _signed_in(
    request: HttpRequest, user: User, to: str, now: datetime, *, by_factor: bool
) -> HttpResponse:
    login(request, user, backend=BACKEND)
    request.session.pop(PENDING, None)
    request.session[BEGAN] = now.isoformat()
    request.session[ADDRESS] = address_of(request)
    request.session[PROGRAM] = request.headers.get("User-Agent", "")[:200]
    request.session[FACTOR] = by_factor
    forget_old_sessions(user=user, now=now)
    note_access(
        AccessKind.SIGNED_IN,
        now=now,
        by=user,
        address=address_of(request),
        detail="with a second factor" if by_factor else "",
    )
    return redirect(to)


def _pending(request: HttpRequest, now: datetime) -> tuple[User | None, str]:
    """Return who gave the right password in this browser, minutes ago at most."""
    kept = request.session.get(PENDING)
    if not kept:
        return None, ""
    pk, since, to = kept
    if now - datetime.fromisoformat(since) > PENDING_FOR:
        return None, ""
    return person_by_id(pk), to


def _next(request: HttpRequest) -> str:
    """Return where to go: what was asked for, never another site."""
    asked = request.POST.get("next") or request.GET.get("next", "")
    is_ours = url_has_allowed_host_and_scheme(
        asked, {request.get_host()}, require_https=request.is_secure()
    )
    return asked if is_ours else resolve_url(settings.LOGIN_REDIRECT_URL)


def _form(
    request: HttpRequest, name: str, refusal: DomainError | None = None
) -> HttpResponse:
    asked = request.POST.get("next") or request.GET.get("next", "")
    fault = refusal.message if refusal else ""
    context = {"name": name, "next": asked, "fault": fault}
    return _told_to_wait(render(request, "fleet/sign_in.html", context), refusal)


def _told_to_wait(answer: HttpResponse, refusal: DomainError | None) -> HttpResponse:
    if isinstance(refusal, TooManyTries):
        answer.status_code = refusal.http_status
        answer["Retry-After"] = str(refusal.detail["retry_after"])
    return answer
