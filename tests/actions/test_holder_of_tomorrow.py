"""An ownership recorded ahead takes effect on its day."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest

from fleet.actions.coaches import add_owner, hand_over
from fleet.actions.day_turn import follow_new_holders
from fleet.actions.users import register_user
from tests.builders import make_coach

pytestmark = pytest.mark.django_db
ZONE = ZoneInfo("America/Detroit")


@pytest.fixture
def sold_ahead():
    coach = make_coach()
    buyer = add_owner(name="Odell Tarn", kind="private")
    hand_over(
        coach=coach,
        owner=buyer,
        from_on=date(2026, 9, 1),
        by=register_user(),
        now=datetime(2026, 8, 20, 9, tzinfo=ZONE),
    )
    coach.refresh_from_db()
    return coach, buyer


def test_until_its_day_the_old_holder_holds(sold_ahead):
    coach, buyer = sold_ahead

    moved = follow_new_holders(now=datetime(2026, 8, 31, 23, 59, tzinfo=ZONE))

    coach.refresh_from_db()
    assert moved == 0
    assert coach.holder != buyer


def test_on_its_day_the_new_holder_holds(sold_ahead):
    coach, buyer = sold_ahead

    follow_new_holders(now=datetime(2026, 9, 1, 0, 1, tzinfo=ZONE))

    coach.refresh_from_db()
    assert coach.holder == buyer


def test_run_again_nothing_moves(sold_ahead):
    now = datetime(2026, 9, 1, 0, 1, tzinfo=ZONE)
    follow_new_holders(now=now)

    assert follow_new_holders(now=now) == 0
