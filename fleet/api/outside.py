"""Problems for what goes wrong under /api/ before or after the API's own views."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views import csrf, defaults
from django.views.decorators.csrf import csrf_exempt

from fleet.api.errors import NOT_FOUND, PROBLEM_TYPE, problem

API_PREFIX = "/api/"


def is_api(request: HttpRequest) -> bool:
    """Return whether a program asked, not a page."""
    return request.path.startswith(API_PREFIX)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer an unknown address."""
    if is_api(request):
        return _answer(request, "not-found", 404, NOT_FOUND)
    return defaults.page_not_found(request, exception)


def server_error(request: HttpRequest) -> HttpResponse:
    """Answer a failure of the register; Django has logged it with its traceback."""
    if is_api(request):
        detail = "The register failed. Try again; if it stays, tell the office."
        return _answer(request, "server-error", 500, detail)
    return defaults.server_error(request)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer a request that Django itself refuses."""
    if is_api(request):
        detail = "The request cannot be read. Check its size and its headers."
        return _answer(request, "malformed", 400, detail)
    return defaults.bad_request(request, exception)


def permission_denied(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer a refusal."""
    if is_api(request):
        return _answer(request, "not-allowed", 403, "You may not do this.")
    return defaults.permission_denied(request, exception)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form or program without a valid token."""
    if is_api(request):
        detail = "Send the X-CSRFToken header with the cookie's value."
        return _answer(request, "csrf-failed", 403, detail)
    return csrf.csrf_failure(request, reason)


def no_factor_yet(request: HttpRequest) -> HttpResponse:
    """Answer the office's session that was begun without the second factor it needs."""
    detail = "Set up your second factor on its page, then sign in with it."
    return _answer(request, "second-factor-needed", 403, detail)


def _answer(request: HttpRequest, code: str, status: int, detail: str) -> HttpResponse:
    body = problem(code=code, status=status, detail=detail, instance=request.path)
    return JsonResponse(body, status=status, content_type=PROBLEM_TYPE)


@csrf_exempt
def no_such_address(request: HttpRequest) -> HttpResponse:
    """Answer every address under /api/ that is none."""
    return _answer(request, "not-found", 404, NOT_FOUND)
