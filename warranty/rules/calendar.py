"""Calendar arithmetic on whole days: months added from an anchor, never chained.

A day in a column is an integer, the number of days since 1970-01-01. ``NO_DAY`` means
"none" and is later than every day, so comparisons need no special case, and it leaves
room for adding a few decades without overflow even in 32 bits.
"""

from __future__ import annotations

from calendar import monthrange
from datetime import date, timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

Days = NDArray[np.int64]

EPOCH: Final = date(1970, 1, 1)
NO_DAY: Final = 1 << 30
# Years the tables cover. Facts are held to the narrower range below, so that
# adding an interval or a term to a valid fact cannot leave the tables.
_FIRST_YEAR: Final = 1900
_LAST_YEAR: Final = 2599
FIRST_DAY: Final = (date(_FIRST_YEAR, 1, 1) - EPOCH).days
LAST_DAY: Final = (date(_LAST_YEAR, 12, 31) - EPOCH).days
LAST_FACT_DAY: Final = (date(2299, 12, 31) - EPOCH).days
# 250 years: more than any promise, less than the room left in the tables.
MAX_MONTHS: Final = 3000

_MONTH_STARTS = np.arange(
    f"{_FIRST_YEAR}-01", f"{_LAST_YEAR + 1}-02", dtype="datetime64[M]"
).astype("datetime64[D]")
# First day of month m, and its last day of month counted from zero; m counts
# from January of the first year.
MONTH_START: Final[Days] = _MONTH_STARTS[:-1].astype(np.int64)
LAST_OF_MONTH: Final[Days] = np.diff(_MONTH_STARTS).astype(np.int64) - 1
# Month of a day counted from FIRST_DAY.
_MONTH_OF: Final[NDArray[np.int16]] = np.repeat(
    np.arange(MONTH_START.size, dtype=np.int16), LAST_OF_MONTH + 1
)


class CalendarInputError(ValueError):
    """A day or a number of months lies outside the calendar's tables."""


def day_number(day: date) -> int:
    """Return the number of days from 1970-01-01 to ``day``. [d]"""
    return (day - EPOCH).days


def known_date_of(day: int) -> date:
    """Return the date of a day number that is not ``NO_DAY``."""
    return EPOCH + timedelta(days=int(day))


def date_of(day: int) -> date | None:
    """Return the date of a day number, or None for ``NO_DAY``."""
    return None if day == NO_DAY else known_date_of(day)


def add_months(anchor: date, months: int) -> date:
    """Return ``anchor`` moved by whole months, clamped to the month's end.

    Parameters
    ----------
    anchor : date
        The day counted from; always the first anchor, never a clamped result.
    months : int
        Months to add; may be negative. [month]

    Returns
    -------
    date
        Same day of month, or the last day of a shorter month.

    Raises
    ------
    CalendarInputError
        If the result lies outside years 1 to 9999.

    References
    ----------
    .. [1] XML Schema Part 2 (2004), appendix E: adding durations to dateTimes.
    """
    year, month0 = divmod(anchor.year * 12 + anchor.month - 1 + months, 12)
    if not 1 <= year <= 9999:
        raise CalendarInputError(
            f"months must keep the year in 1..9999, got {anchor} and {months}."
        )
    last = monthrange(year, month0 + 1)[1]
    return date(year, month0 + 1, min(anchor.day, last))


def month_of(days: Days) -> NDArray[np.int64]:
    """Return the month each day lies in, shape ``(n,)``, unchecked.

    Months count from January 1900. Days must lie in ``FIRST_DAY..LAST_DAY``.
    """
    return _MONTH_OF[days - FIRST_DAY].astype(np.int64)


def day_in_month(month: NDArray[np.int64], offset: NDArray[np.int64]) -> Days:
    """Return the day at ``offset`` (from zero) in ``month``, clamped to its end."""
    day: Days = MONTH_START[month] + np.minimum(offset, LAST_OF_MONTH[month])
    return day


def add_months_to_days(anchor: Days, months: Days | int) -> Days:
    """Return ``anchor + months`` for every row, clamped to month ends.

    Parameters
    ----------
    anchor : ndarray of int64, shape (n,)
        Days since 1970-01-01, or ``NO_DAY``. [d], years 1900 to 2299
    months : ndarray of int64, shape (n,), or int
        Whole months to add. [month], within +-3000 and the years of the tables

    Returns
    -------
    ndarray of int64, shape (n,)
        Days since 1970-01-01; ``NO_DAY`` where the anchor is ``NO_DAY``. [d]

    Raises
    ------
    CalendarInputError
        If an anchor or a result lies outside the tables (years 1900 to 2599).
    """
    anchor = np.asarray(anchor, dtype=np.int64)
    none = anchor == NO_DAY
    known = np.where(none, 0, anchor)
    if known.size and (known.min() < FIRST_DAY or known.max() > LAST_DAY):
        raise CalendarInputError(
            f"anchor must lie in years {_FIRST_YEAR}..{_LAST_YEAR}, "
            f"got day numbers {known.min()}..{known.max()}."
        )
    start = month_of(known)
    target = np.where(none, start, start + months)
    if target.size and (target.min() < 0 or target.max() >= MONTH_START.size):
        raise CalendarInputError(
            f"months must keep the result in years {_FIRST_YEAR}..{_LAST_YEAR}, "
            f"got {np.min(months)}..{np.max(months)}."
        )
    moved = day_in_month(target, known - MONTH_START[start])
    return np.where(none, NO_DAY, moved)


def shortest_interval_days(months: int) -> int:
    """Return the fewest days between two neighbouring due dates. [d]

    Searches every anchor in one 400-year cycle of the calendar, month ends
    included: 28 for one month, 365 for twelve.

    Raises
    ------
    CalendarInputError
        If ``months`` is not in 1..600.
    """
    if not 1 <= months <= 600:
        raise CalendarInputError(f"months must be in 1..600, got {months}.")
    first = np.arange(4800, dtype=np.int64)
    gaps = [
        day_in_month(first + months, np.full_like(first, day))
        - day_in_month(first, np.full_like(first, day))
        for day in range(31)
    ]
    return int(min(gap.min() for gap in gaps))
