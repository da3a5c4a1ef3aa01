"""Problem details (RFC 9457) for everything the API refuses."""

from __future__ import annotations

import logging
from collections.abc import Iterable, Iterator, Mapping

from django.core.exceptions import RequestDataTooBig
from django.db import IntegrityError, OperationalError
from django.http import Http404
from django.utils.encoding import escape_uri_path
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import exception_handler

from fleet.errors import DomainError, RecordConflict

logger = logging.getLogger(__name__)

PROBLEM_TYPE = "application/problem+json"

# What DRF calls an error, in our words.
CODES = {
    "authentication_failed": "not-authenticated",
    "error": "server-error",
    "invalid": "validation-error",
    "method_not_allowed": "method-not-allowed",
    "not_acceptable": "not-acceptable",
    "not_authenticated": "not-authenticated",
    "not_found": "not-found",
    "parse_error": "malformed",
    "permission_denied": "not-allowed",
    "throttled": "too-many-requests",
    "unsupported_media_type": "unsupported-media-type",
}
TITLES = {
    "answer-erased": "It was done, and its answer is kept no more",
    "busy": "The register is busy",
    "csrf-failed": "The form token is missing or old",
    "idempotency-key-reused": "The key came before with another request",
    "invalid-cursor": "This page cursor is not valid",
    "invalid-idempotency-key": "The Idempotency-Key cannot be one",
    "invalid-parameter": "A query parameter is not valid",
    "invalid-value": "A value cannot be recorded",
    "malformed": "The request cannot be read",
    "not-allowed": "You may not do this",
    "not-authenticated": "Sign in first",
    "not-found": "No such record",
    "precondition-failed": "The record has changed since you read it",
    "precondition-required": "Say which version you change",
    "record-conflict": "This id was used before for something else",
    "request-in-progress": "The same request is being worked on",
    "server-error": "The register failed",
    "too-large": "The body is too large",
    "too-many-requests": "Too many requests",
    "unknown-parameter": "An unknown query parameter",
    "validation-error": "The request body is not valid",
}
NOT_FOUND = "No such record. Check the address and the id."


# Seconds after which a refused request is worth sending again.
RETRY_AFTER = {"request-in-progress": "1", "busy": "1"}


class Busy(DomainError):
    """The database lets this request in later."""

    code = "busy"
    http_status = 503


class BodyTooLarge(DomainError):
    """A body of more bytes than any record has."""

    code = "too-large"
    http_status = 413


class InvalidCursor(DomainError):
    """A page cursor that this collection did not give out."""

    code = "invalid-cursor"


class UnknownParameter(DomainError):
    """A query parameter that this address does not have."""

    code = "unknown-parameter"


class InvalidParameters(DomainError):
    """Query parameters whose values cannot be used; ``errors`` names each."""

    code = "invalid-parameter"


class PreconditionRequired(DomainError):
    """A change of a shared record without the version it starts from (RFC 6585)."""

    code = "precondition-required"
    http_status = 428


class PreconditionFailed(DomainError):
    """A change that starts from an older version (RFC 9110, 13.1.1)."""

    code = "precondition-failed"
    http_status = 412


def problem(
    *,
    code: str,
    status: int,
    detail: str,
    instance: str,
    errors: Iterable[Mapping[str, str]] = (),
) -> dict[str, object]:
    """Return the members of one problem."""
    title = TITLES.get(code, code.replace("-", " ").capitalize())
    body: dict[str, object] = {
        "type": f"/problems/{code}",
        "title": title,
        "status": status,
        "detail": detail,
        "instance": escape_uri_path(instance),
        "code": code,
    }
    listed = [dict(error) for error in errors]
    return body | {"errors": listed} if listed else body


def problem_response(exc: Exception, context: Mapping[str, object]) -> Response | None:
    """Answer an exception as a problem; None leaves it to the server's own handler."""
    request = context["request"]
    path: str = request.path  # type: ignore[attr-defined]  # DRF's own request
    if isinstance(exc, IntegrityError):
        # Two writers at once: the database saw what the action's check could not.
        exc = RecordConflict("A record with these values exists. Load it and compare.")
    if isinstance(exc, OperationalError):
        logger.error("The database let %s not in: %s", path, exc)
        exc = Busy("The register is busy. Send it again in a second.")
    if isinstance(exc, RequestDataTooBig):
        exc = BodyTooLarge("The body is too large. Send less at a time.")
    if isinstance(exc, DomainError):
        return _domain(exc, path)
    response = exception_handler(exc, dict(context))
    if response is None:
        return None
    if isinstance(exc, Http404):
        exc = exceptions.NotFound()
    code = _code(exc)
    errors = list(pointed(exc.detail)) if code == "validation-error" else []
    response.data = problem(
        code=code,
        status=response.status_code,
        detail=_sentence(exc, code, errors),
        instance=path,
        errors=errors,
    )
    response.content_type = PROBLEM_TYPE
    return response


def _domain(exc: DomainError, path: str) -> Response:
    errors: list[Mapping[str, str]] = list(exc.detail.get("errors", ()))  # type: ignore[call-overload]  # a list where given
    field = exc.detail.get("field")
    if field:
        pointer = f"#/{_escaped(str(field))}"
        errors.append({"pointer": pointer, "detail": exc.message, "code": exc.code})
    body = problem(
        code=exc.code,
        status=exc.http_status,
        detail=exc.message,
        instance=path,
        errors=errors,
    )
    wait = str(exc.detail.get("retry_after_s", RETRY_AFTER.get(exc.code, "")))
    return Response(
        body,
        exc.http_status,
        headers={"Retry-After": wait} if wait else None,
        content_type=PROBLEM_TYPE,
    )


def _code(exc: Exception) -> str:
    if isinstance(exc, exceptions.ValidationError):
        return "validation-error"
    detail = str(getattr(exc, "detail", ""))
    if isinstance(exc, exceptions.PermissionDenied) and detail.startswith("CSRF"):
        return "csrf-failed"
    code = str(getattr(exc, "default_code", "error"))
    return CODES.get(code, code.replace("_", "-"))


def _sentence(exc: Exception, code: str, errors: list[dict[str, str]]) -> str:
    if errors:
        count = "one member" if len(errors) == 1 else f"{len(errors)} members"
        return f"Correct {count} of the body and send it again."
    if code == "not-found":
        return NOT_FOUND
    text = str(getattr(exc, "detail", ""))
    return text if text.endswith(".") else f"{text}."


def pointed(detail: object, pointer: str = "#") -> Iterator[dict[str, str]]:
    """Yield each error with the JSON Pointer (RFC 6901) of the member it is about."""
    if isinstance(detail, Mapping):
        for name, inner in detail.items():
            whole = name == "non_field_errors"
            at = pointer if whole else f"{pointer}/{_escaped(str(name))}"
            yield from pointed(inner, at)
    elif isinstance(detail, list):
        for index, inner in enumerate(detail):
            leaf = isinstance(inner, exceptions.ErrorDetail)
            yield from pointed(inner, pointer if leaf else f"{pointer}/{index}")
    elif isinstance(detail, exceptions.ErrorDetail):
        code = str(detail.code).replace("_", "-")
        yield {"pointer": pointer, "detail": str(detail), "code": code}


def _escaped(name: str) -> str:
    return name.replace("~", "~0").replace("/", "~1")
