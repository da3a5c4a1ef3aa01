"""One coverage through time: jumping from change to change, never day by day."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from warranty.rules.calendar import NO_DAY, date_of, day_number, known_date_of
from warranty.rules.clause import (
    CLAUSES,
    OFF_CODE,
    STANDINGS,
    VERDICT_OF_CODE,
    Clause,
    Standing,
    Verdict,
)
from warranty.rules.columns import Facts, FactsInputError
from warranty.rules.standing import Assessment, assess
from warranty.rules.terms import TermsColumns


@dataclass(frozen=True, slots=True, kw_only=True)
class Period:
    """A stretch of days with one standing; ``until_on`` is included, None is open."""

    from_on: date
    until_on: date | None
    standing: Standing


def answers_from(
    terms: TermsColumns, facts: Facts, as_of: date, horizon: date | None = None
) -> Iterator[Assessment]:
    """Yield one coverage's answer on a day, then on each day it changes.

    Parameters
    ----------
    terms : TermsColumns
    facts : Facts
        Exactly one coverage.
    as_of : date
        The first day asked.
    horizon : date, optional
        The last day of interest; without it, until nothing changes any more.

    Raises
    ------
    FactsInputError
        If ``facts`` does not hold exactly one coverage.
    """
    if len(facts) != 1:
        raise FactsInputError(f"facts must hold one coverage, got {len(facts)}.")
    day = day_number(as_of)
    last = NO_DAY if horizon is None else day_number(horizon)
    while day <= last:
        answer = assess(terms, facts, day)
        yield answer
        until = int(answer.holds_until[0])
        if until == NO_DAY:
            return
        day = until + 1


def periods(terms: TermsColumns, facts: Facts, *, horizon: date) -> tuple[Period, ...]:
    """Return the standings of one coverage from completion to the horizon.

    Returns
    -------
    tuple of Period
        Without gap or overlap, neighbours differ; empty before completion. The last
        one is cut at the horizon, or left open if its standing never changes.
    """
    completed = date_of(int(facts.completed_on[0])) if len(facts) else None
    if completed is None or completed > horizon:
        return ()
    found: list[Period] = []
    for answer in answers_from(terms, facts, completed, horizon):
        period = _period(answer, horizon)
        if found and found[-1].standing is period.standing:
            period = Period(
                from_on=found.pop().from_on,
                until_on=period.until_on,
                standing=period.standing,
            )
        found.append(period)
    return tuple(found)


def _period(answer: Assessment, horizon: date) -> Period:
    until = date_of(int(answer.holds_until[0]))
    return Period(
        from_on=known_date_of(int(answer.as_of[0])),
        until_on=None if until is None else min(until, horizon),
        standing=STANDINGS[answer.standing[0]],
    )


def verdicts_of(answer: Assessment, row: int) -> dict[Clause, Verdict]:
    """Return one row's verdicts, for the clauses of its edition."""
    return {
        clause: VERDICT_OF_CODE[code]
        for clause, code in zip(CLAUSES, answer.verdict[row].tolist(), strict=True)
        if code != OFF_CODE
    }


def verdicts_hold_until(
    terms: TermsColumns, facts: Facts, as_of: date
) -> dict[Clause, date | None]:
    """Return, per clause of one coverage, the last day its verdict holds.

    None where it never changes with the records as they are.
    """
    holds: dict[Clause, date | None] = {}
    first: dict[Clause, Verdict] = {}
    for answer in answers_from(terms, facts, as_of):
        day = known_date_of(int(answer.as_of[0]))
        now = verdicts_of(answer, 0)
        first = first or now
        for clause, verdict in now.items():
            if clause not in holds and verdict is not first[clause]:
                holds[clause] = day - timedelta(days=1)
        if len(holds) == len(first):
            break
    return {clause: holds.get(clause) for clause in first}
