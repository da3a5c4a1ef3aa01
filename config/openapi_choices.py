"""How the OpenAPI document tells of chosen members and of records read with others."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from fleet.api import routes as fleet_routes
from warranty.api import routes as warranty_routes

Schemas = dict[str, dict[str, Any]]
REF = "#/components/schemas/"


def add_choices(result: dict[str, Any]) -> None:
    """Add the member expanded, and the shape of an answer with chosen members."""
    schemas: Schemas = result["components"]["schemas"]
    _add_expanded(schemas)
    for path in result["paths"].values():
        for operation in path.values():
            names = {each.get("name") for each in operation.get("parameters", ())}
            if "fields" in names:
                _allow_parts(operation["responses"]["200"], schemas)


def _add_expanded(schemas: Schemas) -> None:
    for collections in (fleet_routes.COLLECTIONS, warranty_routes.COLLECTIONS):
        for view in collections.values():
            if not view.expansions:
                continue
            told = {
                name: {"anyOf": [{"$ref": REF + each.out.__name__}, {"type": "null"}]}
                for name, each in view.expansions.items()
            }
            out = schemas[view.serializer_class.__name__]
            out["properties"]["expanded"] = {
                "type": "object",
                "description": "What was asked for with expand; null: not yours.",
                "properties": told,
            }


def _allow_parts(response: dict[str, Any], schemas: Schemas) -> None:
    media = response["content"]["application/json"]
    name = media["schema"]["$ref"].removeprefix(REF)
    part = _part(name, schemas)
    media["schema"] = {"anyOf": [{"$ref": REF + name}, {"$ref": REF + part}]}


def _part(name: str, schemas: Schemas) -> str:
    """Return the name of the shape with any of the members, made when it is new."""
    made = f"{name.removesuffix('Out')}Part"
    if name.startswith("Paginated"):
        made = f"{name.removesuffix('OutList')}PartList"
    if made in schemas:
        return made
    schema = schemas[made] = deepcopy(schemas[name])
    if name.startswith("Paginated"):
        rows = schema["properties"]["results"]
        inner = rows["items"]["$ref"].removeprefix(REF)
        rows["items"] = {"$ref": REF + _part(inner, schemas)}
    else:
        schema.pop("required", None)
        schema["description"] = f"Chosen members. {schema.get('description', '')}"
    return made
