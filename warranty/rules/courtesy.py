"""When a person may be written to: not at night, not on days of rest, not too late."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import Final

from warranty.rules.response import is_business_day

_DAY: Final = timedelta(days=1)
# A search longer than this finds holidays without end. [d]
_MOST_DAYS: Final = 366


class CourtesyInputError(ValueError):
    """Hours or holidays that leave no time to write to anybody."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Courtesy:
    """When people are left in peace.

    Parameters
    ----------
    quiet_from, quiet_until : time
        Civil times at the coach; from 20:00 until 08:00 spans the night. Equal: none.
    holidays : collection of date
        Days of rest beside Saturdays and Sundays.
    """

    quiet_from: time
    quiet_until: time
    holidays: Collection[date] = field(default_factory=frozenset)


def instant_of(day: date, clock: time, zone: tzinfo) -> datetime:
    """Return the instant of a civil time, in UTC.

    A time that the clocks skip is read with the offset before the gap; one that comes
    twice is its first coming.

    References
    ----------
    .. [1] RFC 5545, section 3.3.5: local times that do not occur or occur twice.
    """
    return datetime.combine(day, clock, zone).astimezone(UTC)


def local_day(now: datetime, zone: tzinfo) -> date:
    """Return the civil date of an instant in a zone."""
    return now.astimezone(zone).date()


def send_at(
    now: datetime, *, zone: tzinfo, courtesy: Courtesy, by_on: date | None = None
) -> datetime:
    """Return the first instant from ``now`` on at which a person may be written to.

    Outside quiet hours, on a business day. When ``by_on``, the last day to act, would
    pass before the next business day, a day of rest is used: a deadline waits for
    nobody's weekend. Quiet hours are kept all the same.

    Parameters
    ----------
    now : datetime
        With an offset.
    zone : tzinfo
        Of the coach.
    by_on : date or None
        The deadline that the message is about, in that zone.

    Raises
    ------
    CourtesyInputError
        If a year has no time to write in.
    """
    today = local_day(now, zone)
    for ahead in range(_MOST_DAYS):
        day = today + ahead * _DAY
        if not _may_write_on(day, courtesy.holidays, by_on):
            continue
        for opens, closes in _open_hours(day, zone, courtesy):
            if closes > now:
                return max(opens, now.astimezone(UTC))
    raise CourtesyInputError(
        f"holidays must leave a business day within a year of {today}, got none."
    )


def _may_write_on(day: date, holidays: Collection[date], by_on: date | None) -> bool:
    if is_business_day(day, holidays):
        return True
    if by_on is None or day > by_on:
        return False
    return not any(
        is_business_day(day + ahead * _DAY, holidays)
        for ahead in range(1, min((by_on - day).days, _MOST_DAYS) + 1)
    )


def _open_hours(
    day: date, zone: tzinfo, courtesy: Courtesy
) -> Iterator[tuple[datetime, datetime]]:
    """Yield the stretches of a day outside quiet hours, as instants."""
    start, quiet = time(0), courtesy
    opens, closes = quiet.quiet_until, quiet.quiet_from
    midnight = instant_of(day + _DAY, start, zone)
    if opens < closes:
        spans = [(instant_of(day, opens, zone), instant_of(day, closes, zone))]
    elif opens == closes:
        spans = [(instant_of(day, start, zone), midnight)]
    else:
        spans = [
            (instant_of(day, start, zone), instant_of(day, closes, zone)),
            (instant_of(day, opens, zone), midnight),
        ]
    for first, last in spans:
        if first < last:
            yield first, last
