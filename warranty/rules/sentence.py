"""One plain sentence per clause for an owner: why, what would cure it, which records.

The verdict is given, never worked out here, so a sentence cannot disagree with it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from warranty.rules.calendar import add_months
from warranty.rules.clause import Clause, Verdict
from warranty.rules.roof_facts import (
    PassingVisit,
    RoofFacts,
    SeriousFinding,
    VerdictStep,
)
from warranty.rules.schedule import IN_GRACE, LAPSED, NOT_STARTED, ON_TIME
from warranty.rules.terms import Anchor, HolderKind, Terms


@dataclass(frozen=True, slots=True, kw_only=True)
class Sentence:
    """Why, how to cure, and the records relied on."""

    because: str
    cure: str = ""
    evidence: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One clause of one roof on one day, with the verdict already given."""

    clause: Clause
    verdict: Verdict
    terms: Terms
    roof: RoofFacts
    as_of: date
    inspection_state: int
    next_due_on: date | None


_NOT_COMPLETED = Sentence(
    because="The roof is not completed, so nothing is promised yet.",
    cure="Complete the roof and record the completion.",
)

# For clauses whose verdict comes from records judged elsewhere, when the caller gave
# no sentence of its own: (met, not met, unknown, cure).
_STEP_WORDS: dict[Clause, tuple[str, str, str, str]] = {
    Clause.FILM: (
        "The film of every coat was accepted.",
        "The film of at least one coat is outside its limits.",
        "Too few film readings are recorded to accept the film.",
        "Have the film measured, and recoated where it is thin.",
    ),
    Clause.SUBSTRATE: (
        "The roof's substrate is on the system's list.",
        "The roof's substrate is not on the system's list.",
        "The roof's substrate is not recorded.",
        "Have the office record the right substrate, or waive the clause.",
    ),
    Clause.DECK_DRY: (
        "The deck was measured dry before coating.",
        "The deck was measured too wet before coating.",
        "No complete set of deck moisture readings is recorded.",
        "Have the office record the deck moisture readings, or waive the clause.",
    ),
    Clause.PENETRATIONS: (
        "Every penetration on the roof plan is detailed.",
        "At least one penetration is not detailed.",
        "No penetration is recorded.",
        "Have every penetration detailed and recorded.",
    ),
    Clause.CLIMATE: (
        "The weather stayed within the limits on every day of the installation.",
        "The weather was outside the limits during the installation.",
        "A day of the installation has no complete weather reading.",
        "Have the office record the missing readings, or waive the clause.",
    ),
    Clause.ALTERATIONS: (
        "Nothing was fitted to the roof without the office's approval.",
        "Something was fitted to the roof without the office's approval.",
        "It is not recorded whether anything was fitted to the roof.",
        "Ask the office to look at the alteration and approve it.",
    ),
}
_KIND_WORDS = {
    HolderKind.PRIVATE: "a private owner",
    HolderKind.RENTAL_FLEET: "a rental fleet",
}


def sentence_for(case: Case) -> Sentence:
    """Return the words for one clause."""
    if case.clause in _STEP_WORDS:
        return _step(case)
    return _WORDS[case.clause](case)


def _is_completed(case: Case) -> bool:
    completed = case.roof.completed_on
    return completed is not None and completed <= case.as_of


def _step(case: Case) -> Sentence:
    steps: tuple[VerdictStep, ...] = getattr(case.roof, case.clause.value)
    past = [step for step in steps if step.from_on <= case.as_of]
    met, not_met, unknown, cure = _STEP_WORDS[case.clause]
    plain = {Verdict.MET: met, Verdict.NOT_MET: not_met, Verdict.UNKNOWN: unknown}
    because = plain[case.verdict]
    evidence: tuple[str, ...] = ()
    if past:
        step = max(past, key=lambda each: each.from_on)
        because, cure, evidence = (
            step.because or because,
            step.cure or cure,
            step.evidence,
        )
    return Sentence(
        because=because,
        cure="" if case.verdict is Verdict.MET else cure,
        evidence=evidence,
    )


def _registered(case: Case) -> Sentence:
    roof = case.roof
    if not _is_completed(case) or roof.completed_on is None:
        return _NOT_COMPLETED
    limit = roof.completed_on + timedelta(days=case.terms.registration_days)
    on = roof.registered_on
    happened = on is not None and on <= case.as_of
    evidence = (roof.registered_reference,) if happened else ()
    if case.verdict is Verdict.MET:
        because = f"The roof was registered on {on}; the limit was {limit}."
        return Sentence(because=because, evidence=_kept(evidence))
    if case.verdict is Verdict.UNKNOWN:
        return Sentence(
            because=f"The roof is not registered yet; the limit is {limit}.",
            cure=f"Register the roof on or before {limit}.",
        )
    because = (
        f"The roof was registered on {on}, after the limit of {limit}."
        if happened
        else f"The roof was not registered by {limit}."
    )
    cure = "The time has passed: only the office can waive this clause."
    return Sentence(because=because, cure=cure, evidence=_kept(evidence))


def _holder(case: Case) -> Sentence:
    demanded = _KIND_WORDS[case.terms.owner_kind]
    past = [step for step in case.roof.holder if step.from_on <= case.as_of]
    if not past:
        return Sentence(
            because="It is not recorded who holds the promise.",
            cure="Have the office record who owns the coach.",
        )
    step = max(past, key=lambda each: each.from_on)
    evidence = _kept((step.reference,))
    if case.verdict is Verdict.MET:
        because = f"The promise is held by {demanded} since {step.from_on}."
        return Sentence(because=because, evidence=evidence)
    return Sentence(
        because=f"The holder since {step.from_on} is {_KIND_WORDS[step.kind]}; this "
        f"promise is made to {demanded} only.",
        cure=f"The promise can be met again once {demanded} holds the coach.",
        evidence=evidence,
    )


def open_findings(roof: RoofFacts, as_of: date) -> tuple[SeriousFinding, ...]:
    """Return the serious findings open on the day, the oldest first."""
    return tuple(
        finding
        for finding in sorted(roof.findings, key=lambda each: each.found_on)
        if finding.found_on <= as_of
        and not (
            finding.cured_on is not None
            and finding.found_on <= finding.cured_on <= as_of
        )
    )


def _serious_findings(case: Case) -> Sentence:
    still_open = open_findings(case.roof, case.as_of)
    if not still_open:
        cured = [f for f in case.roof.findings if f.found_on <= case.as_of]
        references = _kept(r for f in cured for r in (f.reference, f.cure_reference))
        return Sentence(because="No serious finding is open.", evidence=references)
    oldest = still_open[0]
    limit = oldest.found_on + timedelta(days=case.terms.serious_cure_days)
    evidence = _kept(f.reference for f in still_open)
    if case.verdict is Verdict.MET:
        because = (
            f"A serious finding of {oldest.found_on} is open and must be repaired on "
            f"or before {limit}."
        )
        return Sentence(because=because, evidence=evidence)
    return Sentence(
        because=f"A serious finding of {oldest.found_on} was not repaired by {limit}.",
        cure="Have every open serious finding repaired.",
        evidence=evidence,
    )


def _inspections(case: Case) -> Sentence:
    due = case.next_due_on
    if case.inspection_state == NOT_STARTED or due is None:
        return _NOT_COMPLETED
    passed = [v for v in case.roof.visits if v.on <= case.as_of and _counts(v, case)]
    last = max(passed, key=lambda visit: visit.on, default=None)
    evidence = _kept((last.reference,)) if last else ()
    waiting = _waiting_for_approval(case, due)
    if waiting is None:
        return _inspections_state(case, due, evidence)
    said = _inspections_state(case, due, evidence)
    ask = "Ask the office to look at the other shop's report and approve it."
    return Sentence(
        because=f"{said.because} The inspection of {waiting.on} by {waiting.shop} does "
        "not count unless the office approves it.",
        cure=f"{ask} {said.cure}".rstrip() if said.cure else "",
        evidence=_kept((*said.evidence, waiting.reference)),
    )


def _counts(visit: PassingVisit, case: Case) -> bool:
    return case.terms.accepts_other_shops or not visit.needs_acceptance


def _waiting_for_approval(case: Case, due: date) -> PassingVisit | None:
    """Return the latest visit that would settle the open due date if approved."""
    opens = due - timedelta(days=case.terms.window_days)
    if case.terms.anchor is not Anchor.ANNIVERSARY:
        opens = case.roof.completed_on or due
    closes = due + timedelta(days=case.terms.grace_days + case.terms.reinstatement_days)
    found = [
        visit
        for visit in case.roof.visits
        if opens <= visit.on <= min(case.as_of, closes) and not _counts(visit, case)
    ]
    return max(found, key=lambda visit: visit.on, default=None)


def _inspections_state(case: Case, due: date, evidence: tuple[str, ...]) -> Sentence:
    grace = due + timedelta(days=case.terms.grace_days)
    closes = grace + timedelta(days=case.terms.reinstatement_days)
    if case.inspection_state == ON_TIME:
        because = f"Inspections are current; the next one is due on {due}."
        return Sentence(because=because, evidence=evidence)
    if case.inspection_state == IN_GRACE:
        because = f"The inspection due on {due} is late; it still counts until {grace}."
        return Sentence(because=because, evidence=evidence)
    if case.inspection_state == LAPSED:
        return Sentence(
            because=f"The inspection due on {due} was not passed by {grace}.",
            cure=f"Pass a reinstatement inspection on or before {closes}.",
            evidence=evidence,
        )
    return Sentence(
        because=f"The inspection due on {due} was not passed by {grace}, nor a "
        f"reinstatement by {closes}.",
        cure="The time for reinstatement has passed: nothing cures this.",
        evidence=evidence,
    )


def _coach(case: Case) -> Sentence:
    if case.verdict is Verdict.MET:
        return Sentence(because="The coach has not been retired.")
    return Sentence(
        because=f"The coach was retired on {case.roof.retired_on}.",
        cure="Nothing cures this: the promise ends with the coach.",
        evidence=_kept((case.roof.retired_reference,)),
    )


def _term(case: Case) -> Sentence:
    completed, months = case.roof.completed_on, case.terms.term_months
    if not _is_completed(case) or completed is None:
        return _NOT_COMPLETED
    if months is None:
        return Sentence(
            because=f"The promise runs for the life of the {case.terms.life_of}."
        )
    last = add_months(completed, months) - timedelta(days=1)
    if case.verdict is Verdict.MET:
        return Sentence(because=f"The last day of the term is {last}.")
    return Sentence(
        because=f"The last day of the term was {last}.",
        cure="Nothing cures this: the term is over.",
    )


def _kept(references: Iterable[str]) -> tuple[str, ...]:
    return tuple(reference for reference in references if reference)


_WORDS: dict[Clause, Callable[[Case], Sentence]] = {
    Clause.REGISTERED: _registered,
    Clause.HOLDER: _holder,
    Clause.SERIOUS_FINDINGS: _serious_findings,
    Clause.INSPECTIONS: _inspections,
    Clause.COACH: _coach,
    Clause.TERM: _term,
}
