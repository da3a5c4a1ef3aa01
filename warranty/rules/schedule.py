"""Inspection due dates: the stepper that both anchors share, over columns.

Visits are taken in date order, rank by rank across all coverages: first everybody's
first visit, then everybody's second. Each step carries (next due, ended). An edition
whose window and grace reach the interval is refused, so a visit satisfies at most one
due date and the steps give the same answer as "the smallest n not satisfied".
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from warranty.rules.calendar import (
    MONTH_START,
    NO_DAY,
    Days,
    day_in_month,
    month_of,
)
from warranty.rules.columns import Index, Visits

NOT_STARTED: Final = 0
ON_TIME: Final = 1
IN_GRACE: Final = 2
LAPSED: Final = 3  # past the grace, reinstatement still possible
OVER: Final = 4  # reinstatement time passed
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """The schedule's numbers, gathered per coverage, shape ``(n,)``. [d], [month]"""

    by_anniversary: Mask
    interval_months: Index
    window_days: Index
    grace_days: Index
    reinstatement_days: Index


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """Where each coverage stands in its schedule, shape ``(n,)``."""

    state: NDArray[np.int8]
    due_on: Days  # first unsatisfied due date, NO_DAY before completion
    changes_on: Days  # exactly the next day with another state, NO_DAY if none


class _Walk:
    """The stepper's state: next due date, ended or not, for every row."""

    __slots__ = ("due", "ended", "month", "offset", "rules", "start")

    def __init__(self, rules: Rules, completed: Days) -> None:
        self.rules = rules
        self.start = completed
        first = month_of(completed)
        self.offset = completed - MONTH_START[first]
        # Month of the next due date, kept so that the day is never clamped twice.
        self.month = first + rules.interval_months
        self.due = day_in_month(self.month, self.offset)
        self.ended = np.zeros(completed.size, dtype=np.bool_)

    def step(self, rows: Index, day: Days) -> None:
        """Take one visit for each of ``rows``."""
        rules = self.rules
        since_due = day - self.due[rows]
        since_grace = since_due - rules.grace_days[rows]
        late = since_grace > rules.reinstatement_days[rows]
        yearly = rules.by_anniversary[rows]
        early = np.where(
            yearly, since_due < -rules.window_days[rows], day < self.start[rows]
        )
        self.ended[rows] |= late
        useful = ~(early | late | self.ended[rows])
        self._satisfy(rows[useful & yearly & (since_grace <= 0)])
        lapsed = useful & yearly & (since_grace > 0)
        self._reinstate(rows[lapsed], day[lapsed])
        moved = useful & ~yearly
        self._restart(rows[moved], day[moved])

    def _satisfy(self, rows: Index) -> None:
        self.month[rows] += self.rules.interval_months[rows]
        self.due[rows] = day_in_month(self.month[rows], self.offset[rows])

    def _reinstate(self, rows: Index, day: Days) -> None:
        """Move to the first due date after ``day + window``."""
        if not rows.size:
            return
        target = day + self.rules.window_days[rows]
        interval = self.rules.interval_months[rows]
        skip = np.maximum(month_of(target) - self.month[rows], 0) // interval
        month = self.month[rows] + skip * interval
        due = day_in_month(month, self.offset[rows])
        month += np.where(due <= target, interval, 0)
        self.month[rows] = month
        self.due[rows] = day_in_month(month, self.offset[rows])

    def _restart(self, rows: Index, day: Days) -> None:
        """Count the interval from this visit."""
        month = month_of(day)
        due_month = month + self.rules.interval_months[rows]
        self.due[rows] = day_in_month(due_month, day - MONTH_START[month])


def run_schedule(
    rules: Rules, completed_on: Days, visits: Visits, as_of: Days
) -> Schedule:
    """Return each coverage's place in its schedule on its day.

    Parameters
    ----------
    rules : Rules
    completed_on : ndarray of int64, shape (n,)
    visits : Visits
        Passing inspections and reinstatements; those after ``as_of`` only decide
        until when the state holds.
    as_of : ndarray of int64, shape (n,)
        The day asked, per row. [d]

    Returns
    -------
    Schedule
    """
    started = completed_on <= as_of
    # Rows that have not started walk from the day asked; their answer is masked.
    walk = _Walk(rules, np.where(started, completed_on, as_of))
    happened = _happened(visits, as_of)
    _walk_to(walk, visits, np.where(started, happened, 0))
    state = _state(walk, as_of)
    due = walk.due.copy()
    next_visit = _next_visit(visits, happened)
    changes = np.select(
        [state == IN_GRACE, state == LAPSED],
        [
            np.minimum(next_visit, due + rules.grace_days + 1),
            np.minimum(
                next_visit, due + rules.grace_days + rules.reinstatement_days + 1
            ),
        ],
        NO_DAY,
    )
    on_time = started & (state == ON_TIME)
    _absorb(walk, visits, happened, on_time & (next_visit != NO_DAY))
    changes = np.where(on_time, walk.due + 1, changes)
    return Schedule(
        state=np.where(started, state, NOT_STARTED).astype(np.int8),
        due_on=np.where(started, due, NO_DAY),
        changes_on=np.where(started, changes, completed_on),
    )


def _happened(visits: Visits, as_of: Days) -> Index:
    """Return how many of each row's visits lie on or before its day."""
    first, last = visits.offsets[0], visits.offsets[-1]
    on = visits.on[first:last]
    if not on.size or on.max() <= as_of.min():
        return visits.counts
    seen = np.zeros(on.size + 1, dtype=np.int64)
    np.cumsum(on <= np.repeat(as_of, visits.counts), out=seen[1:])
    happened: Index = np.diff(seen[visits.offsets - first])
    return happened


def _walk_to(walk: _Walk, visits: Visits, happened: Index) -> None:
    rows = np.flatnonzero(happened)
    rank = 0
    while rows.size:
        walk.step(rows, visits.on[visits.offsets[rows] + rank])
        rank += 1
        rows = rows[happened[rows] > rank]


def _state(walk: _Walk, as_of: Days) -> NDArray[np.int8]:
    since_due = as_of - walk.due
    since_grace = since_due - walk.rules.grace_days
    over = walk.ended | (since_grace > walk.rules.reinstatement_days)
    state = ON_TIME + (since_due > 0) + (since_grace > 0).astype(np.int8)
    return np.where(over, np.int8(OVER), state.astype(np.int8))


def _next_visit(visits: Visits, happened: Index) -> Days:
    following = visits.offsets[:-1] + happened
    rows = np.flatnonzero(following < visits.offsets[1:])
    day = np.full(happened.size, NO_DAY, dtype=np.int64)
    day[rows] = visits.on[following[rows]]
    return day


def _absorb(walk: _Walk, visits: Visits, happened: Index, waiting: Mask) -> None:
    """Step through later visits for as long as they leave a row on time.

    Afterwards ``due`` is the last due date until which nothing shows.
    """
    rows = np.flatnonzero(waiting)
    place = visits.offsets[rows] + happened[rows]
    while rows.size:
        day = visits.on[place]
        # A visit on the morrow of the due date still hides the late day.
        in_time = day <= walk.due[rows] + 1
        rows, day, place = rows[in_time], day[in_time], place[in_time]
        before = walk.due[rows]
        walk.step(rows, day)
        alive = ~walk.ended[rows]
        walk.due[rows] = np.where(alive, walk.due[rows], before)
        place = place + 1
        going = alive & (place < visits.offsets[rows + 1])
        rows, place = rows[going], place[going]
