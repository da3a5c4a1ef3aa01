"""One look at many coverages: every clause, the standing, and when to look again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from warranty.rules.calendar import NO_DAY, Days
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
    Codes,
    Facts,
)
from warranty.rules.judging import (
    Judged,
    JudgedFindings,
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
class Seen:
    """What one look shows, and when to look again."""

    verdict: Codes  # shape (clauses, n)
    waived: Mask | None  # shape (clauses, n); None where nothing is waived
    standing: Codes  # shape (n,)
    schedule: Schedule
    look_again_on: Days  # nothing visible changes before this day
    is_certain: Mask  # something visible does change on that day


def look(terms: TermsColumns, facts: Facts, as_of: Days) -> Seen:
    """Return one look at every row on its day.

    Parameters
    ----------
    terms : TermsColumns
    facts : Facts
    as_of : ndarray of int64, shape (n,)
        The day asked, per row. [d]

    Returns
    -------
    Seen
    """
    schedule = _schedule(terms, facts, as_of)
    findings = judge_findings(terms, facts, as_of)
    waived, waiver_boundary = _waivers(facts, as_of)
    verdict = np.empty((len(CLAUSES), as_of.size), dtype=np.int8)
    started = facts.completed_on <= as_of
    exact = np.full(as_of.size, NO_DAY, dtype=np.int64)
    for code, clause in enumerate(CLAUSES):
        if terms.switches[code] is False:
            verdict[code] = OFF_CODE
            continue
        column = _judged(clause, terms, facts, as_of, schedule, findings)
        verdict[code], changes = column.verdict, column.changes_on
        if waived is not None:
            verdict[code, waived[code]] = MET_CODE
        if terms.switches[code] is None:
            off = ~terms.switched_on[facts.edition, code]
            verdict[code, off] = OFF_CODE
            changes = np.where(off, NO_DAY, changes)
        if clause is not Clause.SERIOUS_FINDINGS:
            np.minimum(exact, changes, out=exact)
    if waived is not None:
        waived &= verdict != OFF_CODE
    demanded = verdict[CLAUSE_CODE[Clause.SERIOUS_FINDINGS]] != OFF_CODE
    is_open = findings.is_open & demanded
    standing = _standing(verdict, waived, schedule.state, is_open, started)
    loose = np.minimum(findings.changes_on, waiver_boundary)
    loose = np.where(started, loose, np.minimum(loose, facts.completed_on))
    soft, shows = _soft_changes(standing, schedule, is_open, loose)
    again = np.minimum(np.minimum(exact, loose), soft)
    certain = (again == NO_DAY) | (exact == again) | (shows & (soft == again))
    # A waiver can hide a change of its clause.
    certain &= facts.waivers.counts == 0
    return Seen(
        verdict=verdict,
        waived=waived,
        standing=standing,
        schedule=schedule,
        look_again_on=again,
        is_certain=certain | (again == NO_DAY),
    )


def _judged(
    clause: Clause,
    terms: TermsColumns,
    facts: Facts,
    as_of: Days,
    schedule: Schedule,
    findings: JudgedFindings,
) -> Judged | JudgedFindings:
    match clause:
        case Clause.HOLDER:
            return judge_holder(terms, facts, as_of)
        case Clause.REGISTERED:
            return judge_registered(terms, facts, as_of)
        case Clause.COACH:
            return judge_coach(facts, as_of)
        case Clause.TERM:
            return judge_term(terms, facts, as_of)
        case Clause.INSPECTIONS:
            return judge_inspections(schedule)
        case Clause.SERIOUS_FINDINGS:
            return findings
        case _:
            return judge_steps(getattr(facts, clause.value), as_of)


def _soft_changes(
    standing: Codes, schedule: Schedule, is_open: Mask, loose: Days
) -> tuple[Days, Mask]:
    """Return changes of the schedule's state that only the standing can show.

    A grace shows while all clauses are met; the end of a lapse shows unless the
    promise has ended already. The mask tells where it is sure to show: a promise in
    force cannot be so once its inspection is late, one at risk by its late inspection
    alone cannot stay so once that ends, and a lapse that ends is the end.
    """
    state = schedule.state
    in_force = standing == STANDING_CODE[Standing.IN_FORCE]
    at_risk = standing == STANDING_CODE[Standing.AT_RISK]
    ends = (state == LAPSED) & (standing != STANDING_CODE[Standing.ENDED])
    matters = in_force | at_risk | ends
    soft = np.where(matters, schedule.changes_on, NO_DAY)
    alone = at_risk & (state == IN_GRACE) & ~is_open & (soft < loose)
    return soft, in_force | ends | alone


def _schedule(terms: TermsColumns, facts: Facts, as_of: Days) -> Schedule:
    edition = facts.edition
    rules = Rules(
        by_anniversary=terms.by_anniversary[edition],
        interval_months=terms.interval_months[edition],
        window_days=terms.window_days[edition],
        grace_days=terms.grace_days[edition],
        reinstatement_days=terms.reinstatement_days[edition],
    )
    visits = facts.visits.accepted(terms.accepts_other_shops[edition])
    schedule = run_schedule(rules, facts.completed_on, visits, as_of)
    code = CLAUSE_CODE[Clause.INSPECTIONS]
    if terms.switches[code] is True:
        return schedule
    # Nothing is due where inspections are not demanded.
    on = terms.switched_on[edition, code]
    return Schedule(
        state=np.where(on, schedule.state, np.int8(ON_TIME)),
        due_on=np.where(on, schedule.due_on, NO_DAY),
        changes_on=np.where(on, schedule.changes_on, NO_DAY),
        turns_on=np.where(on, schedule.turns_on, NO_DAY),
    )


_WAIVABLE: Final = np.array([c not in NEVER_WAIVED for c in CLAUSES])


def _waivers(facts: Facts, as_of: Days) -> tuple[Mask | None, Days | int]:
    """Return what is waived on the day, and the next start or end of a waiver."""
    waivers = facts.waivers
    first, last = waivers.offsets[0], waivers.offsets[-1]
    if first == last:
        return None, NO_DAY
    waived = np.zeros((len(CLAUSES), as_of.size), dtype=np.bool_)
    boundary = np.full(as_of.size, NO_DAY, dtype=np.int64)
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
    verdict: Codes, waived: Mask | None, state: Codes, is_open: Mask, started: Mask
) -> Codes:
    """Return the first standing that applies, worst first."""
    inspections = CLAUSE_CODE[Clause.INSPECTIONS]
    over = state == OVER
    if waived is not None:
        over &= ~waived[inspections]
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
