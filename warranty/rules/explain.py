"""A standing explained clause by clause, from the columns and the records they name."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from warranty.rules.calendar import date_of, day_number, known_date_of
from warranty.rules.clause import CLAUSE_CODE, STANDINGS, Clause, Standing, Verdict
from warranty.rules.roof_facts import RoofFacts, Waiver, facts_of
from warranty.rules.sentence import Case, Sentence, sentence_for
from warranty.rules.standing import Assessment, assess
from warranty.rules.terms import Terms, terms_columns
from warranty.rules.timeline import verdicts_hold_until, verdicts_of


@dataclass(frozen=True, slots=True, kw_only=True)
class ClauseResult:
    """One clause's answer, ready for a certificate or a screen."""

    clause: Clause
    number: str  # in the printed terms, e.g. "4.2"
    verdict: Verdict
    because: str
    cure: str  # empty when met
    holds_until: date | None  # last day of this verdict; None: as things stand, always
    evidence: tuple[str, ...]
    waived: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """What one roof's promise is worth on a day, and why."""

    as_of: date
    standing: Standing
    next_due_on: date | None
    holds_until: date | None
    results: tuple[ClauseResult, ...]  # every clause of the edition, in its order

    @property
    def unmet(self) -> tuple[ClauseResult, ...]:
        """The clauses that are not met, unknown ones included."""
        return tuple(r for r in self.results if r.verdict is not Verdict.MET)


def explain(terms: Terms, roof: RoofFacts, as_of: date) -> Explanation:
    """Return one roof's standing on a day with every clause in plain words.

    Parameters
    ----------
    terms : Terms
        The edition promised; ``roof.edition`` is not looked at.
    roof : RoofFacts
        The records, with references and, for judged clauses, their sentences.
    as_of : date
        The day asked.

    Returns
    -------
    Explanation
    """
    editions, facts = terms_columns([terms]), facts_of([replace(roof, edition=0)])
    answer = assess(editions, facts, day_number(as_of))
    holds = verdicts_hold_until(editions, facts, as_of)
    verdicts = verdicts_of(answer, 0)
    results = (
        _result(terms, roof, answer, clause, verdicts[clause], holds[clause])
        for clause in terms.clauses
    )
    return Explanation(
        as_of=as_of,
        standing=STANDINGS[answer.standing[0]],
        next_due_on=_date(answer.next_due_on),
        holds_until=_date(answer.holds_until),
        results=tuple(results),
    )


def _date(column: np.ndarray[tuple[int], np.dtype[np.int64]]) -> date | None:
    return date_of(int(column[0]))


def _result(
    terms: Terms,
    roof: RoofFacts,
    answer: Assessment,
    clause: Clause,
    verdict: Verdict,
    holds_until: date | None,
) -> ClauseResult:
    waived = bool(answer.waived[0, CLAUSE_CODE[clause]])
    case = Case(
        clause=clause,
        verdict=verdict,
        terms=terms,
        roof=roof,
        as_of=known_date_of(int(answer.as_of[0])),
        inspection_state=int(answer.inspection_state[0]),
        next_due_on=_date(answer.next_due_on),
    )
    words = _waived_words(case) if waived else sentence_for(case)
    return ClauseResult(
        clause=clause,
        number=terms.number_of(clause),
        verdict=verdict,
        because=words.because,
        cure=words.cure,
        holds_until=holds_until,
        evidence=words.evidence,
        waived=waived,
    )


def _waived_words(case: Case) -> Sentence:
    waiver = next(w for w in case.roof.waivers if _covers(w, case))
    until = "" if waiver.until_on is None else f" until {waiver.until_on}"
    why = f": {waiver.why.rstrip('.')}." if waiver.why else "."
    return Sentence(
        because=f"Waived by the office from {waiver.from_on}{until}{why}",
        evidence=(waiver.reference,) if waiver.reference else (),
    )


def _covers(waiver: Waiver, case: Case) -> bool:
    return (
        waiver.clause is case.clause
        and waiver.from_on <= case.as_of
        and (waiver.until_on is None or case.as_of <= waiver.until_on)
    )
