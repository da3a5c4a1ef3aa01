"""Every refusal is a problem (RFC 9457), whatever refused it."""

from __future__ import annotations

import base64
import json
from uuid import uuid4

import pytest
from django.http import Http404
from django.test import Client, RequestFactory

from fleet.api import outside

ROOFS = "/api/v1/roofs"
JSON = "application/json"
REQUIRED = {"type", "title", "status", "detail", "instance", "code"}


def problem_of(response, status: int, code: str) -> dict:
    body = json.loads(response.content)
    assert response.status_code == status, body
    assert response.headers["Content-Type"] == "application/problem+json"
    assert set(body) >= REQUIRED
    assert body["status"] == status
    assert body["code"] == code
    assert body["type"] == f"/problems/{code}"
    return body


class TestSigningIn:
    def test_a_stranger_is_asked_to_sign_in(self, world):
        response = world.nobody.get(ROOFS)

        problem_of(response, 401, "not-authenticated")
        assert response.headers["WWW-Authenticate"].startswith("Basic")

    @pytest.mark.slow
    def test_name_and_password_are_enough(self, world):
        world.office_user.set_password("seven gulls on a rail")
        world.office_user.save()
        pair = f"{world.office_user.username}:seven gulls on a rail"
        word = base64.b64encode(pair.encode()).decode()

        response = world.nobody.get(ROOFS, headers={"Authorization": f"Basic {word}"})

        assert response.status_code == 200

    def test_a_session_writes_only_with_its_form_token(self, world):
        client = Client(enforce_csrf_checks=True)
        client.force_login(world.office_user)

        response = client.post("/api/v1/visits", {}, content_type=JSON)

        problem_of(response, 403, "csrf-failed")


class TestAddresses:
    @pytest.mark.parametrize("address", ["/api/v1/nothing", "/api/v2", "/api/v1/"])
    def test_an_unknown_address_is_a_problem(self, world, address):
        problem_of(world.office.get(address), 404, "not-found")

    def test_an_id_that_is_no_uuid_is_not_found(self, world):
        problem_of(world.office.get(f"{ROOFS}/17"), 404, "not-found")

    def test_a_missing_record_is_not_found(self, world):
        problem_of(world.office.get(f"{ROOFS}/{uuid4()}"), 404, "not-found")

    def test_a_wrong_method_is_a_problem(self, world):
        response = world.office.delete(f"{ROOFS}/{world.roof.uuid}")

        problem_of(response, 405, "method-not-allowed")
        assert "GET" in response.headers["Allow"]

    def test_another_media_type_is_a_problem(self, world):
        response = world.office.post(ROOFS, "a=b", content_type="text/plain")

        problem_of(response, 415, "unsupported-media-type")

    def test_an_answer_in_another_type_is_a_problem(self, world):
        response = world.office.get(ROOFS, headers={"Accept": "text/html"})

        problem_of(response, 406, "not-acceptable")


class TestOutsideTheViews:
    def test_a_failure_under_api_is_a_problem(self):
        problem_of(
            outside.server_error(RequestFactory().get(ROOFS)), 500, "server-error"
        )

    def test_a_refused_token_under_api_is_a_problem(self):
        problem_of(
            outside.csrf_failure(RequestFactory().post(ROOFS)), 403, "csrf-failed"
        )

    def test_a_page_keeps_its_own_answer(self):
        response = outside.not_found(RequestFactory().get("/roofs"), Http404())

        assert response.headers["Content-Type"].startswith("text/html")

    @pytest.mark.urls("tests.api.failing_urls")
    def test_an_unforeseen_failure_tells_nothing_of_itself(self, client):
        client.raise_request_exception = False

        response = client.get("/api/v1/failing")

        body = problem_of(response, 500, "server-error")
        assert "secret" not in json.dumps(body)


class TestParameters:
    def test_an_unknown_parameter_is_refused(self, world):
        body = problem_of(
            world.office.get(f"{ROOFS}?statsu=new"), 400, "unknown-parameter"
        )

        assert body["errors"][0]["parameter"] == "statsu"

    def test_a_filter_without_a_value_is_refused(self, world):
        refused = world.office.get("/api/v1/visits?from_on=")

        body = problem_of(refused, 400, "invalid-parameter")
        assert body["errors"][0]["parameter"] == "from_on"

    @pytest.mark.parametrize("word", ["-707", "yes", "2", "null"])
    def test_a_truth_that_is_none_is_refused(self, world, word):
        refused = world.office.get(f"/api/v1/ownerships?is_corrected={word}")

        problem_of(refused, 400, "invalid-parameter")

    def test_a_value_a_filter_cannot_use_is_refused(self, world):
        body = problem_of(
            world.office.get(f"{ROOFS}?completed_from=soon"), 400, "invalid-parameter"
        )

        assert body["errors"][0]["parameter"] == "completed_from"

    @pytest.mark.parametrize("cursor", ["x", "", "AAAA", "é"])
    def test_a_made_up_cursor_is_refused(self, world, cursor):
        response = world.office.get(ROOFS, {"cursor": cursor})

        problem_of(response, 400, "invalid-cursor")

    @pytest.mark.parametrize("size", ["0", "-1", "many", "²"])
    def test_a_page_size_that_is_no_count_is_refused(self, world, size):
        response = world.office.get(ROOFS, {"page_size": size})

        problem_of(response, 400, "invalid-parameter")


class TestBodies:
    @pytest.mark.parametrize(
        "text",
        ["{", '{"a": NaN}', '{"a": 1, "a": 2}', b"\xff", "[" * 100_000, "1" * 5000],
    )
    def test_what_is_no_json_is_malformed(self, world, text):
        response = world.office.post(ROOFS, text, content_type=JSON)

        problem_of(response, 400, "malformed")

    @pytest.mark.parametrize("text", ["[]", '"x"', "null", "1"])
    def test_what_is_no_object_is_refused(self, world, text):
        response = world.office.post(ROOFS, text, content_type=JSON)

        problem_of(response, 400, "validation-error")

    def test_an_unknown_member_is_named(self, world):
        body = {"coach": str(world.coach.uuid), "colour": "red", "a/b": 1}

        found = problem_of(
            world.office.post(ROOFS, body, content_type=JSON), 400, "validation-error"
        )

        assert [(e["pointer"], e["code"]) for e in found["errors"]] == [
            ("#/a~1b", "unknown-member"),
            ("#/colour", "unknown-member"),
        ]

    def test_a_missing_member_is_named(self, world):
        found = problem_of(
            world.office.post(ROOFS, {}, content_type=JSON), 400, "validation-error"
        )

        assert found["errors"] == [
            {
                "pointer": "#/coach",
                "detail": "This field is required.",
                "code": "required",
            }
        ]

    @pytest.mark.parametrize(
        ("member", "value"),
        [("ref", 5), ("is_void", "true"), ("roof", 7), ("technician", True)],
    )
    def test_a_value_of_another_type_is_named(self, world, member, value):
        body = {
            "roof": str(world.roof.uuid),
            "ref": "V-1",
            "kind": "SURVEY",
            "happened_on": "2025-04-01",
        }

        found = problem_of(
            world.office.post(
                "/api/v1/visits", {**body, member: value}, content_type=JSON
            ),
            400,
            "validation-error",
        )

        assert [each["pointer"] for each in found["errors"]] == [f"#/{member}"]
