"""Inspection due dates: the stepper that both anchors share, over columns.

Visits are taken in date order, rank by rank across all coverages: first everybody's
first visit, then everybody's second. Each step carries the next due date; a coverage
has ended once its due date lies too far back. An edition whose window and grace reach
the interval is refused, so a visit satisfies at most one due date and the steps give
the same answer as "the smallest n not satisfied".
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
    turns_on: Days  # exactly the next day that is current where this one is not,
    # or is not where this one is; NO_DAY if none


class _Walk:
    """The stepper's state for coverages of one anchor: the next due date of each.

    Nothing marks an ended coverage: its due date stays, so every later visit finds
    itself too late again.
    """

    __slots__ = (
        "closes",
        "due",
        "grace",
        "interval",
        "month",
        "offset",
        "start",
        "window",
        "yearly",
    )

    def __init__(self, rules: Rules, started_on: Days, rows: Index) -> None:
        self.yearly = bool(rows.size) and bool(rules.by_anniversary[rows[0]])
        self.interval = rules.interval_months[rows]
        self.window = rules.window_days[rows]
        self.grace = rules.grace_days[rows]
        self.closes = self.grace + rules.reinstatement_days[rows]
        self.start = started_on[rows]
        first = month_of(self.start)
        self.offset = self.start - MONTH_START[first]
        # Month of the next due date, kept so that the day is never clamped twice.
        self.month = first + self.interval
        self.due = day_in_month(self.month, self.offset)

    def step(self, rows: Index | slice, day: Days) -> None:
        """Take one visit for each of ``rows``."""
        if self.yearly:
            self._step_by_anniversary(rows, day)
        else:
            self._step_by_last_inspection(rows, day)

    def _step_by_anniversary(self, rows: Index | slice, day: Days) -> None:
        late_by = day - self.due[rows]
        grace = self.grace[rows]
        past_grace = late_by > grace
        hit = (late_by >= -self.window[rows]) & ~past_grace
        month = self.month[rows] + self.interval[rows] * hit
        self.month[rows] = month
        self.due[rows] = day_in_month(month, self.offset[rows])
        if past_grace.any():
            back = np.flatnonzero(past_grace & (late_by <= self.closes[rows]))
            places = back if isinstance(rows, slice) else rows[back]
            self._reinstate(places, day[back])

    def _reinstate(self, rows: Index, day: Days) -> None:
        """Move to the first due date after ``day + window``."""
        target = day + self.window[rows]
        interval = self.interval[rows]
        skip = np.maximum(month_of(target) - self.month[rows], 0) // interval
        month = self.month[rows] + skip * interval
        due = day_in_month(month, self.offset[rows])
        month += interval * (due <= target)
        self.month[rows] = month
        self.due[rows] = day_in_month(month, self.offset[rows])

    def _step_by_last_inspection(self, rows: Index | slice, day: Days) -> None:
        due = self.due[rows]
        counts = (day <= due + self.closes[rows]) & (day >= self.start[rows])
        month = month_of(day)
        moved = day_in_month(month + self.interval[rows], day - MONTH_START[month])
        self.due[rows] = np.where(counts, moved, due)


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
    happened = _happened(visits, as_of)
    answer = Schedule(
        state=np.full(as_of.size, NOT_STARTED, dtype=np.int8),
        due_on=np.full(as_of.size, NO_DAY, dtype=np.int64),
        changes_on=np.array(completed_on, dtype=np.int64),
        turns_on=np.array(completed_on, dtype=np.int64),
    )
    started = completed_on <= as_of
    for anchored in (rules.by_anniversary, ~rules.by_anniversary):
        rows = np.flatnonzero(started & anchored)
        if rows.size:
            rows = rows[_most_first(happened[rows])]
            walk = _Walk(rules, completed_on, rows)
            _fill(answer, walk, visits, happened[rows], as_of[rows], rows)
    return answer


def _fill(
    answer: Schedule,
    walk: _Walk,
    visits: Visits,
    happened: Index,
    as_of: Days,
    rows: Index,
) -> None:
    """Write the answers of one anchor's rows."""
    first = visits.offsets[rows]
    _walk_to_day(walk, visits.on, first, happened)
    late_by = as_of - walk.due
    state = (
        ON_TIME
        + (late_by > 0).astype(np.int8)
        + (late_by > walk.grace)
        + (late_by > walk.closes)
    )
    answer.state[rows] = state
    answer.due_on[rows] = walk.due
    changes = np.select(
        [state == ON_TIME, state == IN_GRACE, state == LAPSED],
        [walk.due + 1, walk.due + walk.grace + 1, walk.due + walk.closes + 1],
        NO_DAY,
    )
    turns = np.where(state <= IN_GRACE, walk.due + walk.grace + 1, NO_DAY)
    ahead = np.flatnonzero(
        (first + happened < visits.offsets[rows + 1]) & (state != OVER)
    )
    if ahead.size:
        place = (first + happened)[ahead]
        end = visits.offsets[rows + 1][ahead]
        _look_ahead(walk, visits.on, place, end, ahead, state, changes, turns)
    answer.changes_on[rows] = changes
    answer.turns_on[rows] = turns


def _most_first(happened: Index) -> Index:
    """Return an order by falling count: each rank is a slice from the front."""
    fewer = happened.max() - happened
    # Sixteen bits sort by radix, several times faster.
    if fewer.max() < 1 << 15:
        return np.argsort(fewer.astype(np.int16), kind="stable")
    return np.argsort(fewer, kind="stable")


def _walk_to_day(walk: _Walk, on: Days, first: Index, happened: Index) -> None:
    """Take every visit that has happened; ``happened`` falls from row to row."""
    most = int(happened[0])
    rising = happened[::-1]
    for rank in range(most):
        count = happened.size - int(np.searchsorted(rising, rank, side="right"))
        walk.step(slice(0, count), on[first[:count] + rank])


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


def _look_ahead(
    walk: _Walk,
    on: Days,
    place: Index,
    end: Index,
    rows: Index,
    state: NDArray[np.int8],
    changes: Days,
    turns: Days,
) -> None:
    """Correct when ``rows`` change, for visits later than the day asked.

    Such a visit ends a grace or a lapse; taken on time it puts the change off.
    """
    late = state[rows] != ON_TIME
    following = on[place]
    changes[rows[late]] = np.minimum(changes[rows[late]], following[late])
    lapsed = state[rows] == LAPSED
    back = lapsed & (following <= walk.due[rows] + walk.closes[rows])
    turns[rows[back]] = following[back]
    on_time = ~late
    place[on_time] = _absorb(
        walk, on, place[on_time], end[on_time], rows[on_time], grace=0
    )
    changes[rows[on_time]] = walk.due[rows[on_time]] + 1
    met = ~lapsed
    _absorb(walk, on, place[met], end[met], rows[met], grace=walk.grace)
    turns[rows[met]] = walk.due[rows[met]] + walk.grace[rows[met]] + 1


def _absorb(
    walk: _Walk, on: Days, place: Index, end: Index, rows: Index, grace: Index | int
) -> Index:
    """Take later visits for as long as they come within the grace given.

    Returns the place of each row's first visit not taken.
    """
    allowed = np.broadcast_to(grace, walk.due.shape)
    reached = place.copy()
    going = np.arange(rows.size)
    while going.size:
        going = going[reached[going] < end[going]]
        day = on[reached[going]]
        # A visit on the morrow of the last day still hides the change.
        in_time = day <= walk.due[rows[going]] + allowed[rows[going]] + 1
        going, day = going[in_time], day[in_time]
        walk.step(rows[going], day)
        reached[going] += 1
    return reached
