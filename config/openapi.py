"""Last touches to the generated OpenAPI document."""

from __future__ import annotations

from collections.abc import Iterator

from fleet.api.penetrations import LENGTH_UNITS
from jobs.api.what_ifs import VERDICT_CHOICES as REPLAYED_VERDICT
from warranty.api.claim_decisions import CAUSE_CHOICES as CAUSE
from warranty.api.claim_decisions import NEED_CHOICES as NEED
from warranty.api.claim_decisions import OUTCOME_CHOICES as OUTCOME
from warranty.api.claim_decisions import SIGN_CHOICES as SIGN
from warranty.api.claims import STATUS_CHOICES as CLAIM_STATUS
from warranty.api.editions import ANCHOR_CHOICES as ANCHOR
from warranty.api.editions import DESIGNATION_CHOICES as DESIGNATION
from warranty.api.promises import WAIVABLE_CHOICES as WAIVABLE
from warranty.api.standings import CLAUSE_CHOICES as CLAUSE
from warranty.api.standings import STANDING_CHOICES as STANDING
from warranty.api.standings import VERDICT_CHOICES as VERDICT

__all__ = [
    "ANCHOR",
    "CAUSE",
    "CLAIM_STATUS",
    "CLAUSE",
    "DESIGNATION",
    "LENGTH_UNIT",
    "NEED",
    "OUTCOME",
    "REPLAYED_VERDICT",
    "SIGN",
    "STANDING",
    "VERDICT",
    "WAIVABLE",
    "finish",
    "only_this_version",
]

LENGTH_UNIT = [(unit, unit) for unit in LENGTH_UNITS]
PREFIX = "/api/v1/"
DIALECT = "https://spec.openapis.org/oas/3.1/dialect/base"
# Smallest and largest whole number of each column width, on either database.
COLUMN_SIZES = frozenset(
    limit for bits in (15, 31, 63) for limit in (2**bits - 1, -(2**bits))
)
PROBLEM = {
    "type": "object",
    "description": "Why a request was refused (RFC 9457).",
    "required": ["type", "title", "status", "detail", "instance", "code"],
    "properties": {
        "type": {"type": "string", "format": "uri-reference"},
        "title": {"type": "string"},
        "status": {"type": "integer", "minimum": 400, "maximum": 599},
        "detail": {"type": "string"},
        "instance": {"type": "string", "format": "uri-reference"},
        "code": {"type": "string", "description": "Stable: decide by this word."},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["detail", "code"],
                "properties": {
                    "pointer": {
                        "type": "string",
                        "description": "JSON Pointer into the body.",
                    },
                    "parameter": {
                        "type": "string",
                        "description": "Name of the query parameter.",
                    },
                    "detail": {"type": "string"},
                    "code": {"type": "string"},
                },
            },
        },
    },
}


def only_this_version(endpoints: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Return the addresses of this version of the API."""
    return [each for each in endpoints if each[0].startswith(PREFIX)]


def finish(
    result: dict[str, object], generator: object, **_: object
) -> dict[str, object]:
    """Return the document in plain 3.1 words, every operation with its problems."""
    schemas: dict[str, dict[str, object]] = result["components"]["schemas"]  # type: ignore[index]  # it has components
    _plain(result)
    _forget_column_sizes(result)
    for name, schema in schemas.items():
        if name.endswith("In"):
            schema["additionalProperties"] = False
            _send_files(schema)
    schemas["Problem"] = PROBLEM
    for operation in _operations(result):
        operation["responses"]["default"] = {  # type: ignore[index]  # it has responses
            "description": "The request was refused, or the register failed.",
            "content": {
                "application/problem+json": {
                    "schema": {"$ref": "#/components/schemas/Problem"}
                }
            },
        }
    return {**result, "jsonSchemaDialect": DIALECT}


def _forget_column_sizes(node: object) -> None:
    """Drop limits that are only what a database's columns hold: they differ."""
    if isinstance(node, list):
        for member in node:
            _forget_column_sizes(member)
    if not isinstance(node, dict):
        return
    for name in ("minimum", "maximum"):
        # Limits may be schemas themselves: a member can be called minimum.
        limit = node.get(name)
        if isinstance(limit, int) and limit in COLUMN_SIZES:
            del node[name]
            node.pop("format", None)
    for member in node.values():
        _forget_column_sizes(member)


def _send_files(schema: dict[str, object]) -> None:
    """Say that a body holds a file's bytes, where an answer would hold its address."""
    for member in schema.get("properties", {}).values():  # type: ignore[attr-defined]  # a mapping
        if member.get("format") == "uri":
            del member["format"]
            member["contentMediaType"] = "application/octet-stream"


def _operations(result: dict[str, object]) -> Iterator[dict[str, object]]:
    for path in result["paths"].values():  # type: ignore[attr-defined]  # a mapping
        yield from path.values()


def _plain(node: object) -> None:
    """Turn 3.0's ``nullable`` and ``example`` into what 3.1 has instead."""
    if isinstance(node, list):
        for item in node:
            _plain(item)
    if not isinstance(node, dict):
        return
    if node.pop("nullable", None) is True and isinstance(node.get("type"), str):
        node["type"] = [node["type"], "null"]
    if "example" in node and "schema" not in node:
        node["examples"] = [node.pop("example")]
    for value in node.values():
        _plain(value)
