"""Pages by position, not by count: the thousandth costs what the first does.

Kept free of view imports: DRF resolves its settings while its own modules load.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from urllib.parse import urlencode

from django.db.models import Model, Q, QuerySet
from rest_framework.pagination import BasePagination
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from fleet.api.errors import InvalidCursor, InvalidParameters
from fleet.api.seal import seal, unseal
from fleet.api.table_words import EXACT, FILE_ROWS_MAX, FILES, SAFE

PAGE_SIZE = 50
PAGE_SIZE_MAX = 200
FORWARD, BACKWARD = "n", "p"


class KeysetPagination(BasePagination):
    """Pages of a view's ``keyset``: columns that are never null, the last unique."""

    parameters = ("cursor", "page_size", "cells")

    def paginate_queryset(
        self, queryset: QuerySet, request: Request, view: APIView | None = None
    ) -> list[Model]:
        """Return one page of rows in the view's order."""
        self.keyset: tuple[str, ...] = view.keyset  # type: ignore[union-attr]  # ours
        self.request = request
        size = _page_size(request)
        way, values = self._cursor()
        names = self.keyset if way == FORWARD else tuple(map(_opposite, self.keyset))
        rows = queryset.order_by(*names)
        if values:
            rows = rows.filter(_after(names, values))
        found = list(rows[: size + 1])
        has_more = len(found) > size
        page = found[:size] if way == FORWARD else found[:size][::-1]
        has_next = has_more if way == FORWARD else bool(page)
        has_previous = has_more if way == BACKWARD else bool(values and page)
        self.next = self._link(FORWARD, page[-1]) if has_next else None
        self.previous = self._link(BACKWARD, page[0]) if has_previous else None
        return page

    def get_paginated_response(self, data: list[object]) -> Response:
        """Return the page with its neighbours, in the body and as Link (RFC 8288)."""
        body = {"next": self.next, "previous": self.previous, "results": data}
        links = [
            f'<{url}>; rel="{rel}"'
            for rel, url in (("next", self.next), ("prev", self.previous))
            if url
        ]
        return Response(body, headers={"Link": ", ".join(links)} if links else None)

    def _cursor(self) -> tuple[str, list[object]]:
        word = self.request.query_params.get("cursor")
        if word is None:
            return FORWARD, []
        values = unseal(word, where=self.request.path)
        if values is None or len(values) != len(self.keyset) + 1:
            raise InvalidCursor(
                "This cursor is not one of this address. Start without it, then "
                "follow next."
            )
        return str(values[0]), values[1:]

    def _link(self, way: str, row: Model) -> str:
        values = [way, *(_value(row, name) for name in self.keyset)]
        query = self.request.query_params.copy()
        query["cursor"] = seal(values, where=self.request.path)
        address = self.request.build_absolute_uri(self.request.path)
        pairs = [(name, word) for name, words in query.lists() for word in words]
        return f"{address}?{urlencode(pairs)}"

    def get_schema_operation_parameters(self, view: APIView) -> list[dict[str, object]]:
        """Return the paging parameters for the OpenAPI document."""
        return [
            {
                "name": "cursor",
                "in": "query",
                "required": False,
                "description": "Where the page starts: taken from next or previous.",
                "schema": {"type": "string"},
            },
            {
                "name": "page_size",
                "in": "query",
                "required": False,
                "description": f"Rows a page; more than {PAGE_SIZE_MAX} means that.",
                "schema": {"type": "integer", "minimum": 1, "default": PAGE_SIZE},
            },
            {
                "name": "cells",
                "in": "query",
                "required": False,
                "description": "Of a file: exact, or safe from being a formula.",
                "schema": {"type": "string", "enum": [SAFE, EXACT], "default": SAFE},
            },
        ]

    def get_paginated_response_schema(
        self, schema: dict[str, object]
    ) -> dict[str, object]:
        """Return the shape of a page for the OpenAPI document."""
        link = {"type": ["string", "null"], "format": "uri"}
        return {
            "type": "object",
            "required": ["next", "previous", "results"],
            "properties": {"next": link, "previous": link, "results": schema},
        }


def _page_size(request: Request) -> int:
    text = request.query_params.get("page_size", str(PAGE_SIZE))
    media = request.accepted_renderer.media_type
    most = FILE_ROWS_MAX if media in FILES else PAGE_SIZE_MAX
    if "page_size" not in request.query_params and media in FILES:
        text = str(most)
    cells = request.query_params.get("cells", SAFE)
    if cells not in (SAFE, EXACT):
        wrong = f"cells must be {SAFE} or {EXACT}, got {cells[:20]!r}."
        error = {"parameter": "cells", "detail": wrong, "code": "invalid"}
        raise InvalidParameters(wrong, errors=[error])
    if not text.isascii() or not text.isdigit() or int(text[:9]) < 1:
        wrong = f"page_size must be a whole number from 1 on, got {text[:20]!r}."
        error = {"parameter": "page_size", "detail": wrong, "code": "invalid"}
        raise InvalidParameters(wrong, errors=[error])
    return min(int(text[:9]), most)


def _opposite(name: str) -> str:
    return name.removeprefix("-") if name.startswith("-") else f"-{name}"


def _after(names: tuple[str, ...], values: list[object]) -> Q:
    """Return the rows behind a position: behind in the first column that differs."""
    behind, same = Q(), Q()
    for name, value in zip(names, values, strict=True):
        column = name.removeprefix("-")
        lookup = "lt" if name.startswith("-") else "gt"
        behind |= same & Q(**{f"{column}__{lookup}": value})
        same &= Q(**{column: value})
    return behind


def _value(row: Model | Mapping[str, object], name: str) -> object:
    value: object = row
    name = name.removeprefix("-")
    if isinstance(row, Mapping):
        value = row[name]
    else:
        for part in name.split("__"):
            value = getattr(value, part)
    return value.isoformat() if isinstance(value, (date, datetime)) else value
