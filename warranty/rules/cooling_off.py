"""Until when a sale at the buyer's door can be cancelled."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Final

BUSINESS_DAYS: Final = 3
_MONDAY, _THURSDAY, _SUNDAY = 0, 3, 6


def cancel_until(signed_on: date) -> date:
    """Return the day at whose midnight a door-to-door sale can no longer be cancelled.

    The third business day after the day of signing; Saturdays count, Sundays and
    federal holidays do not.

    Parameters
    ----------
    signed_on : date
        The day the buyer signed.

    Returns
    -------
    date

    Notes
    -----
    Holidays on their own date; whether a day on which one is only observed counts is a
    question for counsel. Whether the rule covers a sale at all, and a visit that the
    buyer asked for is one reason why it may not, is another. Local law governs.

    References
    ----------
    .. [1] 16 CFR 429.0 and 429.1.
    .. [2] 5 USC 6103(a): the federal holidays (from memory).
    """
    day, left = signed_on, BUSINESS_DAYS
    while left:
        day += timedelta(days=1)
        if day.weekday() != _SUNDAY and day not in federal_holidays(day.year):
            left -= 1
    return day


def federal_holidays(year: int) -> frozenset[date]:
    """Return the federal holidays of a year, each on its own date."""
    may_31 = date(year, 5, 31)
    return frozenset(
        {
            date(year, 1, 1),
            _nth(year, 1, _MONDAY, 3),
            _nth(year, 2, _MONDAY, 3),
            may_31 - timedelta(days=may_31.weekday()),
            date(year, 6, 19),
            date(year, 7, 4),
            _nth(year, 9, _MONDAY, 1),
            _nth(year, 10, _MONDAY, 2),
            date(year, 11, 11),
            _nth(year, 11, _THURSDAY, 4),
            date(year, 12, 25),
        }
    )


def _nth(year: int, month: int, weekday: int, number: int) -> date:
    first = date(year, month, 1)
    ahead = (weekday - first.weekday()) % 7
    return first + timedelta(days=ahead + 7 * (number - 1))
