"""The API's reference, told to people from the OpenAPI document itself."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import Any

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import URLPattern, path
from django.views.decorators.http import require_safe

DOCUMENT = Path(__file__).resolve().parent / "openapi.json"
SCHEMA, RESPONSE = "#/components/schemas/", "#/components/responses/"


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """A parameter, or a member of a body or answer."""

    name: str
    kind: str
    is_required: bool
    about: str
    where: str = ""
    shape: str = ""  # the name of the shape it holds, if it has one


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """What one body or answer looks like."""

    status: str
    about: str
    media: str
    shape: str
    members: tuple[Member, ...]
    example: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One thing a program can ask for."""

    name: str
    method: str
    address: str
    collection: str
    summary: str
    about: str
    is_deprecated: bool
    parameters: tuple[Member, ...]
    body: Content | None
    answers: tuple[Content, ...]


@cache
def operations() -> tuple[Operation, ...]:
    """Return every operation of the document, collection by collection."""
    document = json.loads(DOCUMENT.read_text())
    found = [
        _operation(document, method, address, told)
        for address, methods in document["paths"].items()
        for method, told in methods.items()
    ]
    return tuple(sorted(found, key=lambda each: (each.collection, each.address)))


@require_safe
def index(request: HttpRequest) -> HttpResponse:
    """List what the API does, collection by collection."""
    collections = [
        (name, list(group))
        for name, group in groupby(operations(), key=lambda each: each.collection)
    ]
    context = {"collections": collections, "site": settings.SITE_URL}
    return render(request, "reference/index.html", context)


@require_safe
def operation(request: HttpRequest, name: str) -> HttpResponse:
    """Show one operation: parameters, body, answers and refusals, with examples."""
    for each in operations():
        if each.name == name:
            return render(request, "reference/operation.html", {"operation": each})
    raise Http404


def _operation(
    document: dict[str, Any], method: str, address: str, told: dict[str, Any]
) -> Operation:
    parameters = tuple(
        Member(
            name=each["name"],
            kind=_kind(each["schema"]),
            is_required=each.get("required", False),
            about=each.get("description", ""),
            where=each["in"],
        )
        for each in told.get("parameters", ())
    )
    body = told.get("requestBody")
    return Operation(
        name=told["operationId"],
        method=method.upper(),
        address=address,
        collection=told["tags"][0],
        summary=told.get("summary", ""),
        about=told.get("description", ""),
        is_deprecated=told.get("deprecated", False),
        parameters=parameters,
        body=_content(document, "", body) if body else None,
        answers=tuple(
            _content(document, status, _resolved(document, answer))
            for status, answer in told["responses"].items()
            if status != "default"
        ),
    )


def _resolved(document: dict[str, Any], answer: dict[str, Any]) -> dict[str, Any]:
    if "$ref" not in answer:
        return answer
    found: dict[str, Any] = document["components"]["responses"][
        answer["$ref"].removeprefix(RESPONSE)
    ]
    return found


def _content(document: dict[str, Any], status: str, told: dict[str, Any]) -> Content:
    media, held = next(iter(told.get("content", {}).items()), ("", {}))
    schema = held.get("schema", {})
    name = _shape(schema)
    shape = document["components"]["schemas"].get(name, {})
    is_problem = media == "application/problem+json"
    example = None if is_problem else next(iter(shape.get("examples", ())), None)
    return Content(
        status=status,
        about=told.get("description", ""),
        media=media,
        shape=name,
        members=() if is_problem else _members(shape),
        example=json.dumps(example, indent=2) if example is not None else "",
    )


def _members(shape: dict[str, Any]) -> tuple[Member, ...]:
    required = set(shape.get("required", ()))
    return tuple(
        Member(
            name=name,
            kind=_kind(schema),
            is_required=name in required,
            about=schema.get("description", ""),
            shape=_shape(schema),
        )
        for name, schema in shape.get("properties", {}).items()
    )


def _shape(schema: dict[str, Any]) -> str:
    """Return the name of the shape that a schema is, or that its rows are."""
    for words in ("anyOf", "oneOf", "allOf"):
        if schema.get(words):
            return _shape(schema[words][0])
    if "$ref" in schema:
        return str(schema["$ref"]).removeprefix(SCHEMA)
    return _shape(schema["items"]) if "items" in schema else ""


def _kind(schema: dict[str, Any]) -> str:
    """Return in words what a value is."""
    if "enum" in schema:
        return "one of " + ", ".join(str(word) for word in schema["enum"] if word)
    kind = schema.get("type", "")
    words = kind if isinstance(kind, list) else [kind]
    told = " or ".join(word for word in words if word) or _shape(schema)
    if "items" in schema:
        told = f"list of {_kind(schema['items']) or _shape(schema)}"
    limits = [
        f"{word} {schema[name]}"
        for name, word in (
            ("format", "as"),
            ("minimum", "from"),
            ("maximum", "to"),
            ("maxLength", "at most"),
        )
        if name in schema
    ]
    return ", ".join([told, *limits])


urlpatterns: list[URLPattern] = [
    path("reference/", index, name="reference"),
    path("reference/<str:name>", operation, name="reference-operation"),
]
