"""Bodies that mean harm: each is refused or taken, none breaks the register."""

from __future__ import annotations

import json

import pytest

from tests.api.test_api_coaches import DESCRIBED, TestSystems
from tests.api.test_api_editions import EDITION
from tests.api.test_api_facts import FACTS, reading
from tests.api.test_api_promises import loss

HOSTILE = [
    None,
    True,
    -1,
    10**30,
    1e308,
    "",
    " ",
    "\x00",
    "\ud800",
    "9" * 5000,
    "1e400",
    "-0",
    "NaN",
    "9999-12-31",
    "0001-01-01T00:00:00+14:00",
    [],
    {},
    [None],
    {"a": {"b": []}},
]


def bodies(world) -> dict[str, dict[str, object]]:
    roof = str(world.roof.uuid)
    owner = {"name": "Silvan Marsh", "kind": "private", "email": "", "phone": ""}
    correction = {"uuid": "", "supersedes": "", "is_void": True, "settles": True}
    return {
        **{noun: {"roof": roof, **body, **correction} for noun, body in FACTS.items()},
        "film-readings": {"roof": roof, "readings": [reading()]},
        "claims": loss(world, uuid="", ref="C1", estimate_cents=1, currency="USD"),
        "waivers": {
            "roof": roof,
            "clause": "climate",
            "from_on": "2025-01-01",
            "until_on": "2025-02-01",
            "why": "flood",
        },
        "coverages": {
            "roof": roof,
            "edition": "RENT-2024",
            "happened_on": "2025-01-01",
        },
        "editions": {**EDITION, "term_months": 12, "life_of": "coach"},
        "systems": TestSystems.BODY,
        "owners": owner,
        "roofs": {"coach": str(world.coach.uuid), "roof_no": 2},
        "coaches": {"unit_no": "X-1", "description": DESCRIBED},
        "merges": {"kind": "OWNER", "kept": "", "dropped": "", "why": "double"},
        f"coaches/{world.coach.uuid}/retire": {"retired_on": "2025-01-01"},
        f"coaches/{world.coach.uuid}/describe": dict(DESCRIBED),
    }


@pytest.mark.slow
def test_no_value_of_a_body_breaks_the_register(world):
    world.office.raise_request_exception = False
    broken = []
    for noun, body in bodies(world).items():
        for member in body:
            for value in HOSTILE:
                sent = json.dumps({**body, member: value})
                response = world.office.post(
                    f"/api/v1/{noun}", sent, content_type="application/json"
                )
                if response.status_code >= 500:
                    broken.append((noun, member, value, response.status_code))

    assert broken == []


@pytest.mark.slow
def test_no_value_of_a_reading_breaks_the_register(world):
    world.office.raise_request_exception = False
    broken = []
    for member in (*reading(), "method", "dry_value", "x_m", "uuid", "supersedes"):
        for value in HOSTILE:
            body = {
                "roof": str(world.roof.uuid),
                "readings": [reading(**{member: value})],
            }
            response = world.office.post(
                "/api/v1/film-readings",
                json.dumps(body),
                content_type="application/json",
            )
            if response.status_code >= 500:
                broken.append((member, value, response.status_code))

    assert broken == []


@pytest.mark.slow
def test_no_parameter_breaks_the_register(world):
    roof = f"/api/v1/roofs/{world.roof.uuid}"
    asked = {
        "/api/v1/roofs": ("coach", "unit_no", "completed_from", "substrate", "cursor"),
        "/api/v1/visits": ("roof", "from_on", "recorded_after", "kind", "page_size"),
        "/api/v1/film-readings": ("area_no", "coat", "is_corrected"),
        "/api/v1/inspections-due": ("from", "to", "place"),
        f"{roof}/standing": ("as_of", "known_at"),
        f"{roof}/plan": ("known_at",),
    }
    world.office.raise_request_exception = False
    broken = [
        (address, name, value, response.status_code)
        for address, names in asked.items()
        for name in names
        for value in ("", "\x00", "9" * 400, "-1", "9999-12-31", "%", "1e400", "é")
        if (response := world.office.get(address, {name: value})).status_code >= 500
    ]

    assert broken == []
