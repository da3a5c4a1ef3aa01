"""Bookings, phones and what waits for the office's word; and the list of standings."""

from __future__ import annotations

from uuid import uuid4

import pytest

from fleet.models import Booking
from tests.api import records
from tests.api.test_api_problems import problem_of

JSON = "application/json"


class TestBookings:
    @pytest.fixture
    def planned(self, world):
        body = {
            "roof": str(world.roof.uuid),
            "kind": "INSPECTION",
            "planned_on": "2026-05-04",
            "window": "morning",
        }
        return world.office.post("/api/v1/bookings", body, content_type=JSON)

    def test_one_is_planned_listed_and_read(self, world, planned):
        assert planned.status_code == 201
        [listed] = world.technician.get("/api/v1/bookings").json()["results"]
        read = world.office.get(planned.headers["Location"])

        assert listed == planned.json() == read.json()
        assert read.headers["ETag"] == planned.headers["ETag"]

    def test_one_is_cancelled_from_the_version_that_was_read(self, world, planned):
        address = planned.headers["Location"] + "/cancel"

        problem_of(world.office.post(address), 428, "precondition-required")
        old = world.office.post(address, headers={"If-Match": '"old"'})
        problem_of(old, 412, "precondition-failed")
        told = world.office.post(address, headers={"If-Match": planned.headers["ETag"]})

        assert told.json()["state"] == "CANCELLED"
        assert Booking.objects.get().state == "CANCELLED"

    def test_a_manager_sees_none_and_plans_none(self, world, planned):
        problem_of(world.manager.get("/api/v1/bookings"), 403, "not-allowed")
        problem_of(
            world.manager.post("/api/v1/bookings", {}, content_type=JSON),
            403,
            "not-allowed",
        )


class TestPhones:
    def test_a_code_is_made_and_a_phone_is_revoked(self, world, client):
        me = world.technician.get("/api/v1/me").json()["uuid"]

        made = world.technician.post(
            "/api/v1/pairing-codes", {"person": me}, content_type=JSON
        )

        assert made.status_code == 201
        assert made.headers["Cache-Control"] == "no-store"
        assert made.json()["valid_for_s"] == 600

    def test_a_technician_pairs_nobody_else(self, world):
        other = world.office.get("/api/v1/me").json()["uuid"]

        refused = world.technician.post(
            "/api/v1/pairing-codes", {"person": other}, content_type=JSON
        )

        problem_of(refused, 400, "validation-error")

    def test_a_missing_phone_is_missing(self, world):
        problem_of(
            world.office.post(f"/api/v1/field-devices/{uuid4()}/revoke"),
            404,
            "not-found",
        )


class TestReviews:
    def test_there_are_none_and_a_missing_one_is_missing(self, world):
        assert world.office.get("/api/v1/field-reviews").json()["results"] == []
        refused = world.office.post(
            "/api/v1/field-reviews/7/settle",
            {"how": "dismiss", "why": "twice"},
            content_type=JSON,
        )
        problem_of(refused, 404, "not-found")

    def test_technicians_settle_nothing(self, world):
        problem_of(world.technician.get("/api/v1/field-reviews"), 403, "not-allowed")


class TestStandings:
    def test_each_roof_comes_with_what_its_promise_is_worth(self, world):
        bare = records.coach(world.office_user, world.holder)
        world.office.post("/api/v1/roofs", {"coach": str(bare.uuid)}, content_type=JSON)

        first, second = world.manager.get("/api/v1/standings").json()["results"]

        assert first["roof"] == str(world.roof.uuid)
        assert first["edition"] == "RENT-2024"
        assert first["standing"]
        assert (second["coach"], second["standing"]) == (str(bare.uuid), None)
        assert second["edition"] is None

    def test_a_stranger_sees_none(self, world):
        assert world.stranger.get("/api/v1/standings").json()["results"] == []

    def test_it_is_narrowed_and_paged(self, world):
        for _ in range(2):
            records.roof(world.office_user, records.coach(world.office_user))
        word = world.office.get("/api/v1/standings").json()["results"][0]["standing"]

        narrowed = world.office.get(f"/api/v1/standings?standing={word}&page_size=2")
        rest = world.office.get(narrowed.json()["next"]).json()["results"]

        assert len(narrowed.json()["results"]) == 2
        assert len(rest) == 1

    def test_more_roofs_ask_no_more_queries(self, world, django_assert_num_queries):
        world.office.get("/api/v1/standings")
        with django_assert_num_queries(3):
            world.office.get("/api/v1/standings")
        for _ in range(3):
            records.roof(world.office_user, records.coach(world.office_user))
        with django_assert_num_queries(3):
            world.office.get("/api/v1/standings")
