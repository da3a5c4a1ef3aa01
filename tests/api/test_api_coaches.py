"""Owners, coaches and systems, written in three roles."""

from __future__ import annotations

from uuid import uuid4

import pytest

from tests.api import records

JSON = "application/json"
DESCRIBED = {"length": "26", "width": "8", "length_unit": "ft", "make": "Larkmere"}


def post(client, address: str, **body: object):
    return client.post(f"/api/v1/{address}", body, content_type=JSON)


class TestOwners:
    def patch(self, client, world, tag: str | None, **body: object):
        headers = {"If-Match": tag} if tag else {}
        return client.patch(
            f"/api/v1/owners/{world.holder.uuid}",
            body,
            content_type=JSON,
            headers=headers,
        )

    def tag(self, world) -> str:
        return world.office.get(f"/api/v1/owners/{world.holder.uuid}").headers["ETag"]

    def test_a_change_starts_from_the_version_read(self, world):
        before = self.tag(world)

        response = self.patch(world.office, world, before, phone="555 0100")

        assert response.status_code == 200
        assert response.json()["phone"] == "555 0100"
        assert response.headers["ETag"] == self.tag(world) != before

    def test_a_change_without_a_version_is_refused(self, world):
        response = self.patch(world.office, world, None, phone="555 0100")

        assert (response.status_code, response.json()["code"]) == (
            428,
            "precondition-required",
        )

    def test_a_change_from_an_older_version_is_refused(self, world):
        before = self.tag(world)
        self.patch(world.office, world, before, phone="555 0100")

        response = self.patch(world.office, world, before, phone="555 0199")

        assert (response.status_code, response.json()["code"]) == (
            412,
            "precondition-failed",
        )

    @pytest.mark.parametrize("who", ["technician", "manager"])
    def test_only_the_office_changes_contacts(self, world, who):
        response = self.patch(world.who(who), world, self.tag(world), phone="1")

        assert response.status_code == 403

    def test_a_manager_sees_its_own_owner_only(self, world):
        told = world.manager.get("/api/v1/owners").json()["results"]

        assert [row["uuid"] for row in told] == [str(world.holder.uuid)]
        foreign = world.stranger.get(f"/api/v1/owners/{world.holder.uuid}")
        assert foreign.status_code == 404

    def test_the_office_adds_one_once(self, world):
        body = {"uuid": str(uuid4()), "name": "Silvan Marsh", "kind": "private"}

        statuses = [
            post(world.office, "owners", **body).status_code,
            post(world.office, "owners", **body).status_code,
            post(world.office, "owners", **{**body, "name": "Other"}).status_code,
            post(world.technician, "owners", **body).status_code,
        ]

        assert statuses == [201, 200, 409, 403]

    def test_duplicates_become_one_and_it_stays_visible(self, world):
        double = records.owner("Sandbar Coach Hire Inc")
        body = {
            "kind": "OWNER",
            "kept": str(world.holder.uuid),
            "dropped": str(double.uuid),
            "why": "the same desk",
        }

        merged = post(world.office, "merges", **body)
        again = post(world.office, "merges", **body)

        assert merged.status_code == 201
        assert again.status_code == 400
        assert world.technician.get(merged.headers["Location"]).status_code == 200
        assert world.manager.get("/api/v1/merges").status_code == 403


class TestCoaches:
    def test_a_technician_adds_one_and_only_the_office_its_holder(self, world):
        held = {"owner": str(world.holder.uuid), "held_from": "2025-01-01"}

        bare = post(world.technician, "coaches", unit_no="X-1", description=DESCRIBED)
        refused = post(
            world.technician, "coaches", unit_no="X-2", description=DESCRIBED, **held
        )
        whole = post(
            world.office, "coaches", unit_no="X-3", description=DESCRIBED, **held
        )

        assert [r.status_code for r in (bare, refused, whole)] == [201, 403, 201]
        assert bare.json()["length_m"] == "7.9248"
        assert whole.json()["holder"] == str(world.holder.uuid)

    def test_a_size_no_coach_has_is_named(self, world):
        wrong = {**DESCRIBED, "width": "80"}

        response = post(world.office, "coaches", unit_no="X-4", description=wrong)

        assert response.json()["errors"][0]["pointer"] == "#/description/width"

    def test_a_taken_number_is_a_conflict(self, world):
        body = {"unit_no": world.coach.unit_no, "description": DESCRIBED}

        response = post(world.office, "coaches", **body)

        assert (response.status_code, response.json()["code"]) == (409, "coach-known")

    def test_it_is_handed_over_once_for_each_uuid(self, world):
        address = f"coaches/{world.coach.uuid}/hand-over"
        body = {
            "uuid": str(uuid4()),
            "owner": str(records.owner("Heron Trailer Rental").uuid),
            "from_on": "2025-05-01",
        }

        statuses = [
            post(world.office, address, **body).status_code,
            post(world.office, address, **body).status_code,
            post(
                world.office, address, **{**body, "from_on": "2025-05-02"}
            ).status_code,
            post(world.technician, address, **body).status_code,
        ]

        assert statuses == [201, 200, 409, 403]
        assert world.manager.get("/api/v1/coaches").json()["results"] == []

    def test_it_is_described_anew_and_retired(self, world):
        coach = f"coaches/{world.coach.uuid}"
        described = post(
            world.technician, f"{coach}/describe", **{**DESCRIBED, "make": "Kestrel"}
        )
        retired = post(world.office, f"{coach}/retire", retired_on="2025-09-01")

        told = world.office.get(f"/api/v1/{coach}").json()
        assert (described.status_code, retired.status_code) == (201, 201)
        assert (told["make"], told["retired_on"]) == ("Kestrel", "2025-09-01")

    def test_a_foreign_coach_is_missing(self, world):
        address = f"/api/v1/coaches/{world.coach.uuid}"

        assert world.stranger.get(address).status_code == 404
        assert world.manager.get(address).status_code == 200


class TestSystems:
    BODY = {
        "code": "SOFTTOP-9",
        "title": "One coat on a membrane",
        "substrates": ["EPDM"],
        "coats": [
            {
                "role": "base",
                "wet_target_um": "500",
                "volume_solids_ratio": "0.65",
                "dry_min_um": "300",
                "dry_max_um": "600",
            }
        ],
    }

    def test_the_office_adds_a_build_that_everybody_reads(self, world):
        response = post(world.office, "systems", **self.BODY)

        assert response.status_code == 201
        told = world.manager.get(response.headers["Location"]).json()
        assert told["substrates"] == ["EPDM"]
        assert told["coats"][0]["dry_min_um"] == "300.0000"

    def test_a_code_is_one_build(self, world):
        post(world.office, "systems", **self.BODY)

        again = post(world.office, "systems", **self.BODY)

        assert (again.status_code, again.json()["code"]) == (409, "system-known")

    def test_a_technician_adds_none(self, world):
        assert post(world.technician, "systems", **self.BODY).status_code == 403


def test_everybody_is_told_who_they_are(world):
    told = {
        who: world.who(who).get("/api/v1/me").json()
        for who in ("office", "technician", "manager")
    }

    assert told["office"]["may_run_office"] is True
    assert told["technician"]["role"] == "TECHNICIAN"
    assert told["technician"]["may_run_office"] is False
    assert told["manager"]["owner"] == str(world.holder.uuid)
    assert told["manager"]["sight"] == "OWN_COACHES"
