"""A message holds ids, states and days, and is tried again for three days."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from jobs.webhooks.message import (
    MEMBERS,
    PAUSES,
    EventKind,
    MessageInputError,
    body_of,
    pause_after,
)
from warranty.rules.clause import Standing

NOON = datetime(2026, 6, 1, 12, tzinfo=ZoneInfo("America/Detroit"))
ROOF = UUID("5f7c9a52-0000-4000-8000-000000000001")
COACH = UUID("5f7c9a52-0000-4000-8000-000000000002")
CHANGED = {
    "roof": ROOF,
    "coach": COACH,
    "was": Standing.IN_FORCE,
    "is": Standing.AT_RISK,
    "as_of": date(2026, 6, 1),
}


def test_a_changed_standing():
    body = body_of(EventKind.STANDING_CHANGED, happened_at=NOON, data=CHANGED)

    assert json.loads(body) == {
        "type": "standing.changed",
        "timestamp": "2026-06-01T16:00:00Z",
        "data": {
            "roof": str(ROOF),
            "coach": str(COACH),
            "was": "IN_FORCE",
            "is": "AT_RISK",
            "as_of": "2026-06-01",
        },
    }


@pytest.mark.parametrize(
    "wrong",
    [
        {**CHANGED, "owner": "Somebody"},
        {k: v for k, v in CHANGED.items() if k != "roof"},
        {**CHANGED, "roof": "HL-7001"},
        {**CHANGED, "is": "IN_FORCE, says Somebody"},
    ],
)
def test_whatever_else_is_refused(wrong):
    with pytest.raises(MessageInputError):
        body_of(EventKind.STANDING_CHANGED, happened_at=NOON, data=wrong)


def test_every_kind_says_what_it_has():
    assert set(MEMBERS) == set(EventKind)


# Standard Webhooks specification, "Deliverability and reliability", example schedule:
# the last row is 75:35:05 after the first (spec/standard-webhooks.md of its repository,
# commit 03f5f8c684881c36430d8b62d7bc54e518371720).
def test_the_tries_grow_rarer_and_end_after_three_days():
    waits = [pause_after(tries, jitter=0) for tries in range(1, len(PAUSES) + 1)]

    assert waits == sorted(waits)
    assert sum(waits, timedelta()) == timedelta(hours=75, minutes=35, seconds=5)
    assert pause_after(len(PAUSES) + 1, jitter=0) is None


def test_jitter_adds_at_most_a_tenth():
    assert pause_after(1, jitter=0.5) == timedelta(seconds=5.25)
