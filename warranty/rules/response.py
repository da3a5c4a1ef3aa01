"""The time in which a claim is answered: business days, stopped while we wait."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

_SATURDAY: Final = 5
# Longest time to answer that can be asked for. Project convention. [business day]
MAX_DAYS: Final = 260


class ResponseInputError(ValueError):
    """Days or waits that no clock can run by."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """We wait for the owner from one day up to, not including, another."""

    from_on: date
    until_on: date | None = None  # None: still waiting

    def __post_init__(self) -> None:
        if self.until_on is not None and self.until_on < self.from_on:
            raise ResponseInputError(
                f"until_on must not lie before {self.from_on}, got {self.until_on}."
            )

    def holds(self, day: date) -> bool:
        """Return whether the clock stands still on this day."""
        return self.from_on <= day and (self.until_on is None or day < self.until_on)


@dataclass(frozen=True, slots=True, kw_only=True)
class ResponseClock:
    """How far the time to answer has run on a day.

    Parameters
    ----------
    allowed_days, used_days : int
        Business days to answer in, and those that have counted. [business day]
    due_on : date or None
        Last day to answer; None while we wait and the time has not run out.
    waiting_since : date or None
        The day from which we wait for the owner, if we do.
    is_over : bool
        Whether the day asked lies after ``due_on``.
    """

    allowed_days: int
    used_days: int
    due_on: date | None
    waiting_since: date | None
    is_over: bool

    @property
    def days_left(self) -> int:
        """Business days that are left; none once the time is over."""
        return max(0, self.allowed_days - self.used_days)


def is_business_day(day: date, holidays: Collection[date]) -> bool:
    """Return whether the office works on a day: no Saturday, Sunday or holiday."""
    return day.weekday() < _SATURDAY and day not in holidays


def response_clock(
    *,
    started_on: date,
    waits: Sequence[Wait],
    allowed_days: int,
    holidays: Collection[date],
    as_of: date,
) -> ResponseClock:
    """Return the clock of one claim on a day.

    The day it starts does not count; a business day after it counts unless we waited
    for the owner on it. The day on which we begin to wait does not count, the day on
    which the owner's answer comes does. Project convention.

    Parameters
    ----------
    started_on : date
        The day the claim was reported, or reopened.
    waits : sequence of Wait
        In any order; they may touch or overlap.
    allowed_days : int
        [business day], 1..260
    holidays : collection of date
        Days on which the office is closed beside the weekends.
    as_of : date
        The day asked.

    Returns
    -------
    ResponseClock

    Raises
    ------
    ResponseInputError
        If ``allowed_days`` is out of range.
    """
    if not 1 <= allowed_days <= MAX_DAYS:
        raise ResponseInputError(
            f"allowed_days must be in 1..{MAX_DAYS}, got {allowed_days}."
        )
    known = [wait for wait in waits if wait.from_on <= as_of]
    standing = [wait.from_on for wait in known if wait.holds(as_of)]
    due_on = _due(started_on, known, allowed_days, holidays)
    used = _counted(started_on, as_of, known, holidays, most=allowed_days)
    return ResponseClock(
        allowed_days=allowed_days,
        used_days=used,
        due_on=due_on,
        waiting_since=min(standing, default=None),
        is_over=due_on is not None and as_of > due_on,
    )


def _due(
    started_on: date, waits: Sequence[Wait], allowed: int, holidays: Collection[date]
) -> date | None:
    """Return the day on which the last allowed day has counted."""
    endless = [wait.from_on for wait in waits if wait.until_on is None]
    stands_from = min(endless, default=None)
    day, left = started_on, allowed
    while left:
        day += timedelta(days=1)
        if stands_from is not None and day >= stands_from:
            return None
        left -= _counts(day, waits, holidays)
    return day


def _counted(
    started_on: date,
    as_of: date,
    waits: Sequence[Wait],
    holidays: Collection[date],
    *,
    most: int,
) -> int:
    day, used = started_on, 0
    while day < as_of and used < most:
        day += timedelta(days=1)
        used += _counts(day, waits, holidays)
    return used


def _counts(day: date, waits: Sequence[Wait], holidays: Collection[date]) -> bool:
    return is_business_day(day, holidays) and not any(w.holds(day) for w in waits)
