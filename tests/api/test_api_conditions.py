"""Requests with conditions (RFC 9110, section 13, and RFC 6585 for 428)."""

from __future__ import annotations

import pytest

from tests.api import records
from tests.api.test_api_coaches import DESCRIBED
from tests.api.test_api_problems import problem_of

JSON = "application/json"

READS = (
    "/api/v1/me",
    "/api/v1/coaches",
    "/api/v1/coaches/{coach}",
    "/api/v1/roofs",
    "/api/v1/roofs/{roof}",
    "/api/v1/roofs/{roof}/plan",
    "/api/v1/roofs/{roof}/ledger",
    "/api/v1/installations",
    "/api/v1/inspections-due",
)


@pytest.mark.parametrize("address", READS)
def test_a_read_that_has_not_changed_is_304(world, address):
    address = address.format(coach=world.coach.uuid, roof=world.roof.uuid)
    first = world.office.get(address)
    tag = first.headers["ETag"]

    same = world.office.get(address, headers={"If-None-Match": tag})
    among = world.office.get(address, headers={"If-None-Match": f'"x", W/{tag}'})
    other = world.office.get(address, headers={"If-None-Match": '"x"'})

    assert (same.status_code, same.content) == (304, b"")
    assert same.headers["ETag"] == tag
    assert among.status_code == 304
    assert other.status_code == 200


def test_a_list_with_a_new_row_has_another_tag(world):
    before = world.office.get("/api/v1/coaches").headers["ETag"]
    records.coach(world.office_user)

    after = world.office.get("/api/v1/coaches", headers={"If-None-Match": before})

    assert after.status_code == 200
    assert after.headers["ETag"] != before


class TestChangesFromAVersion:
    def describe(self, world, tag: str | None):
        headers = {} if tag is None else {"If-Match": tag}
        return world.office.post(
            f"/api/v1/coaches/{world.coach.uuid}/describe",
            DESCRIBED,
            content_type=JSON,
            headers=headers,
        )

    def test_a_named_version_that_is_current_passes(self, world):
        tag = world.office.get(f"/api/v1/coaches/{world.coach.uuid}").headers["ETag"]

        assert self.describe(world, tag).status_code == 201

    def test_an_older_version_is_refused_and_changes_nothing(self, world):
        address = f"/api/v1/coaches/{world.coach.uuid}"
        tag = world.office.get(address).headers["ETag"]
        self.describe(world, None)
        now = world.office.get(address)

        problem_of(self.describe(world, tag), 412, "precondition-failed")

        assert world.office.get(address).headers["ETag"] == now.headers["ETag"]

    def test_any_version_is_a_star(self, world):
        assert self.describe(world, "*").status_code == 201

    def test_what_must_name_its_version_is_asked_for_it(self, world):
        address = f"/api/v1/owners/{world.holder.uuid}"

        refused = world.office.patch(address, {"phone": "555"}, content_type=JSON)

        problem_of(refused, 428, "precondition-required")

    def test_a_missing_record_is_missing_whatever_it_names(self, world):
        told = world.stranger.post(
            f"/api/v1/claims/{world.roof.uuid}/withdraw",
            {"why": "sold"},
            content_type=JSON,
            headers={"If-Match": "*"},
        )

        problem_of(told, 404, "not-found")
