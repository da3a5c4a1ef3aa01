"""When a fleet's digest goes out: in the morning, unless a deadline would pass."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from fleet.models import Owner, OwnerKind
from jobs.notices.judging import Owed, sending_time
from warranty.rules.courtesy import Courtesy
from warranty.rules.ladder import Step

DETROIT = ZoneInfo("America/Detroit")
NIGHT = Courtesy(quiet_from=time(20), quiet_until=time(8))


def sent(now: str, by_on: date | None, kind: str = OwnerKind.RENTAL_FLEET) -> str:
    owed = Owed(
        roof_id=1,
        owner=Owner(kind=kind, name="Sandbar"),
        zone=ZoneInfo("Pacific/Honolulu"),
        step=Step.BEFORE_7,
        about_on=date(2026, 6, 10),
        by_on=by_on,
    )
    at = sending_time(
        owed,
        now=datetime.fromisoformat(now).replace(tzinfo=UTC),
        courtesy=NIGHT,
        office=DETROIT,
    )
    return f"{at:%Y-%m-%dT%H:%M}"


@pytest.mark.parametrize(
    ("now", "by_on", "at"),
    [
        # At night before 3 June 2026, a Wednesday: that morning, 08:00 in Detroit.
        ("2026-06-03T06:00", None, "2026-06-03T12:00"),
        # At noon: the next morning; nothing hurries.
        ("2026-06-03T16:00", None, "2026-06-04T12:00"),
        ("2026-06-03T16:00", date(2026, 6, 10), "2026-06-04T12:00"),
        # The deadline is today: in two minutes, with what else the sweep finds.
        ("2026-06-03T16:00", date(2026, 6, 3), "2026-06-03T16:02"),
        # On Friday afternoon about Sunday: on Saturday morning.
        ("2026-06-05T16:00", date(2026, 6, 7), "2026-06-06T12:00"),
        # Passed already: the next business morning.
        ("2026-06-05T16:00", date(2026, 6, 1), "2026-06-08T12:00"),
    ],
)
def test_a_digest(now, by_on, at):
    assert sent(now, by_on) == at


def test_a_private_owner_is_told_by_the_coachs_clock():
    # 12:00 in Detroit is 06:00 in Honolulu: there it is sent at 08:00.
    assert sent("2026-06-03T16:00", None, OwnerKind.PRIVATE) == "2026-06-03T18:00"
