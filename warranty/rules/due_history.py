"""The due dates of one coverage, and what became of each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from warranty.rules.calendar import add_months
from warranty.rules.terms import Anchor, Terms


@dataclass(frozen=True, slots=True, kw_only=True)
class DueDate:
    """One due date: kept, missed, or still to come."""

    due_on: date
    window_opens_on: date | None  # None: the anchor knows no window
    grace_ends_on: date
    satisfied_on: date | None = None
    reinstated_on: date | None = None
    is_missed: bool = False


def due_history(
    terms: Terms, *, completed_on: date, passing_on: Iterable[date], as_of: date
) -> tuple[DueDate, ...]:
    """Return every due date up to the first one still open on a day.

    Parameters
    ----------
    terms : Terms
        The edition.
    completed_on : date
        Completion, from which the first due date counts.
    passing_on : iterable of date
        Days of passing inspections and reinstatements, in any order; those after
        ``as_of`` are left out.
    as_of : date
        The day asked.

    Returns
    -------
    tuple of DueDate
        In order. The last one is open, missed for now, or missed for good.

    Notes
    -----
    The plain reading of the schedule in `warranty.rules.schedule`, for one roof and a
    person's eyes; a test holds the two together.
    """
    days = sorted(day for day in passing_on if completed_on <= day <= as_of)
    walk = _Walk(terms=terms, completed_on=completed_on)
    for day in days:
        walk.take(day)
        if walk.is_over:
            return tuple(walk.dates)
    walk.dates.append(walk.open_date(as_of))
    return tuple(walk.dates)


class _Walk:
    """The state between two visits: the due date that is open."""

    def __init__(self, *, terms: Terms, completed_on: date) -> None:
        self.terms = terms
        self.completed_on = completed_on
        self.number = 1
        self.last_on = completed_on
        self.is_over = False
        self.dates: list[DueDate] = []

    @property
    def due_on(self) -> date:
        if self.terms.anchor is Anchor.ANNIVERSARY:
            return self._anniversary(self.number)
        return add_months(self.last_on, self.terms.interval_months)

    def take(self, day: date) -> None:
        """Let a passing visit do to the open due date what it can."""
        due, terms = self.due_on, self.terms
        by_anniversary = terms.anchor is Anchor.ANNIVERSARY
        if by_anniversary and day < due - timedelta(days=terms.window_days):
            return
        grace_ends = due + timedelta(days=terms.grace_days)
        if day > grace_ends + timedelta(days=terms.reinstatement_days):
            self.dates.append(self._date(due, is_missed=True))
            self.is_over = True
            return
        if day > grace_ends:
            self.dates.append(self._date(due, is_missed=True, reinstated_on=day))
            self._reinstate(day)
            return
        self.number += 1
        self.last_on = day
        # Counted from two days at a month's end, the date can be the same: still open.
        if self.due_on != due:
            self.dates.append(self._date(due, satisfied_on=day))

    def open_date(self, as_of: date) -> DueDate:
        """Return the due date that no visit has settled by a day."""
        due = self.due_on
        late = as_of > due + timedelta(days=self.terms.grace_days)
        return self._date(due, is_missed=late)

    def _reinstate(self, day: date) -> None:
        self.last_on = day
        opens = day + timedelta(days=self.terms.window_days)
        while self._anniversary(self.number) <= opens:
            self.number += 1

    def _anniversary(self, number: int) -> date:
        return add_months(self.completed_on, number * self.terms.interval_months)

    def _date(
        self,
        due: date,
        *,
        satisfied_on: date | None = None,
        reinstated_on: date | None = None,
        is_missed: bool = False,
    ) -> DueDate:
        opens = due - timedelta(days=self.terms.window_days)
        return DueDate(
            due_on=due,
            window_opens_on=opens if self.terms.anchor is Anchor.ANNIVERSARY else None,
            grace_ends_on=due + timedelta(days=self.terms.grace_days),
            satisfied_on=satisfied_on,
            reinstated_on=reinstated_on,
            is_missed=is_missed,
        )
