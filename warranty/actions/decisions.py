"""Decide a claim: by one person, or by two above an amount."""

from __future__ import annotations

from datetime import datetime
from uuid import uuid4

from django.conf import settings

from fleet.actions.recording import Recording, recording
from fleet.actions.roofs import text
from fleet.models import PrivateText, User
from warranty.actions.claim_moves import locked_claim, require_move, set_clock, swap
from warranty.actions.errors import (
    DecisionNotCarried,
    NoPromise,
    NothingProposed,
    RecordsChanged,
    SamePerson,
)
from warranty.models import Claim, Decision, Proposal
from warranty.rules.claim import Move
from warranty.rules.decision import (
    Answer,
    DecisionInputError,
    check_answer,
    reasons_text,
    verdict_letters,
)
from warranty.rules.letter import LetterInputError
from warranty.rules.version import RULE_VERSION
from warranty.selectors.claims import current_report
from warranty.selectors.decisions import (
    Grounds,
    answer_in,
    grounds_of,
    letter_of,
    next_round,
    proposal_of,
)


def decide_claim(
    *, claim: Claim, answer: Answer, by: User, now: datetime, seen: str = ""
) -> Decision | Proposal:
    """Decide a claim on the clauses of the day it was noticed, as known now.

    Above the limit the answer is proposed, and a second person decides. ``seen`` names
    the results that were looked at; others than today's are refused.

    Raises:
        ClaimMovedOn: somebody decided or withdrew it first.
        DecisionNotCarried: the clauses do not carry the answer.
        RecordsChanged: the clauses say something else by now.
        NoPromise: no terms are assigned to the roof.
    """
    with recording(by=by, now=now) as made:
        claim = locked_claim(made, claim)
        require_move(claim, Move.DECIDE)
        grounds = _grounds(claim, answer, seen, now)
        if answer.approved_cents > settings.SECOND_APPROVAL_CENTS:
            return _propose(made, claim, answer, grounds)
        return _decide(made, claim, answer, grounds, decided_by=by)


def second_decision(
    *, claim: Claim, by: User, now: datetime, proposal: str = ""
) -> Decision:
    """Approve as a second person what another proposed; this decides the claim.

    ``proposal`` names the one that was looked at; without it the latest counts.

    Raises:
        NothingProposed: no answer waits for a second person, or another one does.
        SamePerson: the one who proposed it cannot be the second.
        RecordsChanged: the clauses say something else than when it was proposed.
        ClaimMovedOn: the claim was decided or withdrawn meanwhile.
    """
    with recording(by=by, now=now) as made:
        claim = locked_claim(made, claim)
        require_move(claim, Move.DECIDE)
        proposed = proposal_of(claim)
        if proposed is None or proposal not in ("", str(proposed.uuid)):
            raise NothingProposed(
                f"This proposal for claim {claim.ref} does not wait for a second "
                "person. Read the claim again."
            )
        if proposed.recorded_by_id == by.pk:
            raise SamePerson("A second person has to be another person. Ask one.")
        answer = answer_in(proposed)
        grounds = _grounds(claim, answer, proposed.seen_sha256, now)
        return _decide(
            made,
            claim,
            answer,
            grounds,
            decided_by=proposed.recorded_by,
            seconded_by=by,
        )


def _grounds(claim: Claim, answer: Answer, seen: str, now: datetime) -> Grounds:
    grounds = grounds_of(claim, known_at=now)
    if grounds is None:
        raise NoPromise(
            "No terms are assigned to this roof, so no clause can be cited. Assign "
            "them, or have the claim withdrawn."
        )
    if seen not in ("", grounds.seen):
        raise RecordsChanged(
            "The records have changed since you looked at the clauses. Look at them "
            "again, then decide."
        )
    try:
        check_answer(answer, grounds.answer.explanation.results)
    except DecisionInputError as error:
        raise DecisionNotCarried(error.field, str(error)) from None
    return grounds


def _propose(
    made: Recording, claim: Claim, answer: Answer, grounds: Grounds
) -> Proposal:
    proposed = Proposal(
        uuid=uuid4(),
        claim=claim,
        round_no=next_round(claim),
        noticed_on=claim.noticed_on,
        outcome=answer.outcome.value,
        approved_cents=answer.approved_cents,
        cause=answer.cause.value,
        reasons=PrivateText(body=reasons_text(answer.reasons)),
        seen_sha256=grounds.seen,
    )
    made.append(claim.roof, "proposal", [proposed])
    made.flush()
    return proposed


def _decide(
    made: Recording,
    claim: Claim,
    answer: Answer,
    grounds: Grounds,
    *,
    decided_by: User,
    seconded_by: User | None = None,
) -> Decision:
    said = grounds.answer.explanation
    report = current_report(claim)
    decision = Decision(
        uuid=uuid4(),
        claim=claim,
        round_no=next_round(claim),
        noticed_on=claim.noticed_on,
        outcome=answer.outcome.value,
        approved_cents=answer.approved_cents,
        currency=report.currency if report else "USD",
        cause=answer.cause.value,
        edition=grounds.answer.coverage.promise.edition,
        rule_version=RULE_VERSION,
        known_at=made.now,
        standing=said.standing.value,
        verdicts=verdict_letters(said.results),
        inputs=text(grounds.inputs),
        results=text(grounds.results),
        reasons=text(reasons_text(answer.reasons)),
        decided_by=decided_by,
        seconded_by=seconded_by,
    )
    try:
        letter_of(decision)
    except LetterInputError as error:
        raise DecisionNotCarried("reasons", str(error)) from None
    moved = swap(claim, Move.DECIDE, now=made.now)
    made.append(claim.roof, "decision", [decision, moved])
    made.flush()
    set_clock(claim, now=made.now)
    return decision
