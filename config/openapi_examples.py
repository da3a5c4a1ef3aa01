"""An example of every shape in the OpenAPI document, out of the invented fleet."""

from __future__ import annotations

from typing import Any
from uuid import NAMESPACE_URL, uuid5

REF = "#/components/schemas/"
# What members are called, and what they hold in the invented fleet of Harrow Lake.
BY_NAME: dict[str, Any] = {
    "address": "https://example.com/hooks/roofs",
    "air": "61.00",
    "because": "All three areas were accepted on 2024-06-03.",
    "caption": "Vent 1 from the left, after the detail coat.",
    "cause": "seam",
    "code": "RENT-2024",
    "colour": "white",
    "currency": "USD",
    "description": "Drip beside the front vent after a night of rain.",
    "email": "fleet@sandbar.example",
    "edition": "RENT-2024",
    "happened_on": "2025-04-01",
    "from_on": "2025-04-01",
    "held_from": "2024-01-01",
    "label": "vent 1",
    "penetration_label": "vent 1",
    "length": "26.000",
    "length_m": "7.925",
    "length_unit": "ft",
    "lot": "B-2207",
    "make": "Tern",
    "model": "Wanderer 26",
    "model_year": 2019,
    "name": "Sandbar Coach Hire",
    "note": "Sealant along the rear cap is sound.",
    "noticed_on": "2025-03-01",
    "phone": "555-0142",
    "place": "Mill Narrows",
    "ref": "V-0417",
    "reported_on": "2025-03-02",
    "rh_pct": "48.00",
    "standing": "IN_FORCE",
    "state": "OH",
    "surface": "66.00",
    "system": "HARDTOP-2",
    "technician": "Ines Halloran",
    "time_zone": "America/Detroit",
    "title": "Two coats on a hard roof",
    "town": "Mill Narrows",
    "unit": "mil",
    "unit_no": "HL-0042",
    "vin": "1T9BR26E5KH700042",
    "why": "The owner asked for it in writing.",
    "width": "8.000",
    "width_m": "2.438",
    "window": "morning",
}
DEPTH_MAX = 8


def add_examples(result: dict[str, Any]) -> None:
    """Give every shape of the document an example that it takes."""
    schemas: dict[str, dict[str, Any]] = result["components"]["schemas"]
    for name, schema in schemas.items():
        if schema.get("type") == "object":
            schema["examples"] = [example_of(schema, name, schemas)]


def example_of(
    schema: dict[str, Any], name: str, schemas: dict[str, Any], depth: int = 0
) -> Any:
    """Return a value that a schema takes; a member's name says what it may hold."""
    if "$ref" in schema:
        inner = schemas[schema["$ref"].removeprefix(REF)]
        return example_of(inner, name, schemas, depth)
    for words in ("oneOf", "anyOf", "allOf"):
        if words in schema:
            return example_of(schema[words][0], name, schemas, depth)
    if "enum" in schema:
        known = BY_NAME.get(name)
        return known if known in schema["enum"] else schema["enum"][0]
    kinds = schema.get("type")
    kind = (
        next((k for k in kinds if k != "null"), "null")
        if isinstance(kinds, list)
        else kinds
    )
    if kind == "object":
        return _members(schema, schemas, depth)
    if kind == "array":
        few = max(schema.get("minItems", 0), int(depth < DEPTH_MAX))
        return [example_of(schema["items"], name, schemas, depth + 1)] * few
    return _plain(schema, str(kind), name)


def _members(
    schema: dict[str, Any], schemas: dict[str, Any], depth: int
) -> dict[str, Any]:
    required = set(schema.get("required", ()))
    return {
        name: example_of(inner, name, schemas, depth + 1)
        for name, inner in schema.get("properties", {}).items()
        if name in required or (depth == 0 and name not in {"is_void", "settles"})
    }


def _plain(schema: dict[str, Any], kind: str, name: str) -> Any:
    if kind == "boolean":
        return name.startswith(("is_detailed", "may_", "inspections"))
    if kind in {"integer", "number"}:
        known = BY_NAME.get(name)
        number = known if isinstance(known, int) else 1
        low, high = schema.get("minimum", number), schema.get("maximum", number)
        return min(max(number, low), high)
    if kind != "string":
        return None
    return _text(schema, name)


def _text(schema: dict[str, Any], name: str) -> str:
    match schema.get("format"):
        case "uuid":
            return str(uuid5(NAMESPACE_URL, f"harrow-lake/{name}"))
        case "date":
            return str(BY_NAME.get(name, "2025-04-01"))
        case "date-time":
            return "2025-04-01T09:30:00-04:00"
        case "uri" | "uri-reference":
            return "https://register.example/api/v1/coaches?cursor=abc"
        case "email":
            return str(BY_NAME["email"])
        case "decimal":
            return str(BY_NAME.get(name, "1.00"))
    pattern = str(schema.get("pattern", ""))
    if "A-Z]{3}" in pattern:
        return "USD"
    if "{64}" in pattern:
        return "0" * 64
    text = str(BY_NAME.get(name, name.replace("_", " ")))
    return text[: schema.get("maxLength", len(text))]
