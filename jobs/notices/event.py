"""Dates as calendar events that a person can keep.

References
----------
RFC 5545: iCalendar. Lines of at most 75 octets (3.1), text escaped (3.3.11), all-day
events by DATE values (3.6.1), a greater SEQUENCE for the same UID (3.8.7.4).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

_LINE_OCTETS = 75
PRODUCT = "-//Roof Register//Notices//EN"


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One last day, as an all-day event that takes nobody's time."""

    uid: str
    on: date
    summary: str
    description: str
    url: str
    sequence: int = 0


def calendar(events: Iterable[Event], *, now: datetime) -> str:
    """Return the events as one iCalendar object."""
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{PRODUCT}",
        "METHOD:PUBLISH",
        *(line for event in events for line in _event(event, now)),
        "END:VCALENDAR",
    ]
    return "".join(f"{folded}\r\n" for line in lines for folded in _folded(line))


def _event(event: Event, now: datetime) -> Iterator[str]:
    yield "BEGIN:VEVENT"
    yield f"UID:{event.uid}"
    yield f"DTSTAMP:{now.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    yield f"DTSTART;VALUE=DATE:{event.on:%Y%m%d}"
    yield f"DTEND;VALUE=DATE:{event.on + timedelta(days=1):%Y%m%d}"
    yield f"SEQUENCE:{event.sequence}"
    yield f"SUMMARY:{_text(event.summary)}"
    yield f"DESCRIPTION:{_text(event.description)}"
    yield f"URL:{event.url}"
    yield "TRANSP:TRANSPARENT"
    yield "STATUS:CONFIRMED"
    yield "END:VEVENT"


def _text(value: str) -> str:
    """Return a text value without anything that would end or split it."""
    plain = "".join(c if c == "\n" or c.isprintable() else " " for c in value)
    escaped = plain.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return escaped.replace("\n", "\\n")


def _folded(line: str) -> Iterator[str]:
    """Yield a line in pieces of at most 75 octets, never within a character."""
    piece, octets = "", 0
    for character in line:
        size = len(character.encode("utf-8", "replace"))
        if octets + size > _LINE_OCTETS:
            yield piece
            piece, octets = " ", 1
        piece += character
        octets += size
    yield piece
