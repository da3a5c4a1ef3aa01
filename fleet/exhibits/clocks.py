"""Whether the clocks around a picture agree."""

from __future__ import annotations

from datetime import datetime, timedelta
from enum import StrEnum

from fleet.exhibits.exif import Capture

# Project convention: phones are set by their network; cameras drift by minutes.
TOLERANCE = timedelta(minutes=15)


class ClockDoubt(StrEnum):
    """A sign that a time around an exhibit may be wrong."""

    NO_TAKEN_TIME = "NO_TAKEN_TIME"
    NO_OFFSET = "NO_OFFSET"
    TAKEN_AFTER_RECEIPT = "TAKEN_AFTER_RECEIPT"
    DEVICE_AHEAD = "DEVICE_AHEAD"
    TAKEN_AND_DEVICE_DISAGREE = "TAKEN_AND_DEVICE_DISAGREE"


def clock_doubts(
    capture: Capture,
    *,
    device_at: datetime | None,
    device_offset_min: int | None,
    received_at: datetime,
) -> tuple[ClockDoubt, ...]:
    """Return what is odd about the clocks of picture, device and register.

    Parameters
    ----------
    capture : Capture
        What the picture says.
    device_at : datetime or None
        When the device says it took the picture, if it said so. Aware.
    device_offset_min : int or None
        The device's own offset from UTC. [min east]
    received_at : datetime
        When the register had the whole file on disk. Aware.

    Returns
    -------
    tuple of ClockDoubt
        In the order of the enumeration. A late receipt is no doubt: phones work for
        days without a signal.

    Notes
    -----
    A picture without an offset is compared with the device's wall clock, and with
    the receipt not at all: up to fourteen hours either way are possible.
    """
    found: list[ClockDoubt] = []
    taken_at = capture.taken_at
    if capture.taken_local is None:
        found.append(ClockDoubt.NO_TAKEN_TIME)
    elif taken_at is None:
        found.append(ClockDoubt.NO_OFFSET)
    if taken_at is not None and taken_at > received_at + TOLERANCE:
        found.append(ClockDoubt.TAKEN_AFTER_RECEIPT)
    if device_at is not None and device_at > received_at + TOLERANCE:
        found.append(ClockDoubt.DEVICE_AHEAD)
    apart = _apart(capture, device_at, device_offset_min)
    if apart is not None and apart > TOLERANCE:
        found.append(ClockDoubt.TAKEN_AND_DEVICE_DISAGREE)
    return tuple(found)


def _apart(
    capture: Capture, device_at: datetime | None, device_offset_min: int | None
) -> timedelta | None:
    if device_at is None:
        return None
    if capture.taken_at is not None:
        return abs(capture.taken_at - device_at)
    if capture.taken_local is None or device_offset_min is None:
        return None
    utc = device_at.replace(tzinfo=None) - (device_at.utcoffset() or timedelta())
    return abs(capture.taken_local - (utc + timedelta(minutes=device_offset_min)))
