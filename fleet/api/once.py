"""One effect a POST, however often it is sent: the Idempotency-Key."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from datetime import datetime

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.actions.kept_answers import hold_key, keep_answer, known_answer
from fleet.errors import DomainError
from fleet.models import KeptAnswer

HEADER = "Idempotency-Key"
REPLAYED = "Idempotency-Replayed"
# A quoted string (RFC 9651, 3.3.3) or its bare content; no quote, no backslash in it.
_KEY = re.compile(
    r'"([\x20\x21\x23-\x5b\x5d-\x7e]{1,255})"|([\x21\x23-\x5b\x5d-\x7e]{1,255})'
)
Handler = Callable[..., Response]


class InvalidKey(DomainError):
    """An Idempotency-Key that cannot be one."""

    code = "invalid-idempotency-key"


def key_of(request: Request) -> str:
    """Return the request's key, or an empty text.

    Raises:
        InvalidKey: the header holds none.
    """
    header = request.headers.get(HEADER)
    if header is None:
        return ""
    match = _KEY.fullmatch(header)
    if match is None:
        raise InvalidKey(
            f"{HEADER} is one quoted string of 1 to 255 visible ASCII characters, "
            'for instance "7c1d-0042".'
        )
    return match[1] or match[2]


def once(
    handler: Handler, request: Request, key: str, *, principal: str, now: datetime
) -> Callable[..., HttpResponseBase]:
    """Return the handler so that it acts once under the key, and its answer is kept."""

    def act(*args: object, **kwargs: object) -> HttpResponseBase:
        named = {
            "principal": principal,
            "key": key,
            "fingerprint": _fingerprint(request),
        }
        kept = known_answer(**named)
        if kept is not None:
            return _again(kept)
        with transaction.atomic():
            hold_key(principal=principal, key=key)
            kept = known_answer(**named)
            if kept is not None:
                return _again(kept)
            response = handler(*args, **kwargs)
            if response.status_code < 300:
                _keep(request, response, named, now)
        return response

    return act


def _keep(
    request: Request, response: Response, named: dict[str, str], now: datetime
) -> None:
    renderer = request.accepted_renderer
    body = b"" if response.data is None else renderer.render(response.data)
    headers = {
        name: value
        for name, value in response.headers.items()
        if name.lower() != "content-type"
    }
    keep_answer(
        **named, status=response.status_code, headers=headers, body=body, now=now
    )


def _again(kept: KeptAnswer) -> HttpResponse:
    response = HttpResponse(
        bytes(kept.body or b""),
        status=kept.status,
        content_type="application/json",
        headers={**kept.headers, REPLAYED: "?1"},
    )
    if kept.body == b"":
        del response.headers["Content-Type"]
    return response


def _fingerprint(request: Request) -> str:
    """Return a hash of what was asked: method, address and body."""
    asked = f"{request.method} {request.get_full_path()}\n"
    digest = hashlib.sha256(asked.encode("utf-8", "surrogatepass"))
    content_type = request.content_type or ""
    if not content_type.startswith("multipart/"):
        digest.update(request._request.body)
        return digest.hexdigest()
    # The boundary differs each time: what counts is what the form says.
    for name, values in sorted(request.data.lists()):
        for value in values:
            digest.update(f"\n{name}=".encode())
            if isinstance(value, UploadedFile):
                for chunk in value.chunks():
                    digest.update(chunk)
                value.seek(0)
            else:
                digest.update(str(value).encode("utf-8", "surrogatepass"))
    return digest.hexdigest()
