"""What every promise is worth on a day, and until when that holds.

``assess`` is one pure function over columns: one roof and a million roofs run the same
code. All clauses answer, none stops the others. Rows are taken in blocks that fit the
processor's cache.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from warranty.rules.calendar import NO_DAY, Days
from warranty.rules.clause import (
    CLAUSES,
)
from warranty.rules.columns import (
    Codes,
    Facts,
    FactsInputError,
    Index,
)
from warranty.rules.look import Seen, look
from warranty.rules.terms import TermsColumns

# Rows taken at once, so that a block's temporaries stay in the cache.
BLOCK_ROWS: Final = 1 << 15
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessment:
    """Answers for ``n`` coverages, each on its own day.

    Parameters
    ----------
    as_of : ndarray of int64, shape (n,)
        The day asked. [d]
    verdict : ndarray of int8, shape (n, clauses)
        0 unknown, 1 met, 2 not met, 3 not in the edition; columns as in ``CLAUSES``.
    waived : ndarray of bool, shape (n, clauses)
        Whether a waiver covers the clause on the day.
    standing : ndarray of int8, shape (n,)
        Index into ``STANDINGS``.
    next_due_on : ndarray of int64, shape (n,)
        First unsatisfied due date by the schedule alone, ``NO_DAY`` before
        completion. [d]
    holds_until : ndarray of int64, shape (n,)
        The day before standing or any verdict first changes; ``NO_DAY`` when nothing
        changes with the records as they are. [d]
    inspection_state : ndarray of int8, shape (n,)
        The schedule's state (``schedule.NOT_STARTED`` to ``schedule.OVER``).
    """

    as_of: Days
    verdict: Codes
    waived: Mask
    standing: Codes
    next_due_on: Days
    holds_until: Days
    inspection_state: Codes

    def __len__(self) -> int:
        return self.standing.size


def assess(terms: TermsColumns, facts: Facts, as_of: int | Days) -> Assessment:
    """Return standing, verdicts, next due date and until when they hold.

    Parameters
    ----------
    terms : TermsColumns
        The editions that ``facts.edition`` points into.
    facts : Facts
        What is recorded about ``n`` coverages, later facts included.
    as_of : int or ndarray of int64, shape (n,)
        The day asked, one for all or one per coverage. [d]

    Returns
    -------
    Assessment

    Raises
    ------
    FactsInputError
        If ``as_of`` has neither one day nor one day per coverage.
    """
    return _answer(terms, facts, as_of, _holds_until)


def judge(terms: TermsColumns, facts: Facts, as_of: int | Days) -> Assessment:
    """Return the same as `assess` but for ``holds_until``, which is left at ``NO_DAY``.

    For replays that compare standings and ask no further.
    """
    return _answer(terms, facts, as_of, _no_day)


def _answer(
    terms: TermsColumns,
    facts: Facts,
    as_of: int | Days,
    holds_until: Callable[[TermsColumns, Facts, Seen], Days | int],
) -> Assessment:
    days = _days_asked(facts, as_of)
    answer = _blank(days)
    for rows in _blocks(len(facts)):
        block = facts.slice(rows.start, rows.stop)
        seen = look(terms, block, days[rows])
        answer.verdict[rows] = seen.verdict.T
        answer.waived[rows] = False if seen.waived is None else seen.waived.T
        answer.standing[rows] = seen.standing
        answer.next_due_on[rows] = seen.schedule.due_on
        answer.inspection_state[rows] = seen.schedule.state
        answer.holds_until[rows] = holds_until(terms, block, seen)
    return answer


def _no_day(_terms: TermsColumns, _facts: Facts, _seen: Seen) -> int:
    return NO_DAY


def _days_asked(facts: Facts, as_of: int | Days) -> Days:
    days = np.asarray(as_of, dtype=np.int64)
    if days.shape not in ((), (len(facts),)):
        raise FactsInputError(
            f"as_of must be one day or {len(facts)} days, got shape {days.shape}."
        )
    if (days == NO_DAY).any():
        raise FactsInputError("as_of must be a day for every coverage, got none.")
    return np.broadcast_to(days, (len(facts),))


def _blank(days: Days) -> Assessment:
    rows = days.size
    return Assessment(
        as_of=days,
        # One clause after another in memory: each is written as a column.
        verdict=np.empty((len(CLAUSES), rows), dtype=np.int8).T,
        waived=np.empty((len(CLAUSES), rows), dtype=np.bool_).T,
        standing=np.empty(rows, dtype=np.int8),
        next_due_on=np.empty(rows, dtype=np.int64),
        holds_until=np.empty(rows, dtype=np.int64),
        inspection_state=np.empty(rows, dtype=np.int8),
    )


def _blocks(rows: int) -> Iterator[slice]:
    for start in range(0, rows, BLOCK_ROWS):
        yield slice(start, min(start + BLOCK_ROWS, rows))


def _holds_until(terms: TermsColumns, facts: Facts, seen: Seen) -> Days:
    """Return the last day on which every row still gives this answer.

    Each row is looked at again on the next day on which anything behind its answer
    moves, until the answer itself differs; most rows need no second look.
    """
    holds = np.where(seen.look_again_on == NO_DAY, NO_DAY, seen.look_again_on - 1)
    rows = np.flatnonzero(~seen.is_certain)
    day = seen.look_again_on[rows]
    part = facts.take(rows) if rows.size else facts
    while rows.size:
        later = look(terms, part, day)
        same = (later.standing == seen.standing[rows]) & (
            later.verdict == seen.verdict[:, rows]
        ).all(axis=0)
        again = later.look_again_on
        last = np.where(same & (again != NO_DAY), again, day)
        holds[rows] = np.where(same & (again == NO_DAY), NO_DAY, last - 1)
        unsettled: Index = np.flatnonzero(same & ~later.is_certain)
        rows, day = rows[unsettled], again[unsettled]
        part = part.take(unsettled)
    return holds
