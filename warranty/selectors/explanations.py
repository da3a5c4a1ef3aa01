"""One roof's standing explained clause by clause, and its course over time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from fleet.selectors.records import RoofRecords
from warranty.rules.calendar import add_months
from warranty.rules.explain import Explanation, explain
from warranty.rules.roof_facts import facts_of
from warranty.rules.terms import Terms, terms_columns
from warranty.rules.timeline import Period, periods
from warranty.selectors.facts import CoverageFacts, coverage_facts
from warranty.selectors.terms import terms_of

# How far ahead a course is drawn: one interval and its grace fit in it.
HORIZON_MONTHS = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofExplanation:
    """The answer for one roof on one day, with the records behind it."""

    explanation: Explanation
    terms: Terms
    coverage: CoverageFacts
    known_at: datetime


def explanation_of(
    roof_id: int,
    *,
    as_of: date,
    known_at: datetime,
    noticed_on: date | None = None,
) -> RoofExplanation | None:
    """Return the standing of one roof explained, or None without a promise.

    With ``noticed_on`` the answer is for a loss: late waivers do not count.
    """
    found = coverage_facts(
        [roof_id],
        known_at=known_at,
        losses={roof_id: noticed_on} if noticed_on else None,
    )
    if roof_id not in found:
        return None
    coverage = found[roof_id]
    terms = terms_of(coverage.promise.edition)
    return RoofExplanation(
        explanation=explain(terms, coverage.facts, as_of),
        terms=terms,
        coverage=coverage,
        known_at=known_at,
    )


def explanations_of(
    roof_ids: Iterable[int],
    *,
    as_of: date,
    known_at: datetime,
    records: Mapping[int, RoofRecords] | None = None,
) -> Iterator[RoofExplanation]:
    """Yield the explained standing of each roof that has a promise, in id order."""
    found = coverage_facts(roof_ids, known_at=known_at, records=records)
    for coverage in found.values():
        terms = terms_of(coverage.promise.edition)
        yield RoofExplanation(
            explanation=explain(terms, coverage.facts, as_of),
            terms=terms,
            coverage=coverage,
            known_at=known_at,
        )


def course_of(answer: RoofExplanation, *, as_of: date) -> tuple[Period, ...]:
    """Return the periods of each standing from completion to the horizon."""
    if answer.coverage.facts.completed_on is None:
        return ()
    return periods(
        terms_columns([answer.terms]),
        facts_of([answer.coverage.facts]),
        horizon=add_months(as_of, HORIZON_MONTHS),
    )
