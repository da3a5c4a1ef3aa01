"""What a standing may tell a later holder: no name and no text of an earlier one."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

from fleet.models import Ownership
from fleet.scope import Scope, Sight
from fleet.selectors.lists import held_since
from warranty.rules.explain import explain
from warranty.rules.roof_facts import HolderStep, RoofFacts
from warranty.selectors.explanations import RoofExplanation
from warranty.selectors.facts import CoverageFacts, coverage_facts
from warranty.selectors.terms import terms_of


def explanation_told_to(
    scope: Scope, roof_id: int, *, as_of: date, known_at: datetime
) -> RoofExplanation | None:
    """Return a roof's standing explained for this caller; None without a promise."""
    found = coverage_facts([roof_id], known_at=known_at)
    if roof_id not in found:
        return None
    coverage = _told(found[roof_id], scope)
    terms = terms_of(coverage.promise.edition)
    return RoofExplanation(
        explanation=explain(terms, coverage.facts, as_of),
        terms=terms,
        coverage=coverage,
        known_at=known_at,
    )


def _told(coverage: CoverageFacts, scope: Scope) -> CoverageFacts:
    if scope.sight is Sight.EVERYTHING:
        return coverage
    coach_id = coverage.records.roof.coach_id
    since = (held_since([coach_id], scope) or {}).get(coach_id)
    facts = coverage.facts
    told = replace(
        facts,
        holder=_holders(facts, coverage.records.ownerships, scope),
        findings=tuple(
            row if _is_own_time(row.found_on, since) else replace(row, text="")
            for row in facts.findings
        ),
        waivers=tuple(
            row if _is_own_time(row.from_on, since) else replace(row, why="")
            for row in facts.waivers
        ),
    )
    return replace(coverage, facts=told)


def _holders(
    facts: RoofFacts, ownerships: list[Ownership], scope: Scope
) -> tuple[HolderStep, ...]:
    own_days = {row.from_on for row in ownerships if row.owner_id in scope.owner_ids}
    return tuple(
        step
        if step.from_on in own_days
        else replace(step, reference=f"held by another owner from {step.from_on}")
        for step in facts.holder
    )


def _is_own_time(day: date, since: date | None) -> bool:
    return since is not None and day >= since
