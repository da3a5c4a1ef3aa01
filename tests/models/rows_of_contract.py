"""Valid rows and constraints of what the API keeps for its callers."""

from __future__ import annotations

from itertools import count
from typing import Any

from fleet import models as fleet
from tests.builders import NOON, make_owner
from tests.models.rows import VALID, Case, roof

_numbers = count(1)


def owner() -> fleet.Owner:
    return make_owner()


def event_of(first: Any) -> dict[str, Any]:
    return {"owner": first.owner, "position": first.position}


VALID.update(
    {
        fleet.KeptAnswer: lambda: {
            "principal": f"user:{next(_numbers)}",
            "key_sha256": "0" * 64,
            "fingerprint": "1" * 64,
            "status": 201,
            "headers": {},
            "body": b"{}",
            "answered_at": NOON,
        },
        fleet.Event: lambda: {
            "owner": owner(),
            "position": 1,
            "kind": "ROOF",
            "subject": roof().uuid,
            "coach": roof().coach,
            "roof": roof(),
            "recorded_at": NOON,
        },
    }
)

CONTRACT_CASES = [
    Case(
        name="kept_answer_once_per_key",
        table=fleet.KeptAnswer,
        takes={"key_sha256": "2" * 64},
        refuses=lambda first: {"principal": first.principal},
    ),
    Case(
        name="kept_answer_of_an_effect",
        table=fleet.KeptAnswer,
        takes={"status": 299},
        refuses={"status": 400},
    ),
    Case(
        name="event_position_once_per_owner",
        table=fleet.Event,
        takes=lambda first: {"owner": first.owner, "position": 2},
        refuses=event_of,
    ),
    Case(
        name="event_position_goes_with_owner",
        table=fleet.Event,
        takes={"owner": None, "position": None},
        refuses={"position": None},
    ),
    Case(
        name="event_kind_known",
        table=fleet.Event,
        takes={"kind": "CLAIM"},
        refuses={"kind": "SALE"},
    ),
]
