"""How the OpenAPI document tells of lists that are had, and batches sent, as files."""

from __future__ import annotations

from typing import Any

from fleet.api.table_words import CSV, XLSX

TEXT = {"type": "string", "description": "A line a row; the first names the members."}
BOOK = {"type": "string", "contentMediaType": XLSX}


def add_files(result: dict[str, Any]) -> None:
    """Say that a file's content is text or bytes, not JSON."""
    for operations in result["paths"].values():
        for operation in operations.values():
            for held in [*operation["responses"].values(), _body(operation)]:
                content = held.get("content", {})
                for media, shape in ((CSV, TEXT), (XLSX, BOOK)):
                    if media in content:
                        content[media] = {"schema": shape}


def _body(operation: dict[str, Any]) -> dict[str, Any]:
    body: dict[str, Any] = operation.get("requestBody", {})
    return body
