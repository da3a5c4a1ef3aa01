"""What was done about an approved claim, and what it cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID, uuid4

from fleet.actions.errors import InvalidValue
from fleet.actions.recording import already_recorded, recording
from fleet.actions.roofs import text
from fleet.civil import office_day
from fleet.models import RoofFact, User, Visit
from warranty.actions.claim_moves import locked_claim, moved_on, require_move, swap
from warranty.actions.errors import MoreThanApproved
from warranty.documents import wording
from warranty.models import Claim, Decision, Remedy
from warranty.rules.claim import ClaimStatus, Move
from warranty.rules.decision import Outcome
from warranty.selectors.decisions import decision_of, remedies_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What a remedy cost, by part, labour and interior. [cent]"""

    part_cents: int = 0
    labour_cents: int = 0
    interior_cents: int = 0

    @property
    def total_cents(self) -> int:
        """Altogether."""
        return self.part_cents + self.labour_cents + self.interior_cents


def record_remedy(
    *,
    claim: Claim,
    cost: Cost,
    done_on: date,
    by: User,
    now: datetime,
    visit: Visit | None = None,
    note: str = "",
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> Remedy:
    """Record a remedy under the claim's decision; the same uuid again is the same.

    Raises:
        ClaimMovedOn: the claim is not decided, or closed already.
        InvalidValue: a cost below zero, or a day that cannot be.
        MoreThanApproved: it would cost more than was approved.
        RecordConflict: the uuid was used before with other content.
    """
    with recording(by=by, now=now) as made:
        claim = locked_claim(made, claim)
        decision = decision_of(claim)
        if decision is None:
            raise moved_on(claim)
        fact = _remedy(decision, cost, done_on, visit, note, uuid, supersedes)
        fact.scope = made.scope
        known = already_recorded(fact)
        if known is not None:
            return known
        require_move(claim, Move.REMEDY)
        _check(fact, claim, decision, today=office_day(now))
        facts: list[RoofFact] = [fact]
        was = claim.status
        moved = swap(claim, Move.REMEDY, now=now)
        if was != ClaimStatus.REMEDIED:
            facts.append(moved)
        made.append(claim.roof, "remedy", facts)
        made.flush()
    return fact


def _remedy(
    decision: Decision,
    cost: Cost,
    done_on: date,
    visit: Visit | None,
    note: str,
    uuid: UUID | None,
    supersedes: UUID | None,
) -> Remedy:
    return Remedy(
        uuid=uuid or uuid4(),
        supersedes=supersedes,
        decision=decision,
        part_cents=cost.part_cents,
        labour_cents=cost.labour_cents,
        interior_cents=cost.interior_cents,
        done_on=done_on,
        visit=visit,
        note=text(note),
    )


def _check(fact: Remedy, claim: Claim, decision: Decision, *, today: date) -> None:
    if decision.outcome == Outcome.DECLINED:
        raise MoreThanApproved(
            f"Claim {claim.ref} was declined, so nothing is paid on it. Reopen it "
            "first.",
            approved_cents=0,
            paid_cents=0,
        )
    for name in ("part_cents", "labour_cents", "interior_cents"):
        if getattr(fact, name) < 0:
            raise InvalidValue(name, "A cost cannot be below zero.")
    if not claim.noticed_on <= fact.done_on <= today:
        raise InvalidValue(
            "done_on",
            f"A remedy lies between the loss on {claim.noticed_on} and today, "
            f"{today}; got {fact.done_on}.",
        )
    if fact.visit is not None and fact.visit.roof_id != claim.roof_id:
        raise InvalidValue("visit", "That visit was to another roof. Name one to this.")
    standing = remedies_of(decision)
    _check_correction(fact, standing)
    paid = sum(r.total_cents for r in standing if r.uuid != fact.supersedes)
    total = paid + fact.total_cents
    if total > decision.approved_cents:
        approved = wording.money(decision.approved_cents, decision.currency)
        asked = wording.money(total, decision.currency)
        raise MoreThanApproved(
            f"Approved were {approved}; with this remedy it would be {asked}. Reopen "
            "the claim and decide on more, or correct the cost.",
            approved_cents=decision.approved_cents,
            paid_cents=paid,
        )


def _check_correction(fact: Remedy, standing: Sequence[Remedy]) -> None:
    if fact.supersedes and fact.supersedes not in {row.uuid for row in standing}:
        raise InvalidValue(
            "supersedes", "No remedy of this decision that counts has this id."
        )
