"""A rental fleet's year, by a developer who has only the OpenAPI file.

The client is written from the committed document; it is checked with mypy --strict,
and every call below goes through it.
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import sys
from pathlib import Path
from uuid import uuid4

import pytest
from django.conf import settings
from mypy import api as mypy

from fleet.models import Role
from tests.api import records
from tests.api.test_api_later import work_off
from tests.client.generating import client_source

DOCUMENT = json.loads((Path(settings.BASE_DIR) / "config" / "openapi.json").read_text())
COACHES = 300


@pytest.fixture(scope="module")
def written(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("client") / "register_client.py"
    path.write_text(client_source(DOCUMENT))
    return path


@pytest.fixture(scope="module")
def client_module(written):
    spec = importlib.util.spec_from_file_location("register_client", written)
    module = importlib.util.module_from_spec(spec)
    sys.modules["register_client"] = module
    spec.loader.exec_module(module)
    yield module
    del sys.modules["register_client"]


@pytest.mark.slow
def test_the_client_has_every_operation_and_whole_types(written):
    said, complained, status = mypy.run(
        ["--strict", "--no-incremental", "--config-file=", str(written)]
    )

    assert (status, complained) == (0, ""), said[-2000:]
    source = written.read_text()
    for operations in DOCUMENT["paths"].values():
        for told in operations.values():
            name = "".join(
                f"_{c.lower()}" if c.isupper() else c for c in told["operationId"]
            )
            assert f"def {name}(" in source


def program(module, user):
    """Return the register as this person's program sees it."""
    browser = records.client_of(user)

    def send(method, url, headers, body):
        response = browser.generic(
            method,
            url,
            body,
            content_type=headers.get("Content-Type", "application/json"),
            headers={k: v for k, v in headers.items() if k != "Content-Type"},
        )
        content = (
            b"".join(response.streaming_content)
            if response.streaming
            else response.content
        )
        return response.status_code, response.headers, content

    return module.Register(send)


class Mirror:
    """A copy of the fleet that follows the feed of changes."""

    def __init__(self, register) -> None:
        self.register, self.after = register, 0
        self.seen: list[dict] = []
        self.coaches: dict[str, dict] = {}
        self.standings: dict[str, str] = {}

    def catch_up(self) -> int:
        before = self.after
        while True:
            page = self.register.list_events(after=self.after, page_size=500)
            for event in page["results"]:
                self._take(event)
            self.after = page["after"]
            if not page["has_more"]:
                return self.after - before

    def _take(self, event) -> None:
        self.seen.append(event)
        if event["kind"] == "COACH" and event["detail"] == "left":
            self.coaches.pop(event["subject"], None)
        elif event["kind"] == "COACH":
            self.coaches[event["subject"]] = self.register.get_coach(event["subject"])
        elif event["kind"] == "STANDING":
            self.standings[event["roof"]] = event["detail"]


@pytest.mark.slow
def test_a_rental_fleet_s_year(db, client_module):
    office = program(client_module, records.person())
    technician = program(client_module, records.person(Role.TECHNICIAN))
    records.system()
    records.edition()
    fleet = office.create_owner({"name": "Gull Point Hire", "kind": "rental_fleet"})
    manager = program(
        client_module, records.manager_of(records.owner_of(fleet["uuid"]))
    )
    mirror = Mirror(manager)

    # Spring: three hundred coaches, each added once though every request is repeated.
    coaches = [add_coach(office, fleet["uuid"], number) for number in range(COACHES)]
    listed = list(client_module.rows(manager.list_coaches, page_size=200))
    assert {row["uuid"] for row in listed} == set(coaches)
    assert mirror.catch_up() == COACHES
    assert set(mirror.coaches) == set(coaches)
    assert mirror.coaches[coaches[7]] == manager.get_coach(coaches[7])

    # Three roofs are laid, and a gauge's readings are synced in one batch, twice.
    roofs = [lay_roof(office, technician, coach) for coach in coaches[:3]]
    items = [reading(roof, shot) for roof in roofs for shot in range(1, 46)]
    first = technician.create_batch_film_reading({"items": items})
    again = technician.create_batch_film_reading({"items": items})
    assert (first["recorded"], first["refused"]) == (len(items), 0)
    assert {each["status"] for each in again["results"]} == {200}
    mirror.catch_up()
    told = {e["roof"] for e in mirror.seen if e["kind"] == "READINGS"}
    assert told == set(roofs)
    for roof in roofs:
        assert manager.get_roof_standing(roof)["standing"] == mirror.standings[roof]

    # Summer: a loss is reported by the fleet itself, and its packet is fetched.
    loss = {
        "roof": roofs[0],
        "noticed_on": "2025-03-01",
        "reported_on": "2025-03-02",
        "description": "drip beside the front vent",
    }
    claim = manager.create_claim(loss, idempotency_key='"loss-1"')
    assert manager.create_claim(loss, idempotency_key='"loss-1"') == claim
    run = office.create_claim_packet(claim["uuid"])
    work_off()
    assert office.get_run(run["uuid"])["state"] == "DONE"
    mirror.catch_up()
    [document] = [e for e in mirror.seen if e["kind"] == "DOCUMENT"]
    [packet] = manager.list_claim_packets(claim["uuid"])["results"]
    assert document["subject"] == packet["uuid"]
    content = manager.get_packet_content(packet["uuid"])
    assert hashlib.sha256(content).hexdigest() == packet["sha256"]

    # Autumn: one coach is sold; the mirror lets it go and can read it no more.
    buyer = office.create_owner({"name": "Silvan Marsh", "kind": "private"})
    office.hand_over_coach(
        coaches[9], {"owner": buyer["uuid"], "from_on": "2025-10-01"}
    )
    mirror.catch_up()
    assert set(mirror.coaches) == set(coaches) - {coaches[9]}
    with pytest.raises(client_module.Refused) as refused:
        manager.get_coach(coaches[9])
    assert (refused.value.status, refused.value.problem["code"]) == (404, "not-found")

    # The whole year was read without a gap, and nothing is left to read.
    assert [e["position"] for e in mirror.seen] == list(range(1, mirror.after + 1))
    assert mirror.catch_up() == 0


def add_coach(office, owner: str, number: int) -> str:
    body = {
        "unit_no": f"GP-{number:04}",
        "description": {
            "make": "Tern",
            "length": "12",
            "width": "8",
            "length_unit": "ft",
            "town": "Mill Narrows",
        },
        "owner": owner,
        "held_from": "2024-01-01",
    }
    first, second = (
        office.create_coach(body, idempotency_key=f'"coach-{number}"') for _ in range(2)
    )
    assert first == second
    return first["uuid"]


def lay_roof(office, technician, coach: str) -> str:
    roof = office.create_roof({"coach": coach})["uuid"]
    technician.create_installation(
        {
            "roof": roof,
            "system": "HARDTOP-2",
            "substrate": "ALUMINIUM",
            "started_on": "2024-06-03",
            "completed_on": "2024-06-03",
        }
    )
    office.create_coverage(
        {"roof": roof, "edition": "RENT-2024", "happened_on": "2024-06-03"}
    )
    return roof


def reading(roof: str, shot: int) -> dict[str, object]:
    return {
        "roof": roof,
        "uuid": str(uuid4()),
        "coat": "base",
        "area_no": 1,
        "spot_no": (shot - 1) // 3 + 1,
        "shot_no": (shot - 1) % 3 + 1,
        "last_wet": "28",
        "first_dry": "30",
        "unit": "mil",
        "happened_on": "2024-06-03",
    }
