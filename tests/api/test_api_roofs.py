"""A roof, its plan, standing, course and ledger, asked by three people."""

from __future__ import annotations

import hashlib
import json
from datetime import UTC, date, datetime

import pytest

from fleet.ledger.chain import entry_sha256
from tests.api import records
from warranty.selectors.explanations import explanation_of

JSON = "application/json"
PARTS = ("", "/plan", "/standing", "/history", "/ledger")


def address(world, part: str = "") -> str:
    return f"/api/v1/roofs/{world.roof.uuid}{part}"


class TestWhoSees:
    @pytest.mark.parametrize("part", PARTS)
    @pytest.mark.parametrize("who", ["office", "technician", "manager"])
    def test_staff_and_holder_see_the_roof(self, world, who, part):
        assert world.who(who).get(address(world, part)).status_code == 200

    @pytest.mark.parametrize("part", PARTS)
    def test_a_foreign_roof_is_as_missing_as_a_missing_one(self, world, part):
        foreign = world.stranger.get(address(world, part))
        nowhere = "00000000-0000-4000-8000-000000000000"
        missing = world.stranger.get(f"/api/v1/roofs/{nowhere}{part}")

        assert foreign.status_code == missing.status_code == 404
        told = foreign.content.decode().replace(str(world.roof.uuid), nowhere)
        assert told == missing.content.decode()

    def test_a_strangers_list_is_empty(self, world):
        assert world.stranger.get("/api/v1/roofs").json()["results"] == []


class TestOpening:
    def test_a_technician_opens_a_roof(self, world):
        body = {"coach": str(world.coach.uuid)}

        response = world.technician.post("/api/v1/roofs", body, content_type=JSON)

        assert response.status_code == 201
        assert response.json()["roof_no"] == 2
        assert world.office.get(response.headers["Location"]).status_code == 200

    def test_the_same_uuid_opens_it_once(self, world):
        uuid = "11111111-1111-4111-8111-111111111111"
        body = {"coach": str(world.coach.uuid), "uuid": uuid}
        world.office.post("/api/v1/roofs", body, content_type=JSON)

        again = world.office.post("/api/v1/roofs", body, content_type=JSON)
        other = world.office.post(
            "/api/v1/roofs", {**body, "roof_no": 9}, content_type=JSON
        )

        assert again.status_code == 200
        assert other.status_code == 409

    def test_a_manager_opens_none(self, world):
        body = {"coach": str(world.coach.uuid)}

        response = world.manager.post("/api/v1/roofs", body, content_type=JSON)

        assert response.status_code == 403


class TestVersion:
    def test_an_unchanged_roof_is_not_sent_again(self, world):
        tag = world.office.get(address(world)).headers["ETag"]

        again = world.office.get(address(world), headers={"If-None-Match": tag})

        assert again.status_code == 304
        assert again.content == b""


class TestPlan:
    def test_it_measures_gutter_to_gutter_and_the_laps(self, world):
        records.vent(world.roof, world.office_user)

        plan = world.office.get(address(world, "/plan")).json()

        # 26 ft x 8 ft, and 2 x 2.5 in x 8 ft: exact by 1 ft = 0.3048 m (NIST SP 811).
        assert plan["plan_area_m2"] == pytest.approx(208 * 0.3048**2)
        assert plan["lap_area_m2"] == pytest.approx(2 * 0.0635 * 8 * 0.3048)
        assert plan["detail_m"] == pytest.approx(4 * 14 * 0.0254)
        assert [item["label"] for item in plan["penetrations"]] == ["vent 1"]

    def test_what_was_not_known_yet_is_not_on_it(self, world):
        records.vent(world.roof, world.office_user)

        query = {"known_at": "2025-01-01T00:00:00Z"}
        plan = world.office.get(address(world, "/plan"), query).json()

        assert plan["penetrations"] == []


class TestStanding:
    def test_it_answers_what_the_rules_answer(self, world):
        on = "2024-07-01"

        told = world.office.get(address(world, "/standing"), {"as_of": on}).json()

        rules = explanation_of(
            world.roof.pk, as_of=date.fromisoformat(on), known_at=_moment(told)
        ).explanation
        assert told["standing"] == rules.standing.value
        assert [(c["clause"], c["verdict"], c["because"]) for c in told["clauses"]] == [
            (r.clause.value, r.verdict.value, r.because) for r in rules.results
        ]

    def test_nothing_was_promised_before_it_was_known(self, world):
        query = {"known_at": "2025-01-01T00:00:00Z"}

        told = world.office.get(address(world, "/standing"), query).json()

        assert told["standing"] == "PENDING"
        assert told["edition"] is None
        assert told["because"].startswith("No terms")

    def test_an_ended_promise_has_no_next_inspection(self, world):
        query = {"as_of": "2026-11-24"}

        told = world.office.get(address(world, "/standing"), query).json()

        assert told["standing"] == "ENDED"
        assert told["next_due_on"] is None

    @pytest.mark.parametrize(
        ("name", "value"),
        [
            ("as_of", "9999-12-31"),
            ("as_of", "yesterday"),
            ("known_at", "2025-01-01T00:00:00"),
            ("known_at", "0001-01-01T00:00:00+14:00"),
        ],
    )
    def test_a_day_that_no_coach_has_is_refused(self, world, name, value):
        response = world.office.get(address(world, "/standing"), {name: value})

        assert response.status_code == 400
        assert response.json()["errors"][0]["parameter"] == name

    def test_its_course_has_no_gap(self, world):
        periods = world.office.get(address(world, "/history")).json()["periods"]

        ends = [date.fromisoformat(p["until_on"]) for p in periods[:-1]]
        starts = [date.fromisoformat(p["from_on"]) for p in periods[1:]]
        assert [(s - e).days for s, e in zip(starts, ends, strict=True)] == [1] * len(
            ends
        )


class TestLedger:
    def test_a_program_can_verify_the_chain_by_itself(self, world):
        page = world.office.get(address(world, "/ledger")).json()

        previous = ""
        for entry in page["results"]:
            payload = entry["payload"].encode()
            assert hashlib.sha256(payload).hexdigest() == entry["payload_sha256"]
            assert entry["previous_sha256"] == previous
            previous = entry_sha256(
                roof=str(world.roof.uuid),
                seq=entry["seq"],
                kind=entry["kind"],
                payload_sha256=entry["payload_sha256"],
                previous_sha256=previous,
                recorded_at=_as_chained(entry["recorded_at"]),
            )
            assert previous == entry["entry_sha256"]
        assert page["head"] == {"seq": len(page["results"]), "entry_sha256": previous}

    def test_a_holder_reads_no_claim_in_it(self, world):
        body = {
            "roof": str(world.roof.uuid),
            "noticed_on": "2025-03-01",
            "reported_on": "2025-03-02",
            "description": "drip at the vent",
            "estimate_cents": 61234,
        }
        world.office.post("/api/v1/claims", body, content_type=JSON)

        page = world.manager.get(address(world, "/ledger")).json()

        assert "61234" not in json.dumps(page)
        assert page["results"][0]["payload"] is not None
        assert page["results"][-1]["payload"] is None


def _moment(told: dict) -> datetime:
    return datetime.fromisoformat(told["known_at"])


def _as_chained(recorded_at: str) -> str:
    moment = datetime.fromisoformat(recorded_at).astimezone(UTC)
    return moment.isoformat(timespec="microseconds")
