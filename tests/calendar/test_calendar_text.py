"""Calendar text is read back by another library, icalendar, as it was meant."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.calendar.text import CalendarInputError, Entry, calendar_text, folded

DETROIT = ZoneInfo("America/Detroit")


def entry(**over) -> Entry:
    fields = {
        "uid": "5f7c9a52-0000-4000-8000-000000000001@register.example",
        "sequence": 0,
        "changed_at": datetime(2026, 5, 20, 16, tzinfo=UTC),
        "title": "Inspection, HL-7001",
        "first_on": date(2026, 6, 10),
        "last_on": date(2026, 6, 10),
    }
    return Entry(**{**fields, **over})


def read(*entries: Entry) -> list[icalendar.Event]:
    calendar = icalendar.Calendar.from_ical(calendar_text("Visits", entries))
    assert not calendar.errors
    events = calendar.walk("VEVENT")
    assert not any(event.errors for event in events)
    return events


def test_what_the_standard_requires_is_there():
    calendar = icalendar.Calendar.from_ical(calendar_text("Visits", [entry()]))

    assert (calendar["VERSION"], calendar["METHOD"]) == ("2.0", "PUBLISH")
    assert calendar["PRODID"]
    [event] = calendar.walk("VEVENT")
    assert event["UID"] == entry().uid
    assert event["DTSTAMP"].dt == entry().changed_at


def test_two_days_end_on_the_first_day_that_is_not_in_it():
    [event] = read(entry(last_on=date(2026, 6, 11)))

    assert event["DTSTART"].dt == date(2026, 6, 10)
    assert event["DTEND"].dt == date(2026, 6, 12)


# United States, Energy Policy Act of 2005: second Sunday in March to first in November.
@pytest.mark.parametrize(
    ("local", "utc_hour"),
    [
        (datetime(2026, 3, 7, 9, tzinfo=DETROIT), 14),
        (datetime(2026, 3, 8, 9, tzinfo=DETROIT), 13),
        (datetime(2026, 10, 31, 9, tzinfo=DETROIT), 13),
        (datetime(2026, 11, 1, 9, tzinfo=DETROIT), 14),
    ],
)
def test_nine_in_the_morning_stays_nine_across_daylight_saving(local, utc_hour):
    [event] = read(entry(begins_at=local, ends_at=local.replace(hour=11)))

    began = event["DTSTART"].dt
    assert began.astimezone(UTC).hour == utc_hour
    assert began.astimezone(DETROIT).hour == 9


@pytest.mark.parametrize(
    ("over", "status"),
    [
        ({}, "CONFIRMED"),
        ({"is_held": True}, "TENTATIVE"),
        ({"is_cancelled": True}, "CANCELLED"),
        ({"is_cancelled": True, "is_held": True}, "CANCELLED"),
    ],
)
def test_what_is_cancelled_stays_and_says_so(over, status):
    [event] = read(entry(sequence=3, **over))

    assert (event["STATUS"], event["SEQUENCE"]) == (status, 3)


@given(
    words=st.text(
        st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp", "Cf", "Cn", "Co"]),
        max_size=300,
    )
)
def test_any_words_come_back_and_no_line_is_too_long(words):
    written = calendar_text("Visits", [entry(title=words, place="a" + words)])

    lines = written.split(b"\r\n")
    assert all(len(line) <= 75 for line in lines)
    assert all(line.decode() or line == b"" for line in lines)  # no character is cut
    [event] = icalendar.Calendar.from_ical(written).walk("VEVENT")
    shown = "".join(c for c in words if c.isprintable())
    assert event["SUMMARY"] == shown
    assert event["LOCATION"] == "a" + shown


def test_a_name_cannot_add_lines_of_its_own():
    [event] = read(entry(title="x\r\nBEGIN:VALARM\r\nACTION:AUDIO", place="a;b,c\\n"))

    assert event["SUMMARY"] == "x\nBEGIN:VALARM\nACTION:AUDIO"
    assert event["LOCATION"] == "a;b,c\\n"
    assert not event.subcomponents


def test_a_line_of_exactly_75_octets_is_not_folded():
    assert folded("x" * 75) == b"x" * 75 + b"\r\n"
    assert folded("x" * 76) == b"x" * 75 + b"\r\n x\r\n"


def test_the_same_bookings_give_the_same_bytes():
    assert calendar_text("Visits", [entry()]) == calendar_text("Visits", [entry()])


@pytest.mark.parametrize(
    ("over", "word"),
    [
        ({"last_on": date(2026, 6, 9)}, "last_on"),
        ({"begins_at": datetime(2026, 6, 10, 9, tzinfo=UTC)}, "together"),
        (
            {
                "begins_at": datetime(2026, 6, 10, 9, tzinfo=UTC),
                "ends_at": datetime(2026, 6, 10, 9, tzinfo=UTC),
            },
            "after",
        ),
        ({"changed_at": datetime(2026, 6, 10, 9)}, "zone"),  # noqa: DTZ001  # on purpose
    ],
)
def test_refuses_what_no_calendar_can_hold(over, word):
    with pytest.raises(CalendarInputError, match=word):
        calendar_text("Visits", [entry(**over)])
