"""Which refusals each operation of the OpenAPI document can answer, and when."""

from __future__ import annotations

from typing import Any

REFUSALS = {
    "400": "A parameter or the body cannot be used; errors names each member.",
    "401": "Nobody is signed in. WWW-Authenticate says how.",
    "403": "The role does not include this, or a form token is missing.",
    "404": "No such record for this caller; a foreign one answers the same.",
    "406": "No answer in the type that Accept asks for.",
    "409": "It contradicts what is on record, or the same request is under way.",
    "412": "The record has changed since the version that If-Match names.",
    "413": "The body is too large.",
    "415": "The body is of a type that is not taken here.",
    "422": "The Idempotency-Key came before with another request.",
    "428": "If-Match is missing.",
    "429": "Too many requests. Retry-After says when to go on.",
    "500": "The register failed; it is noted.",
    "503": "The register is busy. Retry-After says when to go on.",
}
EVERY = ("400", "401", "403", "406", "429", "500", "503")
WAITS = frozenset({"409", "429", "503"})
PROBLEM = {
    "application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}
}


def add_errors(result: dict[str, Any]) -> None:
    """Describe every refusal of every operation, each once in the components."""
    shared = result["components"].setdefault("responses", {})
    for status, about in REFUSALS.items():
        shared[f"Refused{status}"] = _refusal(status, about)
    shared["NotChanged"] = {
        "description": "It has not changed: If-None-Match names what would be sent.",
        "headers": {"ETag": {"schema": {"type": "string"}}},
    }
    for path, operations in result["paths"].items():
        for method, operation in operations.items():
            responses = operation["responses"]
            for status in _statuses(path, method, operation):
                reference = {"$ref": f"#/components/responses/Refused{status}"}
                responses.setdefault(status, reference)
            if method == "get":
                reference = {"$ref": "#/components/responses/NotChanged"}
                responses.setdefault("304", reference)
            operation["responses"] = dict(sorted(responses.items()))


def _statuses(path: str, method: str, operation: dict[str, Any]) -> tuple[str, ...]:
    told = set(EVERY)
    names = {
        each["name"]: each.get("required", False)
        for each in operation.get("parameters", ())
    }
    if "{" in path or method != "get":
        told.add("404")
    if method != "get":
        told |= {"409", "412"}
    if "requestBody" in operation:
        told |= {"413", "415"}
    if method == "post":
        told.add("422")
    if names.get("If-Match"):
        told.add("428")
    return tuple(sorted(told))


def _refusal(status: str, about: str) -> dict[str, Any]:
    told: dict[str, Any] = {"description": about, "content": PROBLEM}
    if status in WAITS:
        told["headers"] = {
            "Retry-After": {
                "description": "Seconds to wait.",
                "schema": {"type": "string"},
            }
        }
    if status == "401":
        told["headers"] = {"WWW-Authenticate": {"schema": {"type": "string"}}}
    return told
