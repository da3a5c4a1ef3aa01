"""Clocks that disagree are said to; late receipt is no doubt."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from fleet.exhibits.clocks import ClockDoubt, clock_doubts
from fleet.exhibits.exif import Capture

LOCAL = datetime(2024, 7, 5, 14, 3, 22)  # noqa: DTZ001 - a camera's wall clock
TAKEN = datetime(2024, 7, 5, 20, 3, 22, tzinfo=UTC)
WITH_OFFSET = Capture(taken_local=LOCAL, offset_min=-360)
WITHOUT = Capture(taken_local=LOCAL)


def doubts(capture: Capture = WITH_OFFSET, **over) -> tuple[ClockDoubt, ...]:
    fields = {
        "device_at": TAKEN,
        "device_offset_min": -360,
        "received_at": TAKEN + timedelta(days=6),
    }
    return clock_doubts(capture, **{**fields, **over})


def test_clocks_that_agree_leave_no_doubt_days_later():
    assert doubts() == ()


def test_fifteen_minutes_apart_are_borne_and_no_more():
    apart = timedelta(minutes=15)

    assert doubts(device_at=TAKEN + apart) == ()
    assert doubts(device_at=TAKEN + apart + timedelta(seconds=1)) == (
        ClockDoubt.TAKEN_AND_DEVICE_DISAGREE,
    )


def test_a_picture_from_the_future_is_doubted():
    early = TAKEN - timedelta(hours=1)

    assert doubts(received_at=early) == (
        ClockDoubt.TAKEN_AFTER_RECEIPT,
        ClockDoubt.DEVICE_AHEAD,
    )


def test_without_an_offset_wall_clocks_are_compared():
    assert doubts(WITHOUT) == (ClockDoubt.NO_OFFSET,)
    assert doubts(WITHOUT, device_offset_min=-300) == (
        ClockDoubt.NO_OFFSET,
        ClockDoubt.TAKEN_AND_DEVICE_DISAGREE,
    )


def test_a_picture_without_a_time_says_so():
    assert doubts(Capture()) == (ClockDoubt.NO_TAKEN_TIME,)


def test_without_a_device_time_nothing_is_compared():
    assert doubts(device_at=None, device_offset_min=None) == ()
