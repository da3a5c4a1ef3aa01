"""Standings of roofs, asked as of a day and as known at a moment."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

import numpy as np

from fleet.models import Roof
from warranty.models import Edition
from warranty.rules.calendar import NO_DAY, date_of, day_number
from warranty.rules.clause import (
    CLAUSES,
    OFF_CODE,
    STANDINGS,
    VERDICT_OF_CODE,
    Clause,
    Standing,
    Verdict,
)
from warranty.rules.roof_facts import RoofFacts, facts_of
from warranty.rules.standing import Assessment, assess
from warranty.rules.terms import Terms, TermsColumns, terms_columns
from warranty.selectors.facts import CoverageFacts, coverage_facts
from warranty.selectors.terms import terms_of


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofStanding:
    """One roof's answer on one day, without its sentences."""

    roof_id: int
    as_of: date
    standing: Standing
    next_due_on: date | None
    holds_until: date | None
    verdicts: tuple[tuple[Clause, Verdict], ...]  # only clauses of the edition
    coverage: CoverageFacts


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessed:
    """Columns of one call, and what they were made from, row by row."""

    terms: TermsColumns
    editions: tuple[Terms, ...]
    rows: tuple[RoofFacts, ...]
    assessment: Assessment


def standings_of(
    roof_ids: Iterable[int],
    *,
    as_of: date | Mapping[int, date],
    known_at: datetime,
    for_losses: bool = False,
) -> dict[int, RoofStanding]:
    """Return the standing of each roof that has a promise.

    ``as_of`` is one day for all, or a day per roof. With ``for_losses`` those days
    are when losses were noticed: late waivers do not count for them.
    """
    days = dict(as_of) if isinstance(as_of, Mapping) else None
    found = coverage_facts(
        roof_ids, known_at=known_at, losses=days if for_losses else None
    )
    if not found:
        return {}
    on = {roof_id: days[roof_id] if days else as_of for roof_id in found}
    assessed = assess_facts(list(found.values()), [on[roof_id] for roof_id in found])
    return {
        roof_id: roof_standing(assessed.assessment, row, coverage)
        for row, (roof_id, coverage) in enumerate(found.items())
    }


def assess_facts(coverages: list[CoverageFacts], days: list[date]) -> Assessed:
    """Run the rules over coverages, each on its own day, in one call."""
    editions: dict[int, int] = {}
    terms: list[Terms] = []
    rows = []
    for coverage in coverages:
        edition: Edition = coverage.promise.edition
        if edition.pk not in editions:
            editions[edition.pk] = len(terms)
            terms.append(terms_of(edition))
        rows.append(replace(coverage.facts, edition=editions[edition.pk]))
    columns = terms_columns(terms)
    as_of = np.array([day_number(day) for day in days], dtype=np.int64)
    return Assessed(
        terms=columns,
        editions=tuple(terms),
        rows=tuple(rows),
        assessment=assess(columns, facts_of(rows), as_of),
    )


def roof_standing(
    answer: Assessment, row: int, coverage: CoverageFacts
) -> RoofStanding:
    """Return one row of an assessment in words and dates."""
    as_of = date_of(int(answer.as_of[row]))
    if as_of is None:
        raise ValueError("as_of must be a day.")
    return RoofStanding(
        roof_id=coverage.records.roof.pk,
        as_of=as_of,
        standing=STANDINGS[answer.standing[row]],
        next_due_on=_date(answer.next_due_on[row]),
        holds_until=_date(answer.holds_until[row]),
        verdicts=tuple(
            (clause, VERDICT_OF_CODE[code])
            for clause, code in zip(CLAUSES, answer.verdict[row], strict=True)
            if code != OFF_CODE
        ),
        coverage=coverage,
    )


def _date(day: np.int64) -> date | None:
    return None if day == NO_DAY else date_of(int(day))


def roofs_with_a_promise() -> Iterable[int]:
    """Return the ids of all roofs that have a coverage, in order."""
    return (
        Roof.objects.filter(coverage__isnull=False)
        .order_by("pk")
        .values_list("pk", flat=True)
        .iterator(chunk_size=2000)
    )
