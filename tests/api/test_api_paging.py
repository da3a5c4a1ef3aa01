"""Pages that lose no row and repeat none, at a cost that does not grow with rows."""

from __future__ import annotations

import json

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.api import records

JSON = "application/json"


def walk(client, address: str, rel: str = "next") -> list[list[dict]]:
    pages = []
    while address:
        page = client.get(address).json()
        pages.append(page["results"])
        address = page[rel]
    return pages


class TestWalking:
    @pytest.fixture
    def film(self, world):
        records.film(world.roof, world.office_user, spots=7)
        return "/api/v1/film-readings?page_size=3"

    def test_forward_every_row_comes_once_in_order(self, world, film):
        pages = walk(world.office, film)

        assert [len(page) for page in pages] == [3, 3, 1]
        assert [row["spot_no"] for page in pages for row in page] == list(range(1, 8))

    def test_backward_it_is_the_same_pages(self, world, film):
        forward = walk(world.office, film)
        address, last = film, None
        while address:
            last, address = address, world.office.get(address).json()["next"]

        backward = walk(world.office, last, "previous")

        assert backward[::-1] == forward[:1] + forward[1:]

    def test_a_row_recorded_meanwhile_repeats_none(self, world, film):
        first = world.office.get(film).json()
        records.film(world.roof, world.office_user, spots=1)

        rest = walk(world.office, first["next"])

        assert [row["spot_no"] for page in rest for row in page] == [4, 5, 6, 7, 1]

    def test_the_neighbours_stand_in_the_link_header(self, world, film):
        first = world.office.get(film)
        second = world.office.get(first.json()["next"])

        assert first.headers["Link"] == f'<{first.json()["next"]}>; rel="next"'
        assert 'rel="prev"' in second.headers["Link"]

    def test_a_page_has_no_more_than_two_hundred_rows(self, world):
        records.film(world.roof, world.office_user, spots=201)

        page = world.office.get("/api/v1/film-readings?page_size=100000").json()

        assert len(page["results"]) == 200

    def test_filters_stay_on_the_next_page(self, world, film):
        address = f"{film}&roof={world.roof.uuid}"

        assert f"roof={world.roof.uuid}" in world.office.get(address).json()["next"]

    def test_a_cursor_belongs_to_its_address(self, world, film):
        cursor = world.office.get(film).json()["next"].split("cursor=")[1]
        cursor = cursor.split("&")[0]

        response = world.office.get(f"/api/v1/visits?cursor={cursor}")

        assert response.json()["code"] == "invalid-cursor"

    def test_a_changed_cursor_is_refused(self, world, film):
        cursor = world.office.get(film).json()["next"].split("cursor=")[1]
        other = "A" if cursor[0] != "A" else "B"

        response = world.office.get(f"{film}&cursor={other}{cursor[1:]}")

        assert response.json()["code"] == "invalid-cursor"


LISTS = [
    "owners",
    "merges",
    "coaches",
    "coach-descriptions",
    "ownerships",
    "retirements",
    "systems",
    "technicians",
    "roofs",
    "installations",
    "penetrations",
    "alterations",
    "visits",
    "findings",
    "cures",
    "coat-logs",
    "film-readings",
    "moisture-readings",
    "adhesion-readings",
    "climate-readings",
    "editions",
    "coverages",
    "registrations",
    "waivers",
    "visit-approvals",
    "receipts",
    "contacts",
    "claims",
    "inspections-due",
    "runs",
    "imports",
]
STAFF_ONLY = {"receipts", "merges", "technicians", "imports"}


def fill(world, number: int) -> None:
    """Record one more of everything that is listed."""
    by = world.office_user
    coach = records.coach(by, world.holder)
    roof = records.roof(by, coach)
    records.vent(roof, by)
    records.film(roof, by)
    told = {"roof": str(roof.uuid), "happened_on": "2025-01-05"}

    def post(address: str, **body: object) -> dict:
        response = world.office.post(f"/api/v1/{address}", body, content_type=JSON)
        assert response.status_code in (201, 202), response.content
        return response.json()

    finding = post("findings", **told, severity="NOTE", note="a crack")["uuid"]
    post("visits", **told, ref=f"V{number}", kind="INSPECTION", technician=f"T{number}")
    post("visits", **told, ref=f"R{number}", kind="REPAIR", cures=[finding], note="ok")
    by_shop = {"kind": "INSPECTION", "result": "PASS", "shop": f"Shop {number}"}
    foreign = post("visits", **told, ref=f"F{number}", **by_shop)["uuid"]
    post("visit-approvals", visit=foreign, why="photos")
    post("receipts", **told, visit=foreign, paid_cents=9500)
    reached = {"role": "DRIVER", "name": f"Driver {number}", "phone": "555 0101"}
    post("contacts", owner=str(world.holder.uuid), **reached)
    post("alterations", **told, note="solar foot")
    post("coat-logs", **told, coat="base", lot="B1")
    post("moisture-readings", **told, moisture_pct="12", mode="PIN")
    post("adhesion-readings", **told, method="TAPE_X", grade=5)
    moment = {"taken_at": "2024-06-03T09:30:00-04:00", "temperature_unit": "F"}
    post("climate-readings", roof=told["roof"], **moment)
    post("registrations", roof=told["roof"], registered_on="2024-06-10")
    why = {"clause": "climate", "from_on": "2024-06-03", "why": "lost log"}
    post("waivers", roof=told["roof"], **why)
    loss = {"noticed_on": "2024-12-01", "reported_on": "2024-12-01"}
    claim = post("claims", roof=told["roof"], **loss, description="drip")
    post(f"claims/{claim['uuid']}/packet")
    post(f"coaches/{coach.uuid}/retire", retired_on="2026-09-01")
    records.edition(f"RENT-{3000 + number}")
    kept, dropped = records.owner(f"Kept {number}"), records.owner(f"Twice {number}")
    both = {"kept": str(kept.uuid), "dropped": str(dropped.uuid)}
    post("merges", kind="OWNER", **both, why="the same desk")


@pytest.mark.slow
def test_no_list_asks_more_for_more_rows(world):
    def cost(who: str) -> dict[str, int]:
        counts = {}
        for noun in LISTS:
            if who != "office" and noun in STAFF_ONLY:
                continue
            with CaptureQueriesContext(
                connection,
            ) as asked:
                response = world.who(who).get(f"/api/v1/{noun}")
            assert response.status_code == 200, response.content
            if noun not in ("imports", "systems"):
                assert json.loads(response.content)["results"], noun
            counts[noun] = len(asked)
        return counts

    fill(world, 1)
    few = {who: cost(who) for who in ("office", "manager")}
    for number in range(2, 5):
        fill(world, number)
    many = {who: cost(who) for who in ("office", "manager")}

    assert many == few
    assert max(few["office"].values()) <= 8
