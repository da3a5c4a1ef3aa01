"""Bodies as the OpenAPI document describes them, and where an id stands in them."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator, Mapping
from functools import cache
from itertools import pairwise

from django.conf import settings

from tests.authorisation.routes import Operation

Schema = Mapping[str, object]
Path = tuple[str | int, ...]
# Which kind of record a member or a filter names.
NAMED = {
    "roof": "roofs",
    "coach": "coaches",
    "coaches": "coaches",
    "kept": "coaches",
    "dropped": "coaches",
    "owner": "owners",
    "holder": "owners",
    "to": "owners",
    "visit": "visits",
    "finding": "findings",
    "cures": "findings",
    "claim": "claims",
    "proposal": "proposals",
    "user": "users",
    "edition": "editions",
}
# What a format or a name needs to look right.
FORMATS = {
    "date": "2026-05-20",
    "date-time": "2026-05-20T12:00:00-04:00",
    "email": "heron@harrow-lake.example",
    "decimal": "1",
}


@cache
def document() -> dict:
    """Return the committed document."""
    return json.loads((settings.BASE_DIR / "config" / "openapi.json").read_text())


def described(operation: Operation) -> dict:
    """Return what the document says of an operation; nothing where it says none."""
    path = "/" + operation.address.replace("<uuid:uuid>", "{uuid}")
    return document()["paths"].get(path, {}).get(operation.method.lower(), {})


def body_of(operation: Operation, ids: Mapping[str, object]) -> tuple[dict, list[Path]]:
    """Return a body of own ids, and every place of it where an id stands."""
    content = described(operation).get("requestBody", {}).get("content", {})
    schema = next(iter(content.values()), {}).get("schema", {})
    if not schema:
        return {}, []
    kind = operation.address.split("/")[2]
    body = _sample(schema, kind, ids)
    return body, list(_places(schema, ()))


def with_id(body: dict, place: Path, value: object) -> dict:
    """Return a copy of a body with another id at one place."""
    changed = copy.deepcopy(body)
    node = changed
    for step, following in pairwise(place):
        if isinstance(node, dict):
            node = node.setdefault(step, [] if following == 0 else {})
            if following == 0 and not node:
                node.append({})
        else:
            node = node[step]
    if isinstance(node, list):
        node[:] = [value]
    else:
        node[place[-1]] = value
    return changed


def kind_of(place: Path, operation: Operation) -> str:
    """Return which kind of record is named at a place."""
    name = next(step for step in reversed(place) if not str(step).isdecimal())
    return NAMED.get(str(name), operation.address.split("/")[2])


def filters_of(operation: Operation) -> list[str]:
    """Return the filters of a list that take an id."""
    return [
        each["name"]
        for each in described(operation).get("parameters", [])
        if each["in"] == "query" and each["schema"].get("format") == "uuid"
    ]


def _resolved(schema: Schema) -> dict:
    if "$ref" in schema:
        name = str(schema["$ref"]).rsplit("/", 1)[1]
        return document()["components"]["schemas"][name]
    for several in ("allOf", "oneOf", "anyOf"):
        if several in schema:
            return _resolved(schema[several][0])
    return dict(schema)


def _places(schema: Schema, before: Path) -> Iterator[Path]:
    known = _resolved(schema)
    if known.get("format") == "uuid":
        yield before
    for name, member in known.get("properties", {}).items():
        yield from _places(member, (*before, name))
    if "items" in known:
        yield from _places(known["items"], (*before, 0))


def _sample(schema: Schema, kind: str, ids: Mapping[str, object]) -> object:
    known = _resolved(schema)
    if known.get("format") == "uuid":
        return str(ids.get(NAMED.get(kind, kind), ids["roofs"]))
    if "enum" in known:
        return next(each for each in known["enum"] if each)
    named = known.get("type", "object")
    if isinstance(named, list):
        named = named[0]
    match named:
        case "object":
            required = known.get("required", ())
            members = known.get("properties", {})
            return {name: _sample(members[name], name, ids) for name in required}
        case "array":
            return [_sample(known["items"], kind, ids)]
        case "integer" | "number":
            return known.get("minimum", 1) or 1
        case "boolean":
            return True
    return _word(known)


def _word(schema: Schema) -> str:
    if schema.get("format") in FORMATS:
        return FORMATS[str(schema["format"])]
    if "pattern" in schema:
        return "1"
    return "heron"[: int(str(schema.get("maxLength", 5)))]
