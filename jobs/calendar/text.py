"""Calendar text (RFC 5545): from what is booked to bytes, the same each time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

LINE_OCTETS = 75  # RFC 5545, 3.1, without the line break
PRODUCT = "-//Roof Register//Calendar//EN"
_ESCAPED = str.maketrans(
    {"\\": "\\\\", ";": "\\;", ",": "\\,", "\n": "\\n", "\r": None}
)


class CalendarInputError(ValueError):
    """An entry that no calendar can hold."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One booked attendance: whole days, or a time of one day.

    With ``begins_at`` and ``ends_at`` the instants count, written in UTC, so that no
    reader needs our zone's rules to be right across daylight saving. Else the days
    from ``first_on`` to ``last_on`` count, both included, in the reader's own zone.
    """

    uid: str  # stays for as long as the booking does
    sequence: int  # grows with every change of the booking
    changed_at: datetime
    title: str
    first_on: date
    last_on: date
    begins_at: datetime | None = None
    ends_at: datetime | None = None
    place: str = ""
    description: str = ""
    is_cancelled: bool = False
    is_held: bool = False  # for dry weather, say: not yet sure


def calendar_text(name: str, entries: Iterable[Entry]) -> bytes:
    """Return a calendar of these entries, in their order.

    Nothing in it depends on when it is asked for, so equal bookings give equal bytes
    and a hash of them is an entity tag.

    Raises:
        CalendarInputError: an entry ends before it begins, or only half its time is
            known, or its instants have no zone.

    References:
        RFC 5545, sections 3.1, 3.3.11, 3.6.1, 3.8.2.4, 3.8.7; RFC 7986 for NAME and
        REFRESH-INTERVAL.
    """
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{PRODUCT}",
        "CALSCALE:GREGORIAN",
        "METHOD:PUBLISH",
        f"NAME:{_text(name)}",
        f"X-WR-CALNAME:{_text(name)}",
        "REFRESH-INTERVAL;VALUE=DURATION:PT6H",
        "X-PUBLISHED-TTL:PT6H",
    ]
    for entry in entries:
        lines.extend(_event(entry))
    lines.append("END:VCALENDAR")
    return b"".join(folded(line) for line in lines)


def folded(line: str) -> bytes:
    """Return a line of at most 75 octets a piece; no character is cut in two."""
    pieces: list[bytes] = []
    piece = b""
    for character in line:
        octets = character.encode()
        room = LINE_OCTETS if not pieces else LINE_OCTETS - 1  # the leading space
        if len(piece) + len(octets) > room:
            pieces.append(piece)
            piece = b""
        piece += octets
    return b"\r\n ".join([*pieces, piece]) + b"\r\n"


def _event(entry: Entry) -> Iterator[str]:
    yield "BEGIN:VEVENT"
    yield f"UID:{_text(entry.uid)}"
    yield f"SEQUENCE:{entry.sequence}"
    yield f"DTSTAMP:{_instant(entry.changed_at)}"
    yield f"LAST-MODIFIED:{_instant(entry.changed_at)}"
    yield from _when(entry)
    yield f"SUMMARY:{_text(entry.title)}"
    if entry.place:
        yield f"LOCATION:{_text(entry.place)}"
    if entry.description:
        yield f"DESCRIPTION:{_text(entry.description)}"
    yield f"STATUS:{_status(entry)}"
    if entry.begins_at is None:
        yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def _when(entry: Entry) -> Iterator[str]:
    if (entry.begins_at is None) != (entry.ends_at is None):
        raise CalendarInputError("begins_at and ends_at must be given together")
    if entry.begins_at is None or entry.ends_at is None:
        if entry.last_on < entry.first_on:
            raise CalendarInputError("last_on must not be before first_on")
        after = entry.last_on + timedelta(days=1)  # DTEND is the first day not in it
        yield f"DTSTART;VALUE=DATE:{entry.first_on:%Y%m%d}"
        yield f"DTEND;VALUE=DATE:{after:%Y%m%d}"
        return
    if entry.ends_at <= entry.begins_at:
        raise CalendarInputError("ends_at must be after begins_at")
    yield f"DTSTART:{_instant(entry.begins_at)}"
    yield f"DTEND:{_instant(entry.ends_at)}"


def _status(entry: Entry) -> str:
    if entry.is_cancelled:
        return "CANCELLED"
    return "TENTATIVE" if entry.is_held else "CONFIRMED"


def _instant(at: datetime) -> str:
    if at.tzinfo is None:
        raise CalendarInputError("instants must have a zone")
    return f"{at.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def _text(words: str) -> str:
    plain = "".join(c for c in words if c == "\n" or c.isprintable())
    return plain.translate(_ESCAPED)
