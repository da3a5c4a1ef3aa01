"""What the office answered to the leaks, by the clauses of the day of each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from functools import partial
from typing import Final

from django.conf import settings

from fleet.actions.recording import Recording
from fleet.models import User
from warranty.actions.claim_moves import close_claim, wait_for_owner, withdraw_claim
from warranty.actions.decisions import decide_claim, second_decision
from warranty.actions.remedies import Cost, record_remedy
from warranty.demo.chance import Chance
from warranty.demo.diary import OFFICE, Calendar
from warranty.demo.losses import After, Loss
from warranty.models import Claim
from warranty.rules.cause import Cause
from warranty.rules.claim import ClaimStatus
from warranty.rules.clause import Verdict
from warranty.rules.decision import Answer, Outcome, Reason
from warranty.rules.explain import ClauseResult
from warranty.selectors.claims import current_report
from warranty.selectors.decisions import decision_of, grounds_of

# How long after the report, or after the repair, the office comes to it. [d]
ANSWERED_AFTER: Final = 6
REMEDIED_AFTER: Final = 18
CLOSED_AFTER: Final = 30
# Not estimated: the price of an ordinary detail. [cent]
USUAL_CENTS: Final = 30_000
Step = Callable[[Recording, Claim, date], None]
LOOKED_AT: Final = "Looked at in the records and on the roof."


def tell_answers(losses: Sequence[Loss], calendar: Calendar, chance: Chance) -> None:
    """Note what became of each claim: each way that a claim can end is there."""
    # The newest leaks wait for their answer, as they would today.
    answered = [
        loss
        for loss in losses
        if loss.after is not After.TOLD
        and _days_ago(loss, calendar) > CLOSED_AFTER // 2
    ]
    fresh = [loss for loss in losses if loss not in answered]
    for loss in fresh[-1:]:
        _note(loss, calendar, 1, partial(_wait, "photos from inside"))
    for loss in fresh[-2:-1]:
        _note(loss, calendar, 1, _withdraw)
    gaps = [loss for loss in answered if loss.roof.course.gaps]
    repaired = [loss for loss in answered if loss.after is After.REPAIRED]
    unpaid, unclosed = repaired[-1:], [*repaired[-1:], *repaired[-2:-9:-2]]
    for loss in answered:
        decide = partial(_decide, partly=loss in gaps[:1])
        _note(loss, calendar, ANSWERED_AFTER, decide)
        if loss.after is After.REPAIRED and loss not in unpaid:
            shares = (chance.between(0.2, 0.4), chance.between(0.05, 0.2))
            _note(loss, calendar, REMEDIED_AFTER, partial(_remedy, shares))
        if loss not in unclosed:
            _note(loss, calendar, CLOSED_AFTER, _close)


def _days_ago(loss: Loss, calendar: Calendar) -> int:
    return (calendar.today - loss.reported_on).days


def _note(loss: Loss, calendar: Calendar, after: int, do: Step) -> None:
    """Note one step, unless its day has not come yet."""
    on = loss.reported_on + timedelta(days=after)
    if on <= calendar.yesterday:
        write = partial(_on_claim, loss.ref, on, do)
        loss.roof.diary.note(on, write, by=OFFICE, after_days=0)


def _on_claim(ref: str, on: date, do: Step, made: Recording) -> None:
    made.flush()
    claim = Claim.objects.select_related("roof").get(ref=ref)
    do(made, claim, on)


def _wait(what: str, made: Recording, claim: Claim, on: date) -> None:
    wait_for_owner(claim=claim, by=made.by, now=made.now, why=f"Asked for {what}.")


def _withdraw(made: Recording, claim: Claim, on: date) -> None:
    why = "The owner called again: it was a window left open."
    withdraw_claim(claim=claim, by=made.by, now=made.now, why=why)


def _decide(made: Recording, claim: Claim, on: date, *, partly: bool) -> None:
    grounds = grounds_of(claim, known_at=made.now)
    if grounds is None:
        return
    results = grounds.answer.explanation.results
    if any(each.verdict is Verdict.UNKNOWN for each in results):
        _wait("the sheets that are missing", made, claim, on)
        return
    answer = _answer(claim, results, partly=partly)
    decide_claim(claim=claim, answer=answer, by=made.by, now=made.now)
    if answer.approved_cents > settings.SECOND_APPROVAL_CENTS:
        _second(made, claim)


def _second(made: Recording, claim: Claim) -> None:
    first, made.by = made.by, User.objects.get(username="second-office")
    second_decision(claim=claim, by=made.by, now=made.now)
    made.by = first


def _answer(claim: Claim, results: Sequence[ClauseResult], *, partly: bool) -> Answer:
    report = current_report(claim)
    asked = (report.estimate_cents if report else None) or USUAL_CENTS
    not_met = [each for each in results if each.verdict is Verdict.NOT_MET]
    if not not_met:
        outcome, cited, cents = Outcome.APPROVED, list(results), asked
    elif partly:
        outcome, cited, cents = Outcome.IN_PART, list(results), asked // 2
    else:
        outcome, cited, cents = Outcome.DECLINED, not_met, 0
    return Answer(
        outcome=outcome,
        approved_cents=cents,
        cause=Cause.DETAIL,
        reasons=tuple(
            Reason(clause=each.clause, reason=f"{each.because} {LOOKED_AT}")
            for each in cited
        ),
    )


def _remedy(
    shares: tuple[float, float], made: Recording, claim: Claim, on: date
) -> None:
    decision = decision_of(claim)
    if decision is None or not decision.approved_cents:
        return
    part, interior = (round(decision.approved_cents * share) for share in shares)
    # Some is always left of what was approved.
    labour = round(decision.approved_cents * 0.35)
    record_remedy(
        claim=claim,
        cost=Cost(part_cents=part, labour_cents=labour, interior_cents=interior),
        done_on=on,
        note="Detailed again and tested with water.",
        by=made.by,
        now=made.now,
    )


def _close(made: Recording, claim: Claim, on: date) -> None:
    if claim.status in {ClaimStatus.DECIDED, ClaimStatus.REMEDIED}:
        close_claim(claim=claim, by=made.by, now=made.now)
