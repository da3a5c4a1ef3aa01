"""Contacts, other shops' inspections, receipts and owners' links through the API."""

from __future__ import annotations

from uuid import uuid4

import pytest

from fleet.models import Contact
from tests.api import records
from warranty.models import Receipt, VisitApproval

pytestmark = pytest.mark.django_db
JSON = "application/json"
WHY = "Their photos show every vent."


def post(client, address: str, **body: object):
    return client.post(f"/api/v1/{address}", body, content_type=JSON)


def visit(world, **over: object) -> dict:
    told = {
        "roof": str(world.roof.uuid),
        "ref": f"V-{uuid4().hex[:6]}",
        "kind": "INSPECTION",
        "happened_on": "2025-05-20",
        "result": "PASS",
        "shop": "Pine Bend RV Service",
    }
    response = post(world.office, "visits", **told | over)
    assert response.status_code == 201, response.content
    return response.json()


def next_due(world) -> str:
    address = f"/api/v1/roofs/{world.roof.uuid}/standing?as_of=2025-05-20"
    return world.office.get(address).json()["next_due_on"]


class TestOtherShops:
    def test_a_visit_tells_whose_it_was(self, world):
        foreign, own = visit(world), visit(world, shop="")

        assert (foreign["shop"], foreign["is_by_other_shop"]) == (
            "Pine Bend RV Service",
            True,
        )
        assert (own["shop"], own["is_by_other_shop"]) == (None, False)

    def test_it_counts_once_approved_and_no_more_once_withdrawn(self, world):
        """Completed 3 June 2024: due a year later, window from 4 April."""
        foreign = visit(world)
        assert next_due(world) == "2025-06-03"

        told = post(world.office, "visit-approvals", visit=foreign["uuid"], why=WHY)
        assert told.status_code == 201, told.content
        assert next_due(world) == "2026-06-03"

        address = f"visit-approvals/{told.json()['uuid']}/withdraw"
        struck = post(world.office, address, why="Photos of another roof.")
        assert struck.status_code == 201
        assert struck.json()["is_void"] is True
        assert next_due(world) == "2025-06-03"

    def test_sent_twice_under_one_id_it_is_one_approval(self, world):
        body = {"uuid": str(uuid4()), "visit": visit(world)["uuid"], "why": WHY}

        first = post(world.office, "visit-approvals", **body)
        post(world.office, "visit-approvals", **body)

        assert first.status_code == 201
        assert VisitApproval.objects.count() == 1

    @pytest.mark.parametrize("who", ["manager", "technician"])
    def test_only_the_office_approves(self, world, who):
        foreign = visit(world)

        answer = post(
            getattr(world, who), "visit-approvals", visit=foreign["uuid"], why=WHY
        )

        assert answer.status_code == 403

    def test_a_failing_inspection_is_not_approved(self, world):
        failing = visit(world, result="FAIL")

        answer = post(world.office, "visit-approvals", visit=failing["uuid"], why=WHY)

        assert answer.status_code == 400
        assert answer.json()["code"] == "invalid-value"


class TestReceipts:
    def test_a_fee_is_noted_on_its_visit(self, world):
        inspected = visit(world, shop="")
        told = post(
            world.office,
            "receipts",
            roof=str(world.roof.uuid),
            visit=inspected["uuid"],
            happened_on="2025-05-20",
            paid_cents=9500,
        )

        assert told.status_code == 201, told.content
        assert told.json()["currency"] == "USD"
        assert Receipt.objects.get().visit.ref == inspected["ref"]

    def test_nothing_is_no_receipt(self, world):
        roof = str(world.roof.uuid)

        answer = post(world.office, "receipts", roof=roof, happened_on="2025-05-20")

        assert answer.status_code == 400

    def test_holders_see_none(self, world):
        assert world.manager.get("/api/v1/receipts").status_code == 403


class TestContacts:
    def made(self, world, **over: object):
        told = {
            "owner": str(world.holder.uuid),
            "role": "YARD",
            "name": "Yard 2",
            "phone": "555 0101",
        }
        return post(world.office, "contacts", **told | over)

    def test_is_changed_from_the_version_that_was_read(self, world):
        made = self.made(world)
        address = f"/api/v1/contacts/{made.json()['uuid']}"
        tag = made.headers["ETag"]

        def change(phone: str):
            return world.office.patch(
                address, {"phone": phone}, content_type=JSON, headers={"If-Match": tag}
            )

        assert change("555 0102").json()["phone"] == "555 0102"
        assert change("555 0103").status_code == 412

    def test_is_removed_for_good(self, world):
        address = f"contacts/{self.made(world).json()['uuid']}/remove"

        assert post(world.office, address).status_code == 204
        assert not Contact.objects.exists()

    def test_needs_a_way_to_be_reached(self, world):
        assert self.made(world, phone="").status_code == 400

    def test_is_of_no_concern_to_another_owner(self, world):
        self.made(world)
        stranger = records.client_of(records.manager_of(records.owner("Pelican")))

        assert world.manager.get("/api/v1/contacts").json()["results"]
        assert stranger.get("/api/v1/contacts").json()["results"] == []


class TestRegistrationLinks:
    def test_the_address_registers(self, world):
        made = post(world.office, "registration-links", roof=str(world.roof.uuid))
        assert made.status_code == 201, made.content
        path = made.json()["address"].removeprefix("http://testserver")

        done = records.client_of(None).post(path)

        assert done.status_code == 200
        again = post(world.office, "registration-links", roof=str(world.roof.uuid))
        assert again.json()["code"] == "nothing-to-register"

    def test_only_the_office_makes_them(self, world):
        answer = post(world.manager, "registration-links", roof=str(world.roof.uuid))

        assert answer.status_code == 403
