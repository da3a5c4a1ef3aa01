"""One roof from the survey to a claim packet, all of it through HTTP."""

from __future__ import annotations

import hashlib
from uuid import uuid4

import pytest
from django.utils import timezone

from fleet.models import Role
from jobs.registry import HANDLERS
from jobs.relay import Surroundings, attempt, claim
from tests import builders
from tests.api import records

JSON = "application/json"
COMPLETED_ON = "2024-06-03"


class Program:
    """Somebody's program: it reads and writes JSON and follows addresses."""

    def __init__(self, user) -> None:
        self.client = records.client_of(user)

    def post(self, address: str, *, if_match: str = "", **body: object) -> dict:
        url, headers = f"/api/v1/{address}", {"If-Match": if_match} if if_match else {}
        response = self.client.post(url, body, content_type=JSON, headers=headers)
        assert response.status_code in (200, 201, 202), response.content
        return response.json()

    def get(self, address: str, **query: object) -> dict:
        response = self.client.get(f"/api/v1/{address}", query)
        assert response.status_code == 200, response.content
        return response.json()


def film_round() -> list[dict[str, object]]:
    """Return five spots of three readings on each of three areas, by a notch gauge."""
    return [
        {
            "uuid": str(uuid4()),
            "coat": "base",
            "area_no": area,
            "spot_no": spot,
            "shot_no": shot,
            "last_wet": "28",
            "first_dry": "30",
            "unit": "mil",
            "happened_on": COMPLETED_ON,
        }
        for area in (1, 2, 3)
        for spot in (1, 2, 3, 4, 5)
        for shot in (1, 2, 3)
    ]


def promised_roof(office: Program, technician: Program) -> tuple[str, Program]:
    """Record a whole installation; return the roof and its holder's program."""
    owner = office.post("owners", name="Sandbar Coach Hire", kind="rental_fleet")
    coach = technician.post(
        "coaches",
        unit_no="HL-7001",
        description={"length": "26", "width": "8", "length_unit": "ft"},
    )
    office.post(
        f"coaches/{coach['uuid']}/hand-over", owner=owner["uuid"], from_on="2024-01-01"
    )
    office.post(
        "systems",
        code="HARDTOP-7",
        title="One coat on a hard roof",
        substrates=["ALUMINIUM"],
        air_min_c="10",
        dew_margin_c="3",
        coats=[
            {
                "role": "base",
                "wet_target_um": "711.2",
                "volume_solids_ratio": "0.65",
                "dry_min_um": "300",
                "dry_max_um": "600",
            }
        ],
    )
    edition = {
        "code": "RENT-7",
        "title": "Limited rental warranty",
        "owner_kind": "rental_fleet",
        "anchor": "anniversary",
        "interval_months": 12,
        "window_days": 60,
        "grace_days": 30,
        "reinstatement_days": 90,
        "registration_days": 30,
        "serious_cure_days": 30,
        **builders.LAWFUL_TEXT,
    }
    draft = office.post("editions", **edition)
    office.post(f"editions/{draft['uuid']}/publish", if_match=f'"{draft["uuid"]}.1"')
    roof = technician.post("roofs", coach=coach["uuid"])["uuid"]
    technician.post(
        "installations",
        roof=roof,
        system="HARDTOP-7",
        substrate="ALUMINIUM",
        started_on=COMPLETED_ON,
        completed_on=COMPLETED_ON,
    )
    technician.post(
        "penetrations",
        roof=roof,
        label="vent 1",
        kind="VENT",
        x="13",
        y="4",
        place_unit="ft",
        width="14",
        length="14",
        size_unit="in",
        is_detailed=True,
        happened_on=COMPLETED_ON,
    )
    technician.post(
        "climate-readings",
        roof=roof,
        taken_at=f"{COMPLETED_ON}T10:00:00-04:00",
        air="72",
        surface="84",
        temperature_unit="F",
        rh_pct="50",
    )
    technician.post("film-readings", roof=roof, readings=film_round())
    office.post("coverages", roof=roof, edition="RENT-7", happened_on=COMPLETED_ON)
    manager = Program(records.manager_of(records.owner_of(owner["uuid"])))
    manager.post("registrations", roof=roof, registered_on="2024-06-10")
    return roof, manager


@pytest.mark.slow
@pytest.mark.django_db
def test_a_roof_from_the_survey_to_the_packet():
    office = Program(records.person())
    technician = Program(records.person(Role.TECHNICIAN))

    roof, manager = promised_roof(office, technician)

    def standing(on: str) -> tuple[str, str | None]:
        told = manager.get(f"roofs/{roof}/standing", as_of=on)
        return told["standing"], told["next_due_on"]

    # Anniversary of 3 June; the last day of grace is thirty days later.
    assert standing("2024-07-01") == ("IN_FORCE", "2025-06-03")
    assert standing("2025-06-03") == ("IN_FORCE", "2025-06-03")
    assert standing("2025-06-04") == ("AT_RISK", "2025-06-03")
    assert standing("2025-07-04") == ("SUSPENDED", "2025-06-03")

    technician.post(
        "visits",
        roof=roof,
        ref="V70001",
        kind="INSPECTION",
        happened_on="2025-06-20",
        result="PASS",
    )
    assert standing("2025-06-19") == ("AT_RISK", "2025-06-03")
    assert standing("2025-06-20") == ("IN_FORCE", "2026-06-03")

    claimed = manager.post(
        "claims",
        roof=roof,
        noticed_on="2025-09-01",
        reported_on="2025-09-02",
        description="drip at the vent",
        estimate_cents=60000,
    )
    run = office.post(f"claims/{claimed['uuid']}/packet")
    work_off()
    assert office.get(f"runs/{run['uuid']}")["state"] == "DONE"
    [packet] = manager.get(f"claims/{claimed['uuid']}/packets")["results"]
    fetched = manager.client.get(packet["content"])
    # Read to its end a file closes by itself.
    digest = hashlib.sha256(b"".join(fetched.streaming_content)).hexdigest()
    assert fetched.headers["ETag"] == f'"{digest}"'


def work_off() -> None:
    """Do what waits, with the handlers that the runner has."""
    around = Surroundings(
        handlers=HANDLERS,
        clock=timezone.now,
        jitter=lambda: 0.0,
        is_stopping=lambda: False,
    )
    while run := claim(now=timezone.now()):
        attempt(run, around)
