"""A sale passes promises on; the history stays, and names stay where they belong."""

from __future__ import annotations

from uuid import uuid4

import pytest

from fleet.models import Coach, Ownership
from fleet.selectors.verification import verify_ledgers
from tests.api import records
from warranty.models import Edition, Transfer

JSON = "application/json"


@pytest.fixture
def buyer(world):
    return records.owner("Second Wind Hire")


def sale(world, buyer, *coaches: Coach, **over: object):
    body = {
        "coaches": [str(coach.uuid) for coach in coaches or (world.coach,)],
        "to": str(buyer.uuid),
        "sold_on": "2025-06-01",
        "told_on": "2025-06-20",
        **over,
    }
    return world.office.post("/api/v1/transfers", body, content_type=JSON)


def edition_with(world, **terms: object) -> None:
    """Promise the roof under an edition with these terms of transfer."""
    told = records.edition()
    fields = {
        f.attname: getattr(told, f.attname) for f in Edition._meta.concrete_fields
    }
    for own in ("id", "uuid", "code", "published_at"):
        fields.pop(own)
    edition = records.add_edition(
        edition=Edition(**{**fields, "code": "RENT-T", **terms}), now=records.EARLIER
    )
    records.assign_terms(
        roof=world.roof,
        edition=edition,
        happened_on=records.COMPLETED_ON,
        by=world.office_user,
        now=records.EARLIER,
    )


def test_the_coach_is_the_new_holders_and_the_promise_is_told_of(world, buyer):
    response = sale(world, buyer)

    world.coach.refresh_from_db()
    [told] = response.json()["transfers"]
    assert response.status_code == 201
    assert world.coach.holder == buyer
    assert told["former"] == str(world.holder.uuid)
    assert verify_ledgers().faults == []


@pytest.mark.parametrize(("told_on", "late"), [("2025-07-01", 0), ("2025-07-02", 1)])
def test_the_last_day_of_the_notice_is_in_time(world, buyer, told_on, late):
    # Day 30 after 1 June is 1 July; a limit is the last day (project convention).
    edition_with(world, transfer_notice_days=30)

    [told] = sale(world, buyer, told_on=told_on).json()["transfers"]

    assert told["deadline_on"] == "2025-07-01"
    assert (told["is_late"], told["days_late"]) == (late > 0, late)


def test_an_edition_that_asks_for_an_inspection_waits_for_it(world, buyer):
    edition_with(world, transfer_needs_inspection=True)
    sale(world, buyer)
    visit = {"roof": str(world.roof.uuid), "ref": "V-T", "kind": "INSPECTION"}

    def is_open() -> bool:
        return world.office.get("/api/v1/transfers").json()["results"][0]["is_open"]

    before = is_open()
    world.office.post(
        "/api/v1/visits",
        {**visit, "happened_on": "2025-06-15", "result": "PASS"},
        content_type=JSON,
    )
    assert (before, is_open()) == (True, False)


def test_an_edition_that_does_not_pass_on_refuses_and_moves_nothing(world, buyer):
    edition_with(world, is_transferable=False)

    refused = sale(world, buyer)

    world.coach.refresh_from_db()
    assert (refused.status_code, refused.json()["code"]) == (
        409,
        "transfer-not-allowed",
    )
    assert world.coach.holder == world.holder


def test_a_fleet_is_sold_in_one_go_or_not_at_all(world, buyer):
    second = records.coach(world.office_user, world.holder)
    records.roof(world.office_user, second)

    sold = sale(world, buyer, world.coach, second)

    assert len(sold.json()["transfers"]) == 2
    assert set(Coach.objects.values_list("holder", flat=True)) == {buyer.pk}


def test_one_coach_too_many_and_nothing_is_sold(world, buyer):
    body = [str(world.coach.uuid), str(uuid4())]

    refused = sale(world, buyer, coaches=body)

    assert refused.json()["errors"][0]["pointer"] == "#/coaches/1"
    assert not Transfer.objects.exists()


def test_the_same_sale_sent_again_is_one_sale(world, buyer):
    uuid = str(uuid4())

    first, again = sale(world, buyer, uuid=uuid), sale(world, buyer, uuid=uuid)

    assert first.json() == again.json()
    assert Ownership.objects.filter(owner=buyer).count() == 1


def test_who_holds_it_already_buys_nothing(world):
    refused = sale(world, world.holder)

    assert refused.json()["errors"][0]["pointer"] == "#/to"


def test_neither_holder_learns_the_others_name(world, buyer):
    sale(world, buyer)
    theirs = records.client_of(records.manager_of(buyer))

    [taken] = theirs.get("/api/v1/transfers").json()["results"]
    [given] = world.manager.get("/api/v1/transfers").json()["results"]

    assert (taken["former"], taken["holder"]) == (None, str(buyer.uuid))
    assert (given["former"], given["holder"]) == (str(world.holder.uuid), None)
    assert world.stranger.get("/api/v1/transfers").json()["results"] == []


@pytest.mark.parametrize("who", ["technician", "manager", "stranger"])
def test_only_the_office_records_a_sale(world, buyer, who):
    body = {"coaches": [str(world.coach.uuid)], "to": str(buyer.uuid)}

    answer = world.who(who).post("/api/v1/transfers", body, content_type=JSON)

    assert answer.status_code == 403
