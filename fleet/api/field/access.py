"""Who sends: a paired phone, known by its cookie and header, never by a session."""

from __future__ import annotations

import base64
import binascii
import json
import re
from collections.abc import Callable, Mapping
from functools import wraps
from typing import Concatenate, ParamSpec

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt

from fleet.actions.devices import device_of
from fleet.api.errors import PROBLEM_TYPE, problem
from fleet.errors import DomainError
from fleet.models import FieldDevice
from fleet.selectors.scopes import scope_of
from fleet.store.errors import TooLarge
from fleet.wall import see_only

COOKIE = "field_device"
COOKIE_PATH = "/api/field/"
COOKIE_AGE_S = 400 * 24 * 3600
# What a refusal tells a phone beside its sentence.
TOLD = frozenset({"op", "photo", "sha256", "stands_sha256", "verdict", "field"})
SHA256_DIGEST = re.compile(r"(?:^|,)\s*sha-256=:([A-Za-z0-9+/=]{44}):\s*(?:,|$)")

Rest = ParamSpec("Rest")
View = Callable[Concatenate[HttpRequest, Rest], HttpResponse]
DeviceView = Callable[Concatenate[HttpRequest, FieldDevice, Rest], HttpResponse]


class HeaderMissing(DomainError):
    """The request lacks the header that stands in for a form's token."""

    code = "field-header-missing"
    http_status = 403


class BodyCut(DomainError):
    """Fewer bytes came than were announced."""

    code = "body-cut"


class DigestHeader(DomainError):
    """The digest of the body is missing or cannot be read."""

    code = "digest-missing"


def open_to_phones(
    method: str,
) -> Callable[[View[Rest]], Callable[Concatenate[HttpRequest, Rest], HttpResponse]]:
    """Take one method with the phone's header; refuse in problem details.

    Cookies of other sites' making cannot add the header, so no form token is needed.
    """

    def decorated(view: View[Rest]) -> View[Rest]:
        @csrf_exempt
        @wraps(view)
        def guarded(
            request: HttpRequest, *args: Rest.args, **kwargs: Rest.kwargs
        ) -> HttpResponse:
            if request.method != method:
                return _refused(request, "method-not-allowed", 405, f"Use {method}.")
            try:
                if request.headers.get("X-Field") != "1":
                    raise HeaderMissing("Send the header X-Field: 1.")
                answer = view(request, *args, **kwargs)
            except DomainError as refusal:
                answer = problem_of(request, refusal)
            answer.headers.setdefault("Cache-Control", "no-store")
            return answer

        return guarded

    return decorated


def for_a_device(view: DeviceView[Rest]) -> View[Rest]:
    """Hand the view the phone that sends.

    Raises:
        DeviceUnknown: no phone has the cookie's token.
        DeviceRevoked: it may not send any more.
    """

    @wraps(view)
    def known(
        request: HttpRequest, *args: Rest.args, **kwargs: Rest.kwargs
    ) -> HttpResponse:
        token = request.COOKIES.get(COOKIE, "")
        device = device_of(token=token, now=timezone.now())
        see_only(scope_of(device.user))
        return view(request, device, *args, **kwargs)

    return known


def give_cookie(answer: HttpResponse, token: str) -> None:
    """Give the phone its token where no script reads it."""
    answer.set_cookie(
        COOKIE,
        token,
        max_age=COOKIE_AGE_S,
        path=COOKIE_PATH,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Strict",
    )


def body_of(request: HttpRequest, *, most: int) -> bytes:
    """Return the whole body.

    Raises:
        TooLarge: more bytes than are taken here.
        BodyCut: fewer bytes came than were announced, or other ones.
    """
    announced = request.META.get("CONTENT_LENGTH") or "0"
    if int(announced) > most:
        raise TooLarge(f"At most {most} bytes are taken here. Send less at once.")
    body = request.body
    if len(body) != int(announced):
        raise BodyCut("The body was cut on its way. Send it again.")
    return body


def digest_of(request: HttpRequest) -> str:
    """Return the SHA-256 that Content-Digest tells (RFC 9530), in hexadecimal.

    Raises:
        DigestHeader: there is none, or it is no such digest.
    """
    found = SHA256_DIGEST.search(request.headers.get("Content-Digest", ""))
    try:
        digest = base64.b64decode(found[1], validate=True) if found else b""
    except binascii.Error:
        digest = b""
    if len(digest) != 32:
        raise DigestHeader("Send Content-Digest: sha-256=:...: with the bytes.")
    return digest.hex()


def members_of(body: bytes) -> Mapping[str, object]:
    """Return the JSON object of a small body, or none of its members."""
    try:
        value = json.loads(body)
    except (ValueError, RecursionError):
        return {}
    return value if isinstance(value, dict) else {}


def problem_body(request: HttpRequest, refusal: DomainError) -> dict[str, object]:
    """Return the members of a refusal, with what it tells beside its sentence."""
    told = problem(
        code=refusal.code,
        status=refusal.http_status,
        detail=refusal.message,
        instance=request.path,
    )
    return told | {k: v for k, v in refusal.detail.items() if k in TOLD}


def problem_of(request: HttpRequest, refusal: DomainError) -> HttpResponse:
    """Return a refusal as problem details."""
    answer = JsonResponse(
        problem_body(request, refusal),
        status=refusal.http_status,
        content_type=PROBLEM_TYPE,
    )
    if "retry_after" in refusal.detail:
        answer["Retry-After"] = str(refusal.detail["retry_after"])
    return answer


def _refused(request: HttpRequest, code: str, status: int, detail: str) -> HttpResponse:
    body = problem(code=code, status=status, detail=detail, instance=request.path)
    return JsonResponse(body, status=status, content_type=PROBLEM_TYPE)
