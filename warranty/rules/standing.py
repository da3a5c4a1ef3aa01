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

from warranty.rules.calendar import FIRST_DAY, LAST_FACT_DAY, NO_DAY, Days
from warranty.rules.clause import (
    CLAUSE_CODE,
    CLAUSES,
    MET_CODE,
    NEVER_WAIVED,
    NOT_MET_CODE,
    OFF_CODE,
    STANDING_CODE,
    UNKNOWN_CODE,
    Clause,
    Standing,
)
from warranty.rules.columns import (
    STEP_CLAUSES,
    Codes,
    Facts,
    FactsInputError,
    Index,
)
from warranty.rules.judging import (
    Judged,
    judge_coach,
    judge_findings,
    judge_holder,
    judge_inspections,
    judge_registered,
    judge_steps,
    judge_term,
)
from warranty.rules.schedule import (
    IN_GRACE,
    LAPSED,
    ON_TIME,
    OVER,
    Rules,
    Schedule,
    run_schedule,
)
from warranty.rules.terms import TermsColumns

# Rows taken at once, so that a block's temporaries stay in the cache.
BLOCK_ROWS: Final = 1 << 15
Mask = NDArray[np.bool_]

# Unless met, these leave the promise pending.
_CONDITIONS: Final = (
    Clause.FILM,
    Clause.SUBSTRATE,
    Clause.DECK_DRY,
    Clause.PENETRATIONS,
    Clause.CLIMATE,
    Clause.REGISTERED,
    Clause.HOLDER,
)


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
        If ``as_of`` has neither one day nor one day per coverage, or a day that the
        calendar does not reach.
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
    holds_until: Callable[[TermsColumns, Facts, _Seen], Days | int],
) -> Assessment:
    days = _days_asked(facts, as_of)
    answer = _blank(days)
    for rows in _blocks(len(facts)):
        block = facts.slice(rows.start, rows.stop)
        seen = _look(terms, block, days[rows])
        answer.verdict[rows] = seen.verdict.T
        answer.waived[rows] = seen.waived.T
        answer.standing[rows] = seen.standing
        answer.next_due_on[rows] = seen.schedule.due_on
        answer.inspection_state[rows] = seen.schedule.state
        answer.holds_until[rows] = holds_until(terms, block, seen)
    return answer


def _no_day(_terms: TermsColumns, _facts: Facts, _seen: _Seen) -> int:
    return NO_DAY


def _days_asked(facts: Facts, as_of: int | Days) -> Days:
    days = np.asarray(as_of, dtype=np.int64)
    if days.shape not in ((), (len(facts),)):
        raise FactsInputError(
            f"as_of must be one day or {len(facts)} days, got shape {days.shape}."
        )
    if days.size and not FIRST_DAY <= days.min() <= days.max() <= LAST_FACT_DAY:
        raise FactsInputError(
            f"as_of must lie in {FIRST_DAY}..{LAST_FACT_DAY} days since 1970-01-01, "
            f"got {days.min()}..{days.max()}."
        )
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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """One look at some rows, and when to look again."""

    verdict: Codes  # shape (clauses, n)
    waived: Mask  # shape (clauses, n)
    standing: Codes
    schedule: Schedule
    look_again_on: Days  # nothing visible changes before this day
    is_certain: Mask  # something visible does change on that day


def _look(terms: TermsColumns, facts: Facts, as_of: Days) -> _Seen:
    schedule = run_schedule(
        _rules_of(terms, facts), facts.completed_on, facts.visits, as_of
    )
    findings = judge_findings(terms, facts, as_of)
    judged: dict[Clause, Judged] = {
        clause: judge_steps(getattr(facts, clause.value), as_of)
        for clause in STEP_CLAUSES
    }
    judged[Clause.HOLDER] = judge_holder(terms, facts, as_of)
    judged[Clause.REGISTERED] = judge_registered(terms, facts, as_of)
    judged[Clause.COACH] = judge_coach(facts, as_of)
    judged[Clause.TERM] = judge_term(terms, facts, as_of)
    off = _switched_off(terms, facts)
    exact = np.full(as_of.size, NO_DAY, dtype=np.int64)
    for clause, column in judged.items():
        changes = np.where(off[CLAUSE_CODE[clause]], NO_DAY, column.changes_on)
        exact = np.minimum(exact, changes)
    judged[Clause.INSPECTIONS] = judge_inspections(schedule)
    verdict = np.empty((len(CLAUSES), as_of.size), dtype=np.int8)
    for clause, column in judged.items():
        verdict[CLAUSE_CODE[clause]] = column.verdict
    verdict[CLAUSE_CODE[Clause.SERIOUS_FINDINGS]] = findings.verdict
    waived, waiver_boundary = _waivers(facts, as_of)
    verdict[waived] = MET_CODE
    verdict[off] = OFF_CODE
    waived &= ~off
    no_inspections = off[CLAUSE_CODE[Clause.INSPECTIONS]]
    schedule = _without(schedule, no_inspections)
    is_open = findings.is_open & ~off[CLAUSE_CODE[Clause.SERIOUS_FINDINGS]]
    started = facts.completed_on <= as_of
    standing = _standing(verdict, waived, schedule.state, is_open, started)
    loose = np.minimum(findings.changes_on, waiver_boundary)
    loose = np.minimum(loose, np.where(started, NO_DAY, facts.completed_on))
    again = np.minimum(np.minimum(exact, schedule.changes_on), loose)
    return _Seen(
        verdict=verdict,
        waived=waived,
        standing=standing,
        schedule=schedule,
        look_again_on=again,
        is_certain=_certain(facts, again, exact, standing, schedule),
    )


def _certain(
    facts: Facts, again: Days, exact: Days, standing: Codes, schedule: Schedule
) -> Mask:
    """Return the rows whose next look is sure to show another answer.

    A clause that changes its verdict shows, unless a waiver can hide it. A lapsed
    schedule of a suspended promise can only end or be reinstated. A promise in force
    cannot still be in force once its inspection is late.
    """
    in_force = standing == STANDING_CODE[Standing.IN_FORCE]
    suspended = standing == STANDING_CODE[Standing.SUSPENDED]
    turns = schedule.changes_on == again
    shows = (
        (exact == again)
        | (turns & in_force & (schedule.state == ON_TIME))
        | (turns & suspended & (schedule.state == LAPSED))
    )
    certain: Mask = (again == NO_DAY) | (shows & (facts.waivers.counts == 0))
    return certain


def _rules_of(terms: TermsColumns, facts: Facts) -> Rules:
    edition = facts.edition
    return Rules(
        by_anniversary=terms.by_anniversary[edition],
        interval_months=terms.interval_months[edition],
        window_days=terms.window_days[edition],
        grace_days=terms.grace_days[edition],
        reinstatement_days=terms.reinstatement_days[edition],
    )


def _switched_off(terms: TermsColumns, facts: Facts) -> Mask:
    """Return which clauses each row's edition leaves out, shape ``(clauses, n)``."""
    on: Mask = terms.switched_on.T[:, facts.edition]
    return ~on


def _without(schedule: Schedule, absent: Mask) -> Schedule:
    """Return the schedule with nothing due where inspections are not demanded."""
    if not absent.any():
        return schedule
    return Schedule(
        state=np.where(absent, np.int8(ON_TIME), schedule.state),
        due_on=np.where(absent, NO_DAY, schedule.due_on),
        changes_on=np.where(absent, NO_DAY, schedule.changes_on),
    )


_WAIVABLE: Final = np.array([c not in NEVER_WAIVED for c in CLAUSES])


def _waivers(facts: Facts, as_of: Days) -> tuple[Mask, Days]:
    """Return what is waived on the day, and the next start or end of a waiver."""
    waivers = facts.waivers
    waived = np.zeros((len(CLAUSES), as_of.size), dtype=np.bool_)
    boundary = np.full(as_of.size, NO_DAY, dtype=np.int64)
    first, last = waivers.offsets[0], waivers.offsets[-1]
    if first == last:
        return waived, boundary
    clause = waivers.clause[first:last]
    starts, until = waivers.from_on[first:last], waivers.until_on[first:last]
    row = waivers.row_of_each()
    day = as_of[row]
    holds = (starts <= day) & (day <= until) & _WAIVABLE[clause]
    waived[clause[holds], row[holds]] = True
    ends = np.where(until == NO_DAY, NO_DAY, until + 1)
    later = np.where(starts > day, starts, np.where(ends > day, ends, NO_DAY))
    np.minimum.at(boundary, row, later)
    return waived, boundary


def _standing(
    verdict: Codes, waived: Mask, state: Codes, is_open: Mask, started: Mask
) -> Codes:
    """Return the first standing that applies, worst first."""
    inspections = CLAUSE_CODE[Clause.INSPECTIONS]
    over = (state == OVER) & ~waived[inspections]
    over |= verdict[CLAUSE_CODE[Clause.COACH]] == NOT_MET_CODE
    over |= verdict[CLAUSE_CODE[Clause.TERM]] == NOT_MET_CODE
    alterations = verdict[CLAUSE_CODE[Clause.ALTERATIONS]]
    pending = alterations == UNKNOWN_CODE
    for clause in _CONDITIONS:
        code = verdict[CLAUSE_CODE[clause]]
        pending |= (code == UNKNOWN_CODE) | (code == NOT_MET_CODE)
    suspended = verdict[CLAUSE_CODE[Clause.SERIOUS_FINDINGS]] == NOT_MET_CODE
    suspended |= verdict[inspections] == NOT_MET_CODE
    suspended |= alterations == NOT_MET_CODE
    # A waiver lifts the verdict, not the fact: what is late or open stays a risk.
    at_risk = (state >= IN_GRACE) | is_open
    standing = np.where(
        at_risk,
        np.int8(STANDING_CODE[Standing.AT_RISK]),
        np.int8(STANDING_CODE[Standing.IN_FORCE]),
    )
    standing[suspended] = STANDING_CODE[Standing.SUSPENDED]
    standing[pending] = STANDING_CODE[Standing.PENDING]
    standing[over] = STANDING_CODE[Standing.ENDED]
    standing[~started] = STANDING_CODE[Standing.PENDING]
    return standing


def _holds_until(terms: TermsColumns, facts: Facts, seen: _Seen) -> Days:
    """Return the last day on which every row still gives this answer.

    Each row is looked at again on the next day on which anything behind its answer
    moves, until the answer itself differs; most rows need no second look.
    """
    holds = np.where(seen.look_again_on == NO_DAY, NO_DAY, seen.look_again_on - 1)
    rows = np.flatnonzero(~seen.is_certain)
    day = seen.look_again_on[rows]
    part = facts.take(rows) if rows.size else facts
    while rows.size:
        later = _look(terms, part, day)
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
