"""After a sale: the new holder sees the roof and nothing of the former holder."""

from __future__ import annotations

import json

import pytest

from tests.api import records

JSON = "application/json"
NAME = "Sandbar Coach Hire"
SECRETS = (NAME, "61234", "drip over the bunk", "call the desk", "fleet_manager")


@pytest.fixture
def sold(world):
    """A claim and a note of the former holder, then the sale."""
    roof = str(world.roof.uuid)
    world.manager.post(
        "/api/v1/claims",
        {
            "roof": roof,
            "noticed_on": "2025-03-01",
            "reported_on": "2025-03-02",
            "description": "drip over the bunk",
            "estimate_cents": 61234,
        },
        content_type=JSON,
    )
    world.manager.post(
        "/api/v1/registrations",
        {"roof": roof, "registered_on": "2024-06-10"},
        content_type=JSON,
    )
    world.office.post(
        "/api/v1/visits",
        {
            "roof": roof,
            "ref": "V1",
            "kind": "INSPECTION",
            "happened_on": "2025-04-01",
            "note": "call the desk first",
            "findings": [{"severity": "SERIOUS", "note": "call the desk again"}],
        },
        content_type=JSON,
    )
    records.film(world.roof, world.office_user)
    buyer = records.owner("Heron Trailer Rental")
    records.sell(world.coach, buyer, world.office_user)
    return records.client_of(records.manager_of(buyer))


def everything(client, world) -> dict[str, object]:
    roof = f"roofs/{world.roof.uuid}"
    addresses = [
        "owners",
        "coaches",
        f"coaches/{world.coach.uuid}",
        "coach-descriptions",
        "ownerships",
        "roofs",
        roof,
        f"{roof}/plan",
        f"{roof}/standing?as_of=2025-05-01",
        f"{roof}/standing?as_of=2024-06-03",
        f"{roof}/history",
        f"{roof}/ledger",
        "visits",
        "findings",
        "film-readings",
        "registrations",
        "waivers",
        "claims",
        "coverages",
        "inspections-due",
        "runs",
    ]
    answers = {address: client.get(f"/api/v1/{address}") for address in addresses}
    assert {a: r.status_code for a, r in answers.items()} == dict.fromkeys(answers, 200)
    return {address: answer.json() for address, answer in answers.items()}


def test_the_new_holder_sees_the_roof_and_its_film(world, sold):
    told = everything(sold, world)

    for address in ("roofs", "visits", "findings", "film-readings", "registrations"):
        assert len(told[address]["results"]) == 1, address


def test_the_new_holder_learns_nothing_of_the_former_one(world, sold):
    text = json.dumps(everything(sold, world))

    assert [secret for secret in SECRETS if secret in text] == []


def test_the_new_holder_sees_no_claim_of_the_former_one(world, sold):
    assert sold.get("/api/v1/claims").json()["results"] == []


def test_the_former_holder_keeps_the_claim_and_nothing_else(world, sold):
    claims = world.manager.get("/api/v1/claims").json()["results"]

    assert [claim["reports"][0]["estimate_cents"] for claim in claims] == [61234]
    address = f"/api/v1/claims/{claims[0]['uuid']}"
    assert world.manager.get(address).status_code == 200
    for noun in ("roofs", "coaches", "visits", "film-readings", "inspections-due"):
        assert world.manager.get(f"/api/v1/{noun}").json()["results"] == [], noun


def test_the_new_holder_claims_no_loss_of_an_earlier_day(world, sold):
    body = {
        "roof": str(world.roof.uuid),
        "noticed_on": "2025-05-31",
        "reported_on": "2025-06-02",
        "description": "stain",
    }

    early = sold.post("/api/v1/claims", body, content_type=JSON)
    own = sold.post(
        "/api/v1/claims", {**body, "noticed_on": "2025-06-01"}, content_type=JSON
    )

    assert early.status_code == 400
    assert early.json()["errors"][0]["pointer"] == "#/noticed_on"
    assert own.status_code == 201


def test_the_new_holder_reads_notes_of_the_own_time(world, sold):
    world.office.post(
        "/api/v1/visits",
        {
            "roof": str(world.roof.uuid),
            "ref": "V2",
            "kind": "INSPECTION",
            "happened_on": "2025-06-03",
            "note": "dry and tight",
        },
        content_type=JSON,
    )

    notes = [row["note"] for row in sold.get("/api/v1/visits").json()["results"]]

    assert notes == [None, "dry and tight"]
