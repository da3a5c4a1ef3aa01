"""What was recorded about one coach, and when the office knew of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from functools import partial
from zoneinfo import ZoneInfo

from fleet.actions.recording import Recording
from fleet.models import Roof, RoofFact
from warranty.demo.chance import Chance

OFFICE = "office"
FIELD = "technician"
Write = Callable[[Recording], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Calendar:
    """The days of the demo, from the first coat to today."""

    today: date
    first_day: date
    phones_since: date  # before it, sheets of paper were typed in later
    zone: ZoneInfo  # of the office

    @property
    def yesterday(self) -> date:
        """Return the last day on which anything happened."""
        return self.today - timedelta(days=1)

    def years_ago(self, years: float) -> date:
        """Return about the day so many years before today."""
        return self.today - timedelta(days=round(years * 365.25))


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One thing recorded at one moment by one person."""

    at: datetime
    by: str
    write: Write


@dataclass(frozen=True, slots=True, kw_only=True)
class _Note:
    on: date
    write: Write
    by: str
    after_days: int | None


@dataclass(slots=True, kw_only=True)
class Diary:
    """One coach's history, noted in any order and recorded in the order of its days."""

    calendar: Calendar
    chance: Chance
    _notes: list[_Note] = field(default_factory=list)

    def note(
        self, on: date, write: Write, *, by: str = FIELD, after_days: int | None = None
    ) -> None:
        """Note something that happened on a day; ``after_days`` says when typed in."""
        self._notes.append(_Note(on=on, write=write, by=by, after_days=after_days))

    def facts(
        self,
        on: date,
        roof: Roof,
        kind: str,
        facts: Sequence[RoofFact],
        *,
        by: str = FIELD,
        after_days: int | None = None,
    ) -> None:
        """Note facts about a roof as one entry of its chain."""
        if facts:
            write = partial(_append, roof, kind, tuple(facts))
            self.note(on, write, by=by, after_days=after_days)

    def entries(self) -> list[Entry]:
        """Return the entries; none was recorded before an earlier day's."""
        entries: list[Entry] = []
        for note in sorted(self._notes, key=lambda note: note.on):
            at = self._recorded_at(note)
            if entries:
                at = max(at, entries[-1].at + timedelta(minutes=1))
            by = OFFICE if note.on < self.calendar.phones_since else note.by
            entries.append(Entry(at=at, by=by, write=note.write))
        return entries

    def _recorded_at(self, note: _Note) -> datetime:
        in_paper_days = note.on < self.calendar.phones_since
        after_days = note.after_days
        if after_days is None:
            after_days = self.chance.whole(2, 16) if in_paper_days else 0
        on = min(note.on + timedelta(days=after_days), self.calendar.yesterday)
        minute = timedelta(minutes=self.chance.whole(0, 150))
        return datetime.combine(on, time(16, 20), self.calendar.zone) + minute


def _append(
    roof: Roof, kind: str, facts: tuple[RoofFact, ...], made: Recording
) -> None:
    made.append(roof, kind, facts)
