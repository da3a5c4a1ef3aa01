"""The OpenAPI document: kept, valid, and what the answers really look like."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from django.conf import settings
from jsonschema import Draft202012Validator, FormatChecker
from openapi_spec_validator import OpenAPIV31SpecValidator, validate

from tests.api import records

JSON = "application/json"
COMMITTED = Path(settings.BASE_DIR) / "config" / "openapi.json"


@pytest.fixture(scope="module")
def document() -> dict:
    return json.loads(COMMITTED.read_text())


def test_the_committed_document_is_the_generated_one(client):
    served = client.get("/api/v1/openapi.json")

    assert served.status_code == 200
    assert json.loads(served.content) == json.loads(COMMITTED.read_text()), (
        "Write it anew: manage.py spectacular --format openapi-json "
        "--file config/openapi.json"
    )


@pytest.mark.slow
def test_the_document_is_valid_openapi_3_1(document):
    """OpenAPI Specification 3.1.1, by the validator of the openapi-spec-validator."""
    assert document["openapi"].startswith("3.1")
    validate(document, cls=OpenAPIV31SpecValidator)


def test_every_operation_has_its_own_name_and_its_problems(document):
    operations = [o for path in document["paths"].values() for o in path.values()]

    names = [operation["operationId"] for operation in operations]
    assert len(names) == len(set(names))
    assert all("application/problem+json" in json.dumps(o) for o in operations)
    assert all(o["security"] for o in operations)


def test_every_operation_tells_its_refusals_one_by_one(document):
    for path, operations in document["paths"].items():
        for method, operation in operations.items():
            told = set(operation["responses"])
            assert told >= {"400", "401", "403", "406", "429", "500", "503"}, path
            if "{" in path:
                assert "404" in told, path
            if method == "post":
                assert told >= {"409", "412", "422"}, path
            if method == "get":
                assert "304" in told, path


def test_every_shape_has_an_example_that_it_takes(document):
    """Checked by jsonschema, formats too."""
    shapes = {
        name: schema
        for name, schema in document["components"]["schemas"].items()
        if schema.get("type") == "object"
    }

    assert len(shapes) > 100
    for name, schema in shapes.items():
        [example] = schema["examples"]
        whole = {**schema, "components": document["components"]}
        found = Draft202012Validator(whole, format_checker=FormatChecker())
        assert [
            (name, e.json_path, e.message) for e in found.iter_errors(example)
        ] == []


def test_no_word_of_an_older_openapi_is_left(document):
    assert '"nullable"' not in json.dumps(document)


def test_no_body_takes_members_it_does_not_name(document):
    bodies = {
        name: schema
        for name, schema in document["components"]["schemas"].items()
        if name.endswith("In")
    }

    assert len(bodies) > 20
    assert all(body["additionalProperties"] is False for body in bodies.values())


def test_a_file_is_sent_as_bytes_not_as_an_address(document):
    member = document["components"]["schemas"]["ImportIn"]["properties"]["file"]

    assert member == {
        "type": "string",
        "contentMediaType": "application/octet-stream",
    }


def validator(document: dict, path: str, method: str, status: str):
    answer = document["paths"][path][method]["responses"][status]
    content = answer["content"]
    media = content.get(JSON) or content["application/problem+json"]
    schema = {**media["schema"], "components": document["components"]}
    return Draft202012Validator(schema, format_checker=FormatChecker())


ANSWERS = [
    ("/api/v1/me", ""),
    ("/api/v1/owners", ""),
    ("/api/v1/coaches", ""),
    ("/api/v1/coach-descriptions", ""),
    ("/api/v1/ownerships", ""),
    ("/api/v1/systems", ""),
    ("/api/v1/roofs", ""),
    ("/api/v1/installations", ""),
    ("/api/v1/penetrations", ""),
    ("/api/v1/visits", ""),
    ("/api/v1/findings", ""),
    ("/api/v1/film-readings", ""),
    ("/api/v1/editions", ""),
    ("/api/v1/coverages", ""),
    ("/api/v1/claims", ""),
    ("/api/v1/inspections-due", ""),
    ("/api/v1/roofs/{uuid}", ""),
    ("/api/v1/roofs/{uuid}/plan", ""),
    ("/api/v1/roofs/{uuid}/standing", "?as_of=2025-05-01"),
    ("/api/v1/roofs/{uuid}/history", ""),
    ("/api/v1/roofs/{uuid}/ledger", ""),
]


@pytest.mark.slow
@pytest.mark.parametrize("who", ["office", "manager"])
def test_answers_are_as_the_document_says(world, document, who):
    records.vent(world.roof, world.office_user)
    records.film(world.roof, world.office_user)
    roof = str(world.roof.uuid)
    visit = {
        "roof": roof,
        "ref": "V1",
        "kind": "INSPECTION",
        "happened_on": "2025-04-01",
        "findings": [{"severity": "NOTE"}],
    }
    loss = {
        "roof": roof,
        "noticed_on": "2025-03-01",
        "reported_on": "2025-03-02",
        "description": "drip",
    }
    posted = {
        "/api/v1/visits": world.office.post("/api/v1/visits", visit, content_type=JSON),
        "/api/v1/claims": world.office.post("/api/v1/claims", loss, content_type=JSON),
    }
    for path, response in posted.items():
        validator(document, path, "post", "201").validate(response.json())

    for path, query in ANSWERS:
        response = world.who(who).get(path.replace("{uuid}", roof) + query)
        found = list(
            validator(document, path, "get", "200").iter_errors(response.json())
        )
        assert [(path, e.json_path, e.message) for e in found] == []


def test_a_problem_is_as_the_document_says(world, document):
    response = world.office.post("/api/v1/roofs", {}, content_type=JSON)

    validator(document, "/api/v1/roofs", "post", "default").validate(response.json())
