"""The response clocks of claims, from their reports, waits and reopenings."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime

from django.conf import settings

from warranty.models import Claim, ClaimMove, ClaimWait, WaitTurn
from warranty.rules.claim import ClaimStatus, Move
from warranty.rules.response import ResponseClock, Wait, response_clock


def clocks_of(
    claims: Iterable[Claim], *, as_of: date, known_at: datetime
) -> dict[int, ResponseClock]:
    """Return the clock of each claim that waits for an answer, by its id."""
    open_claims = [c for c in claims if c.status == ClaimStatus.REPORTED]
    ids = [claim.pk for claim in open_claims]
    reopened: dict[int, ClaimMove] = {}
    moves = ClaimMove.objects.filter(
        claim_id__in=ids, move=Move.REOPEN, recorded_at__lte=known_at
    )
    for move in moves.order_by("pk"):
        reopened[move.claim_id] = move
    turns: dict[int, list[ClaimWait]] = defaultdict(list)
    rows = ClaimWait.objects.filter(claim_id__in=ids, recorded_at__lte=known_at)
    for turn in rows.order_by("pk"):
        turns[turn.claim_id].append(turn)
    return {
        claim.pk: _clock(claim, reopened.get(claim.pk), turns[claim.pk], as_of)
        for claim in open_claims
    }


def _clock(
    claim: Claim, reopened: ClaimMove | None, turns: list[ClaimWait], as_of: date
) -> ResponseClock:
    # The clock starts anew when a claim is reopened; earlier waits are history.
    since = reopened.entry_id if reopened else 0
    return response_clock(
        started_on=reopened.happened_on if reopened else claim.reported_on,
        waits=_waits([turn for turn in turns if turn.entry_id > since]),
        allowed_days=settings.RESPONSE_DAYS,
        holidays=settings.HOLIDAYS,
        as_of=as_of,
    )


def _waits(turns: list[ClaimWait]) -> list[Wait]:
    waits: list[Wait] = []
    begun: date | None = None
    for turn in turns:
        if turn.turn == WaitTurn.WAIT:
            begun = begun or turn.happened_on
        elif begun is not None:
            waits.append(Wait(from_on=begun, until_on=max(begun, turn.happened_on)))
            begun = None
    if begun is not None:
        waits.append(Wait(from_on=begun))
    return waits


def is_waiting(claim: Claim, *, as_of: date, known_at: datetime) -> bool:
    """Return whether the clock of a claim stands because we wait for its owner."""
    clock = clocks_of([claim], as_of=as_of, known_at=known_at).get(claim.pk)
    return clock is not None and clock.waiting_since is not None
