"""Requests with conditions (RFC 9110, 13): read only what is new, change only what was
read."""

from __future__ import annotations

import hashlib

from django.db.models import Model
from django.http.response import HttpResponseBase
from django.utils.cache import get_conditional_response
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.errors import PreconditionFailed, PreconditionRequired

TAG_BYTES = 15


def etag_of(row: Model) -> str:
    """Return the strong ETag of a row's version (RFC 9110, 8.8.3)."""
    return f'"{row.uuid}.{row.version}"'  # type: ignore[attr-defined]  # versioned rows


def require_match(request: Request, row: Model) -> None:
    """Refuse a change that does not start from the row's version.

    Raises:
        PreconditionRequired: no If-Match was sent.
        PreconditionFailed: it names another version.
    """
    sent = request.headers.get("If-Match")
    if sent is None:
        raise PreconditionRequired(
            "Send If-Match with the ETag of the version you have read."
        )
    tags = [tag.strip() for tag in sent.split(",")]
    if tags == ["*"]:
        return
    # A row without a version never changes: it has no tag that could match.
    if not hasattr(row, "version") or etag_of(row) not in tags:
        raise changed_meanwhile()


def changed_meanwhile() -> PreconditionFailed:
    """Return the refusal of a change that starts from an older version."""
    return PreconditionFailed(
        "The record has changed since you read it. Read it again, then decide."
    )


def entity_tags(header: str) -> list[str]:
    """Return the tags of If-None-Match; a proxy's weak mark does not count."""
    return [tag.strip().removeprefix("W/") for tag in header.split(",")]


def answer_unchanged(request: Request, response: HttpResponseBase) -> None:
    """Give a read the ETag of its bytes; answer 304 to a client that has them."""
    if not isinstance(response, Response) or "ETag" in response.headers:
        return

    def compare(rendered: Response) -> HttpResponseBase | None:
        digest = hashlib.blake2b(rendered.content, digest_size=TAG_BYTES).hexdigest()
        rendered.headers["ETag"] = tag = f'"{digest}"'
        known = get_conditional_response(request._request, etag=tag, response=rendered)
        return None if known is rendered else known

    response.add_post_render_callback(compare)
