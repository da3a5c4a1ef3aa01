"""Coverages, waivers, claims and what is due."""

from __future__ import annotations

from uuid import uuid4

import pytest

from tests.api import records

JSON = "application/json"


def post(client, address: str, **body: object):
    return client.post(f"/api/v1/{address}", body, content_type=JSON)


def loss(world, **over: object) -> dict[str, object]:
    return {
        "roof": str(world.roof.uuid),
        "noticed_on": "2025-03-01",
        "reported_on": "2025-03-02",
        "description": "drip at the vent",
        **over,
    }


class TestCoverages:
    def test_the_office_promises_a_roof_once_for_each_uuid(self, world):
        records.edition("RENT-2031")
        body = {
            "uuid": str(uuid4()),
            "roof": str(world.roof.uuid),
            "edition": "RENT-2031",
            "happened_on": "2025-01-01",
        }

        first = post(world.office, "coverages", **body)
        again = post(world.office, "coverages", **body)

        assert (first.status_code, again.status_code) == (201, 200)
        assert world.manager.get(first.headers["Location"]).json()["edition"] == (
            "RENT-2031"
        )
        assert world.stranger.get(first.headers["Location"]).status_code == 404

    def test_nobody_else_does(self, world):
        body = {
            "roof": str(world.roof.uuid),
            "edition": "RENT-2024",
            "happened_on": "2025-01-01",
        }

        assert post(world.technician, "coverages", **body).status_code == 403
        assert post(world.manager, "coverages", **body).status_code == 403


class TestWaivers:
    def waiver(self, world, **over: object) -> dict[str, object]:
        return {
            "roof": str(world.roof.uuid),
            "clause": "climate",
            "from_on": "2024-06-03",
            "why": "the log was lost in a flood",
            **over,
        }

    def test_a_waived_clause_is_met_and_says_so(self, world):
        post(world.office, "waivers", **self.waiver(world))

        address = f"/api/v1/roofs/{world.roof.uuid}/standing?as_of=2024-07-01"
        clauses = world.office.get(address).json()["clauses"]

        climate = next(c for c in clauses if c["clause"] == "climate")
        assert (climate["verdict"], climate["waived"]) == ("MET", True)

    @pytest.mark.parametrize(
        ("member", "value"),
        [("clause", "term"), ("why", ""), ("until_on", "2024-01-01")],
    )
    def test_a_waiver_that_cannot_be_is_named(self, world, member, value):
        response = post(
            world.office, "waivers", **self.waiver(world, **{member: value})
        )

        assert response.status_code == 400
        assert response.json()["errors"][0]["pointer"] == f"#/{member}"

    def test_a_technician_waives_nothing(self, world):
        response = post(world.technician, "waivers", **self.waiver(world))

        assert response.status_code == 403

    def test_a_second_person_is_another_person(self, world):
        first = post(world.office, "waivers", **self.waiver(world))
        second = f"waivers/{first.json()['uuid']}/second"
        other = records.client_of(records.person())

        own, others = post(world.office, second), post(other, second)

        assert own.status_code == 400
        assert others.status_code == 201
        assert others.json()["seconded_by"] == str(world.office_user)
        assert others.json()["supersedes"] == first.json()["uuid"]


class TestClaims:
    @pytest.mark.parametrize("who", ["office", "technician", "manager"])
    def test_staff_and_holder_report_one(self, world, who):
        response = post(world.who(who), "claims", **loss(world))

        assert response.status_code == 201
        told = world.who(who).get(response.headers["Location"]).json()
        assert told["reports"][0]["description"] == "drip at the vent"
        assert told["holder"] == str(world.holder.uuid)

    def test_a_stranger_reports_none(self, world):
        assert post(world.stranger, "claims", **loss(world)).status_code == 404

    def test_the_same_report_is_one_claim(self, world):
        body = loss(world, uuid=str(uuid4()))

        first, again = (post(world.manager, "claims", **body) for _ in range(2))
        other = post(world.manager, "claims", **{**body, "description": "stain"})

        assert [r.status_code for r in (first, again, other)] == [201, 200, 409]
        assert first.json() == again.json()

    def test_two_senders_may_choose_one_uuid(self, world):
        body = loss(world, uuid=str(uuid4()))

        statuses = [
            post(world.who(who), "claims", **body).status_code
            for who in ("office", "manager")
        ]

        assert statuses == [201, 201]

    def test_money_is_the_offices(self, world):
        body = loss(world, estimate_cents=100)

        assert post(world.technician, "claims", **body).status_code == 403
        told = post(world.office, "claims", **body).json()["reports"][0]
        assert (told["estimate_cents"], told["currency"]) == (100, "USD")

    @pytest.mark.parametrize("money", [1.5, "12.50", -1, 10**12, True])
    def test_money_is_whole_cents(self, world, money):
        response = post(world.office, "claims", **loss(world, estimate_cents=money))

        assert response.status_code == 400
        assert response.json()["errors"][0]["pointer"] == "#/estimate_cents"

    def test_it_was_noticed_before_it_was_reported(self, world):
        response = post(world.office, "claims", **loss(world, reported_on="2025-02-01"))

        assert response.json()["errors"][0]["pointer"] == "#/noticed_on"

    def test_the_office_corrects_a_report(self, world):
        claim = post(world.office, "claims", **loss(world)).json()
        body = loss(world, noticed_on="2025-02-01")
        body["supersedes"] = claim["reports"][0]["uuid"]
        del body["roof"]

        told = post(world.office, f"claims/{claim['uuid']}/correct", **body).json()

        assert told["noticed_on"] == "2025-02-01"
        assert len(told["reports"]) == 2
        refused = post(world.manager, f"claims/{claim['uuid']}/correct", **body)
        assert refused.status_code == 403


class TestInspectionsDue:
    def test_they_come_in_the_order_of_their_day_and_number(self, world):
        # Recorded in another order than they are listed in.
        for unit_no in ("HL-B", "HL-A"):
            coach = records.coach(
                world.office_user, world.holder, unit_no=unit_no, town="Gull Prairie"
            )
            records.roof(world.office_user, coach)

        query = {"from": "2025-06-03", "to": "2025-06-03", "page_size": 2}
        first = world.office.get("/api/v1/inspections-due", query).json()
        second = world.office.get(first["next"]).json()

        units = [row["unit_no"] for row in first["results"] + second["results"]]
        assert units == sorted([world.coach.unit_no, "HL-A", "HL-B"])
        assert second["next"] is None

    def test_a_place_narrows_them(self, world):
        address = "/api/v1/inspections-due"

        assert world.office.get(address, {"place": "narrows"}).json()["results"]
        assert world.office.get(address, {"place": "OH"}).json()["results"]
        assert not world.office.get(address, {"place": "Gull"}).json()["results"]

    def test_a_day_outside_is_left_out(self, world):
        query = {"from": "2025-06-04"}

        told = world.office.get("/api/v1/inspections-due", query).json()

        assert told["results"] == []

    def test_an_ended_promise_is_left_out(self, world):
        post(
            world.office, f"coaches/{world.coach.uuid}/retire", retired_on="2024-09-01"
        )

        assert world.office.get("/api/v1/inspections-due").json()["results"] == []
