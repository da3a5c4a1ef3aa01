"""The moves of a claim between its statuses, and the stops of its clock."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db.models import F

from fleet.actions.errors import InvalidValue
from fleet.actions.recording import Recording, recording
from fleet.actions.roofs import text
from fleet.civil import office_day
from fleet.models import User
from warranty.actions.errors import ClaimMovedOn, ClockNotSo
from warranty.models import Claim, ClaimMove, ClaimWait, WaitTurn
from warranty.rules.claim import MOVES, ClaimStatus, Move
from warranty.selectors.claim_clock import clocks_of, is_waiting

_DONE = {
    ClaimStatus.REPORTED: "waiting for an answer",
    ClaimStatus.DECIDED: "decided",
    ClaimStatus.REMEDIED: "remedied",
    ClaimStatus.CLOSED: "closed",
    ClaimStatus.WITHDRAWN: "withdrawn",
}


def locked_claim(made: Recording, claim: Claim) -> Claim:
    """Lock the claim's chain and return the claim as it is now."""
    made.lock([claim.roof_id])
    made.flush()
    return Claim.objects.select_related("roof__coach", "holder").get(pk=claim.pk)


def require_move(claim: Claim, move: Move) -> None:
    """Refuse a move that does not start where the claim is.

    Raises:
        ClaimMovedOn: somebody was quicker, or the claim never was there.
    """
    if ClaimStatus(claim.status) not in MOVES[move].sources:
        raise moved_on(claim)


def moved_on(claim: Claim) -> ClaimMovedOn:
    """Return the refusal that tells where the claim is now."""
    where = _DONE[ClaimStatus(claim.status)]
    return ClaimMovedOn(
        f"Claim {claim.ref} is {where} by now. Read it again, then choose what to do.",
        ref=claim.ref,
        status=claim.status,
    )


def swap(claim: Claim, move: Move, *, now: datetime, why: str = "") -> ClaimMove:
    """Move the claim by compare-and-swap; return the fact that tells of it.

    Raises:
        ClaimMovedOn: the claim is not where the move starts.
    """
    step = MOVES[move]
    moved = Claim.objects.filter(pk=claim.pk, status__in=step.sources).update(
        status=step.target, version=F("version") + 1
    )
    if not moved:
        claim.refresh_from_db()
        raise moved_on(claim)
    source, claim.status = claim.status, step.target.value
    return ClaimMove(
        claim=claim,
        move=move.value,
        source=source,
        target=step.target.value,
        happened_on=office_day(now),
        why=text(why),
    )


def set_clock(claim: Claim, *, now: datetime) -> None:
    """Have the claim's last day to answer follow its reports, waits and moves."""
    set_clocks([claim], now=now)


def set_clocks(claims: Sequence[Claim], *, now: datetime) -> None:
    """Have the last days to answer of many claims follow what is recorded of them."""
    if not claims:
        return
    clocks = clocks_of(claims, as_of=office_day(now), known_at=now)
    for claim in claims:
        clock = clocks.get(claim.pk)
        claim.answer_due_on = clock.due_on if clock else None
    Claim.objects.bulk_update(claims, ["answer_due_on"])


def close_claim(*, claim: Claim, by: User, now: datetime, why: str = "") -> Claim:
    """Close a claim on which nothing is left to do."""
    return _moved(claim, Move.CLOSE, by=by, now=now, why=why)


def withdraw_claim(*, claim: Claim, by: User, now: datetime, why: str) -> Claim:
    """Take a claim back before it is decided.

    Raises:
        InvalidValue: no reason is given.
    """
    _require_reason(why, "Say who withdraws the claim, and why.")
    return _moved(claim, Move.WITHDRAW, by=by, now=now, why=why)


def reopen_claim(*, claim: Claim, by: User, now: datetime, why: str) -> Claim:
    """Look at a claim again; its earlier decision stays on record.

    Raises:
        InvalidValue: no reason is given.
    """
    _require_reason(why, "Say what is new, so that the claim is looked at again.")
    return _moved(claim, Move.REOPEN, by=by, now=now, why=why)


def wait_for_owner(*, claim: Claim, by: User, now: datetime, why: str) -> Claim:
    """Stop the clock until the owner has answered.

    Raises:
        InvalidValue: it is not said what we wait for.
        ClockNotSo: we wait already.
        ClaimMovedOn: the claim waits for no answer of ours.
    """
    _require_reason(why, "Say what we wait for.")
    return _turned(claim, WaitTurn.WAIT, by=by, now=now, why=why)


def resume_claim(*, claim: Claim, by: User, now: datetime, why: str = "") -> Claim:
    """Let the clock run on: the owner has answered.

    Raises:
        ClockNotSo: the clock runs.
        ClaimMovedOn: the claim waits for no answer of ours.
    """
    return _turned(claim, WaitTurn.RESUME, by=by, now=now, why=why)


def _require_reason(why: str, message: str) -> None:
    if not why.strip():
        raise InvalidValue("why", message)


def _moved(claim: Claim, move: Move, *, by: User, now: datetime, why: str) -> Claim:
    with recording(by=by, now=now) as made:
        claim = locked_claim(made, claim)
        made.append(claim.roof, "claim move", [swap(claim, move, now=now, why=why)])
        made.flush()
        set_clock(claim, now=now)
    claim.refresh_from_db()
    return claim


def _turned(
    claim: Claim, turn: WaitTurn, *, by: User, now: datetime, why: str
) -> Claim:
    with recording(by=by, now=now) as made:
        claim = locked_claim(made, claim)
        if claim.status != ClaimStatus.REPORTED:
            raise moved_on(claim)
        today = office_day(now)
        waits = is_waiting(claim, as_of=today, known_at=now)
        if waits is (turn == WaitTurn.WAIT):
            said = "stands already: we wait" if waits else "runs: we do not wait"
            raise ClockNotSo(f"The clock of claim {claim.ref} {said} for the owner.")
        fact = ClaimWait(claim=claim, turn=turn, happened_on=today, why=text(why))
        made.append(claim.roof, "claim wait", [fact])
        made.flush()
        Claim.objects.filter(pk=claim.pk).update(version=F("version") + 1)
        set_clock(claim, now=now)
    claim.refresh_from_db()
    return claim
