"""The clauses: one small function each, from columns to a verdict and its change.

Every function answers for all rows, on one day per row. ``changes_on`` is the first
later day on which the clause gives another verdict with the records as they are,
``NO_DAY`` if never; `serious_findings` may name an earlier day (see there).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from warranty.rules.calendar import NO_DAY, Days, add_months_to_days
from warranty.rules.clause import MET_CODE, NOT_MET_CODE, UNKNOWN_CODE
from warranty.rules.columns import Codes, Facts, Findings, Steps
from warranty.rules.schedule import IN_GRACE, NOT_STARTED, Schedule
from warranty.rules.terms import TermsColumns

_MET: Final = np.int8(MET_CODE)
_NOT_MET: Final = np.int8(NOT_MET_CODE)
_UNKNOWN: Final = np.int8(UNKNOWN_CODE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One clause's column: verdict codes and the next change, shape ``(n,)``."""

    verdict: Codes
    changes_on: Days


def judge_steps(steps: Steps, as_of: Days) -> Judged:
    """Return the verdict of the last step on or before the day.

    Serves film, substrate, deck dry, penetrations, climate and alterations, whose
    verdicts are worked out from records elsewhere; unknown before the first step.
    """
    counts = steps.counts
    first, last = steps.offsets[0], steps.offsets[-1]
    if last - first == counts.size and (counts == 1).all():
        from_on, code = steps.from_on[first:last], steps.code[first:last]
        known = from_on <= as_of
        waits = ~known & (code != UNKNOWN_CODE)
        return Judged(
            verdict=np.where(known, code, _UNKNOWN),
            changes_on=np.where(waits, from_on, NO_DAY),
        )
    return _judge_ragged_steps(steps, counts, as_of)


def _judge_ragged_steps(steps: Steps, counts: NDArray[np.int64], as_of: Days) -> Judged:
    verdict = np.full(counts.size, _UNKNOWN)
    changes = np.full(counts.size, NO_DAY, dtype=np.int64)
    ranks = int(counts.max(initial=0))
    for rank in range(ranks):
        rows = np.flatnonzero(counts > rank)
        place = steps.offsets[rows] + rank
        past = steps.from_on[place] <= as_of[rows]
        verdict[rows[past]] = steps.code[place[past]]
    for rank in reversed(range(ranks)):  # so that the earliest change stays
        rows = np.flatnonzero(counts > rank)
        place = steps.offsets[rows] + rank
        day = steps.from_on[place]
        other = (day > as_of[rows]) & (steps.code[place] != verdict[rows])
        changes[rows[other]] = day[other]
    return Judged(verdict=verdict, changes_on=changes)


def judge_holder(terms: TermsColumns, facts: Facts, as_of: Days) -> Judged:
    """Return whether the holder on the day is the edition's kind of owner."""
    holder = facts.holder
    first, last = holder.offsets[0], holder.offsets[-1]
    kind = terms.owner_kind[facts.edition]
    if last - first != kind.size or (holder.counts != 1).any():
        kind = np.repeat(kind, holder.counts)
    code = np.where(holder.code[first:last] == kind, _MET, _NOT_MET)
    return judge_steps(
        Steps(
            offsets=holder.offsets - first,
            from_on=holder.from_on[first:last],
            code=code,
        ),
        as_of,
    )


def judge_registered(terms: TermsColumns, facts: Facts, as_of: Days) -> Judged:
    """Return whether the coverage was registered in time.

    Unknown while the limit has not passed; a registration counts from its own date.
    """
    completed, registered = facts.completed_on, facts.registered_on
    limit = completed + terms.registration_days[facts.edition]
    in_time = registered <= limit
    # From this day on the answer is final.
    settles = np.where(in_time, np.maximum(registered, completed), limit + 1)
    settled = settles <= as_of
    return Judged(
        verdict=np.where(settled, np.where(in_time, _MET, _NOT_MET), _UNKNOWN),
        changes_on=np.where(settled | (completed == NO_DAY), NO_DAY, settles),
    )


def judge_coach(facts: Facts, as_of: Days) -> Judged:
    """Return whether the coach is alive; its retirement counts on the day itself."""
    alive = as_of < facts.retired_on
    return Judged(
        verdict=np.where(alive, _MET, _NOT_MET),
        changes_on=np.where(alive, facts.retired_on, NO_DAY),
    )


def judge_term(terms: TermsColumns, facts: Facts, as_of: Days) -> Judged:
    """Return whether the day lies before completion + term; unknown before it."""
    completed = facts.completed_on
    months = terms.term_months[facts.edition]
    ends = np.full(completed.size, NO_DAY, dtype=np.int64)
    termed = np.flatnonzero(months >= 0)
    ends[termed] = add_months_to_days(completed[termed], months[termed])
    started = completed <= as_of
    running = as_of < ends
    return Judged(
        verdict=np.where(started, np.where(running, _MET, _NOT_MET), _UNKNOWN),
        changes_on=np.where(started, np.where(running, ends, NO_DAY), completed),
    )


def judge_inspections(schedule: Schedule) -> Judged:
    """Return whether inspections are current: met in force and in grace."""
    state = schedule.state
    met = np.where(state <= IN_GRACE, _MET, _NOT_MET)
    return Judged(
        verdict=np.where(state == NOT_STARTED, _UNKNOWN, met),
        changes_on=schedule.turns_on,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedFindings:
    """The serious findings' column, and which rows have one open."""

    verdict: Codes
    changes_on: Days  # no change comes before this day; it need not bring one
    is_open: NDArray[np.bool_]


def judge_findings(terms: TermsColumns, facts: Facts, as_of: Days) -> JudgedFindings:
    """Return whether no serious finding is open longer than the cure days.

    A finding is open from the day found until the day before its cure; found + cure
    days is the last day it is not overdue.
    """
    findings = facts.findings
    rows = np.flatnonzero(findings.counts)
    verdict = np.full(len(facts), _MET)
    changes = np.full(len(facts), NO_DAY, dtype=np.int64)
    is_open = np.zeros(len(facts), dtype=np.bool_)
    if rows.size:
        level, boundary = _findings_by_row(
            findings, rows, as_of, terms.serious_cure_days[facts.edition]
        )
        verdict[rows] = np.where(level == _OVERDUE, _NOT_MET, _MET)
        is_open[rows] = level >= _OPEN
        changes[rows] = boundary
    return JudgedFindings(verdict=verdict, changes_on=changes, is_open=is_open)


_OPEN: Final = 1
_OVERDUE: Final = 2


def _findings_by_row(
    findings: Findings, rows: NDArray[np.int64], as_of: Days, cure_days: Days
) -> tuple[Codes, Days]:
    """Return the worst finding's level and the next boundary of each named row.

    ``rows`` are exactly the rows that own findings.
    """
    first, last = findings.offsets[0], findings.offsets[-1]
    found = findings.found_on[first:last]
    cured = findings.cured_on[first:last]
    counts = findings.counts[rows]
    day = np.repeat(as_of[rows], counts)
    overdue_from = found + np.repeat(cure_days[rows], counts) + 1
    # A repair dated before the finding cured something else.
    cured = np.where(cured < found, NO_DAY, cured)
    is_open = (found <= day) & (day < cured)
    level = is_open.astype(np.int8) + (is_open & (overdue_from <= day))
    boundary = np.where(is_open, cured, NO_DAY)
    boundary = np.where(level == _OPEN, np.minimum(overdue_from, boundary), boundary)
    boundary = np.where((found > day) & (cured > found), found, boundary)
    starts = findings.offsets[rows] - first
    return (
        np.maximum.reduceat(level, starts),
        np.minimum.reduceat(boundary, starts),
    )
