"""The rules of the promise read a second time: one roof, one day, plain dates.

Written from the definitions alone ("the smallest n not satisfied"), without columns,
ranks or steps, and used only to check the engine against.
"""

from __future__ import annotations

from datetime import date, timedelta

from dateutil.relativedelta import relativedelta

from warranty.rules.clause import Clause, Standing, Verdict
from warranty.rules.roof_facts import RoofFacts, VerdictStep
from warranty.rules.terms import Anchor, Terms

ON_TIME, IN_GRACE, LAPSED, OVER = range(1, 5)
MET, NOT_MET, UNKNOWN = Verdict.MET, Verdict.NOT_MET, Verdict.UNKNOWN


def days(count: int) -> timedelta:
    return timedelta(days=count)


def inspections_on(roof: RoofFacts, terms: Terms, day: date) -> tuple[int, date]:
    """Return (state, next due) of a completed roof."""
    seen = sorted(
        v.on
        for v in roof.visits
        if roof.completed_on <= v.on <= day
        and (v.shop == "" or v.is_approved or terms.accepts_other_shops)
    )
    if terms.anchor is Anchor.ANNIVERSARY:
        return _by_anniversary(roof, terms, day, seen)
    return _by_last_inspection(roof, terms, day, seen)


def _by_anniversary(
    roof: RoofFacts, terms: Terms, day: date, seen: list[date]
) -> tuple[int, date]:
    def due(n: int) -> date:
        return roof.completed_on + relativedelta(months=n * terms.interval_months)

    def is_satisfied(n: int) -> bool:
        first, last = due(n) - days(terms.window_days), due(n) + days(terms.grace_days)
        return any(first <= d <= last for d in seen)

    n = 1
    while True:
        while is_satisfied(n):
            n += 1
        grace_ends = due(n) + days(terms.grace_days)
        closes = grace_ends + days(terms.reinstatement_days)
        revived = [d for d in seen if grace_ends < d <= closes]
        if not revived:
            return _state(day, due(n), terms), due(n)
        while due(n) <= revived[0] + days(terms.window_days):
            n += 1


def _by_last_inspection(
    roof: RoofFacts, terms: Terms, day: date, seen: list[date]
) -> tuple[int, date]:
    last = roof.completed_on
    for visit in seen:
        due = last + relativedelta(months=terms.interval_months)
        if visit > due + days(terms.grace_days + terms.reinstatement_days):
            break
        last = visit
    due = last + relativedelta(months=terms.interval_months)
    return _state(day, due, terms), due


def _state(day: date, due: date, terms: Terms) -> int:
    if day <= due:
        return ON_TIME
    if day <= due + days(terms.grace_days):
        return IN_GRACE
    if day <= due + days(terms.grace_days + terms.reinstatement_days):
        return LAPSED
    return OVER


def _last_step(steps: tuple[VerdictStep, ...], day: date) -> Verdict:
    past = [step for step in steps if step.from_on <= day]
    return max(past, key=lambda step: step.from_on).verdict if past else UNKNOWN


def _registered(roof: RoofFacts, terms: Terms, day: date) -> Verdict:
    if roof.completed_on is None or day < roof.completed_on:
        return UNKNOWN
    limit = roof.completed_on + days(terms.registration_days)
    if roof.registered_on is not None and roof.registered_on <= min(day, limit):
        return MET
    return UNKNOWN if day <= limit else NOT_MET


def _holder(roof: RoofFacts, terms: Terms, day: date) -> Verdict:
    past = [step for step in roof.holder if step.from_on <= day]
    if not past:
        return UNKNOWN
    kind = max(past, key=lambda step: step.from_on).kind
    return MET if kind is terms.owner_kind else NOT_MET


def _open_findings(roof: RoofFacts, day: date) -> list[date]:
    return [
        f.found_on
        for f in roof.findings
        if f.found_on <= day
        and not (f.cured_on is not None and f.found_on <= f.cured_on <= day)
    ]


def _findings(roof: RoofFacts, terms: Terms, day: date) -> Verdict:
    limit = days(terms.serious_cure_days)
    overdue = [found for found in _open_findings(roof, day) if day > found + limit]
    return NOT_MET if overdue else MET


def _term(roof: RoofFacts, terms: Terms, day: date) -> Verdict:
    if roof.completed_on is None or day < roof.completed_on:
        return UNKNOWN
    if terms.term_months is None:
        return MET
    end = roof.completed_on + relativedelta(months=terms.term_months)
    return MET if day < end else NOT_MET


def _inspections(roof: RoofFacts, terms: Terms, day: date) -> Verdict:
    if roof.completed_on is None or day < roof.completed_on:
        return UNKNOWN
    return MET if inspections_on(roof, terms, day)[0] <= IN_GRACE else NOT_MET


def is_waived(roof: RoofFacts, clause: Clause, day: date) -> bool:
    return any(
        w.clause is clause
        and w.from_on <= day
        and (w.until_on is None or day <= w.until_on)
        for w in roof.waivers
    )


def verdicts_on(roof: RoofFacts, terms: Terms, day: date) -> dict[Clause, Verdict]:
    """Return every switched-on clause's verdict."""
    retired = roof.retired_on is not None and roof.retired_on <= day
    answers = {
        Clause.FILM: _last_step(roof.film, day),
        Clause.SUBSTRATE: _last_step(roof.substrate, day),
        Clause.DECK_DRY: _last_step(roof.deck_dry, day),
        Clause.PENETRATIONS: _last_step(roof.penetrations, day),
        Clause.CLIMATE: _last_step(roof.climate, day),
        Clause.ALTERATIONS: _last_step(roof.alterations, day),
        Clause.REGISTERED: _registered(roof, terms, day),
        Clause.HOLDER: _holder(roof, terms, day),
        Clause.SERIOUS_FINDINGS: _findings(roof, terms, day),
        Clause.INSPECTIONS: _inspections(roof, terms, day),
        Clause.COACH: NOT_MET if retired else MET,
        Clause.TERM: _term(roof, terms, day),
    }
    return {
        clause: MET if is_waived(roof, clause, day) else verdict
        for clause, verdict in answers.items()
        if clause in terms.clauses
    }


def standing_on(roof: RoofFacts, terms: Terms, day: date) -> Standing:
    """Return the first standing that applies."""
    if roof.completed_on is None or day < roof.completed_on:
        return Standing.PENDING
    verdict = verdicts_on(roof, terms, day)
    state = inspections_on(roof, terms, day)[0]
    if Clause.INSPECTIONS not in terms.clauses:
        state = ON_TIME
    lifted = is_waived(roof, Clause.INSPECTIONS, day)
    if (
        verdict.get(Clause.COACH) is NOT_MET
        or verdict.get(Clause.TERM) is NOT_MET
        or (state == OVER and not lifted)
    ):
        return Standing.ENDED
    conditions = (
        Clause.FILM,
        Clause.SUBSTRATE,
        Clause.DECK_DRY,
        Clause.PENETRATIONS,
        Clause.CLIMATE,
        Clause.REGISTERED,
        Clause.HOLDER,
    )
    if any(verdict.get(c, MET) is not MET for c in conditions):
        return Standing.PENDING
    if verdict.get(Clause.ALTERATIONS) is UNKNOWN:
        return Standing.PENDING
    suspending = (Clause.SERIOUS_FINDINGS, Clause.INSPECTIONS, Clause.ALTERATIONS)
    if any(verdict.get(c) is NOT_MET for c in suspending):
        return Standing.SUSPENDED
    demands_cure = Clause.SERIOUS_FINDINGS in terms.clauses
    if state > ON_TIME or (demands_cure and _open_findings(roof, day)):
        return Standing.AT_RISK
    return Standing.IN_FORCE
