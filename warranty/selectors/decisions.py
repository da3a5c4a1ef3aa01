"""What a claim's decision rests on, its replay, and the letter drafted from it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime

from django.conf import settings

from fleet.civil import office_day
from fleet.ledger.correction import rows_that_stand
from warranty.documents import wording
from warranty.models import Claim, Decision, Proposal, Remedy
from warranty.rules.cause import Cause
from warranty.rules.clause import Clause, Standing, Verdict
from warranty.rules.decision import (
    Answer,
    Outcome,
    fingerprint,
    inputs_text,
    read_reasons,
    results_text,
)
from warranty.rules.letter import CitedClause, Letter, LetterFacts, letter
from warranty.rules.version import RULE_VERSION
from warranty.selectors.explanations import RoofExplanation, explanation_of
from warranty.selectors.packet.facts import CLAUSE_TITLES


@dataclass(frozen=True, slots=True, kw_only=True)
class Grounds:
    """The clauses on the day a loss was noticed, and the text a decision keeps."""

    answer: RoofExplanation
    inputs: str
    results: str
    seen: str  # by which a person says what they have looked at


def grounds_of(claim: Claim, *, known_at: datetime) -> Grounds | None:
    """Return what a decision made now would rest on, or None without a promise."""
    answer = explanation_of(
        claim.roof_id,
        as_of=claim.noticed_on,
        known_at=known_at,
        noticed_on=claim.noticed_on,
    )
    if answer is None:
        return None
    inputs = inputs_text(answer.terms, answer.coverage.facts, claim.noticed_on)
    results = results_text(RULE_VERSION, inputs)
    return Grounds(
        answer=answer, inputs=inputs, results=results, seen=fingerprint(results)
    )


def decision_of(claim: Claim) -> Decision | None:
    """Return the decision that counts: the last one, unless the claim was reopened
    since."""
    return (
        Decision.objects.filter(claim=claim)
        .select_related(
            "claim__roof__coach",
            "claim__holder",
            "edition",
            "inputs",
            "results",
            "reasons",
            "decided_by",
            "seconded_by",
            "entry",
        )
        .order_by("-round_no")
        .first()
    )


def proposal_of(claim: Claim) -> Proposal | None:
    """Return the answer that waits for a second person in this round."""
    rows = Proposal.objects.filter(claim=claim, round_no=next_round(claim))
    return rows.select_related("reasons", "recorded_by").order_by("-pk").first()


def next_round(claim: Claim) -> int:
    """Return the number that the claim's next decision has."""
    return Decision.objects.filter(claim=claim).count() + 1


def answer_in(row: Proposal | Decision) -> Answer:
    """Return what a person answered, as the rules take it."""
    return Answer(
        outcome=Outcome(row.outcome),
        reasons=read_reasons(row.reasons.body),
        approved_cents=row.approved_cents,
        cause=Cause(row.cause),
    )


def remedies_of(decision: Decision) -> tuple[Remedy, ...]:
    """Return the remedies under a decision that count, in the order of their days."""
    rows = Remedy.objects.filter(decision=decision).select_related(
        "visit", "note", "recorded_by"
    )
    return rows_that_stand(list(rows.order_by("done_on", "pk"))).rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Replay:
    """A stored decision judged again."""

    is_erased: bool
    is_same: bool  # the stored inputs give the stored results, byte for byte
    from_records: bool  # today's rows, as known then, give the stored inputs too


def replay(decision: Decision) -> Replay:
    """Judge a stored decision again: from what it kept, and from the records.

    Raises:
        RuleVersionUnknown: it was made under rules that are not kept here.
    """
    if decision.inputs.erased_at is not None:
        return Replay(is_erased=True, is_same=False, from_records=False)
    again = results_text(decision.rule_version, decision.inputs.body)
    # The claim's day may be corrected since: the decision keeps the day it was asked.
    found = explanation_of(
        decision.roof_id,
        as_of=decision.noticed_on,
        known_at=decision.known_at,
        noticed_on=decision.noticed_on,
    )
    inputs = (
        inputs_text(found.terms, found.coverage.facts, decision.noticed_on)
        if found
        else ""
    )
    return Replay(
        is_erased=False,
        is_same=again == decision.results.body,
        from_records=inputs == decision.inputs.body,
    )


def letter_of(decision: Decision) -> Letter | None:
    """Return the letter drafted from a decision; None once its texts are erased.

    Raises:
        LetterInputError: a sentence would call the answer final.
    """
    if not decision.results.body or not decision.reasons.body:
        return None
    claim = decision.claim
    return letter(
        LetterFacts(
            company=settings.COMPANY_NAME,
            address=settings.COMPANY_ADDRESS,
            owner=claim.holder.name if claim.holder else "",
            claim_ref=claim.ref,
            coach_no=claim.roof.coach.unit_no,
            edition=decision.edition.code,
            noticed_on=decision.noticed_on,
            reported_on=claim.reported_on,
            decided_on=office_day(decision.known_at),
            standing=Standing(decision.standing),
            outcome=Outcome(decision.outcome),
            approved=wording.money(decision.approved_cents, decision.currency),
            cause=Cause(decision.cause),
            cited=_cited(decision),
        )
    )


def _cited(decision: Decision) -> tuple[CitedClause, ...]:
    reasons = {
        each.clause.value: each.reason for each in read_reasons(decision.reasons.body)
    }
    told = json.loads(decision.results.body)["clauses"]
    return tuple(
        CitedClause(
            clause=Clause(each["clause"]),
            number=each["number"],
            title=CLAUSE_TITLES[each["clause"]],
            verdict=Verdict(each["verdict"]),
            waived=each["waived"],
            because=each["because"],
            cure=each["cure"],
            reason=reasons[each["clause"]],
            evidence=tuple(each["evidence"]),
        )
        for each in told
        if each["clause"] in reasons
    )
