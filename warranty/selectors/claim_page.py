"""One claim as it is decided, and the list of claims by the clock that runs out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Case, F, QuerySet, When

from fleet.civil import office_day
from fleet.scope import Scope, Sight
from warranty.models import Claim, ClaimMove, ClaimReport, Decision, Proposal, Remedy
from warranty.rules.cause import Cause
from warranty.rules.claim import ClaimStatus, Move, moves_from
from warranty.rules.clause import Standing
from warranty.rules.evidence import Evidence, evidence_for
from warranty.rules.explain import ClauseResult
from warranty.rules.response import ResponseClock
from warranty.selectors.claim_clock import clocks_of
from warranty.selectors.claim_evidence import claim_records
from warranty.selectors.claims import claims_visible_to, current_report
from warranty.selectors.decisions import (
    Replay,
    decision_of,
    grounds_of,
    proposal_of,
    remedies_of,
    replay,
)
from warranty.selectors.doubts import DoubtShown, doubts_of

PAGE_CLAIMS = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimPage:
    """Everything that a claim is decided by, and what came of it."""

    claim: Claim
    report: ClaimReport | None
    standing: Standing | None  # on the day it was noticed; None: no terms assigned
    results: tuple[ClauseResult, ...]
    terms_code: str
    seen: str
    cause: Cause
    evidence: tuple[Evidence, ...]
    clock: ResponseClock | None
    proposal: Proposal | None
    decision: Decision | None
    replay: Replay | None
    remedies: tuple[Remedy, ...]
    moves: tuple[ClaimMove, ...]
    may: tuple[Move, ...]
    doubts: tuple[DoubtShown, ...]
    known_at: datetime

    @property
    def is_open(self) -> bool:
        """Whether the claim waits for an answer."""
        return self.claim.status == ClaimStatus.REPORTED

    @property
    def may_remedy(self) -> bool:
        """Whether something may be done and paid."""
        return (
            Move.REMEDY in self.may
            and self.decision is not None
            and self.decision.approved_cents > 0
        )

    @property
    def missing(self) -> tuple[Evidence, ...]:
        """What is not on record yet."""
        return tuple(each for each in self.evidence if not each.is_there)

    @property
    def paid_cents(self) -> int:
        """What the remedies cost so far."""
        return sum(row.total_cents for row in self.remedies)


def claim_page(claim: Claim, scope: Scope, *, known_at: datetime) -> ClaimPage:
    """Return one claim as known at a moment.

    Doubts are questions to the office and its technicians; nobody else is shown them.
    """
    report = current_report(claim, known_at=known_at)
    records = claim_records(claim, report, known_at=known_at)
    grounds = grounds_of(claim, known_at=known_at)
    said = grounds.answer.explanation if grounds else None
    decision = decision_of(claim)
    is_staff = scope.sight is Sight.EVERYTHING
    moves = ClaimMove.objects.filter(claim=claim).select_related("why", "recorded_by")
    return ClaimPage(
        claim=claim,
        report=report,
        standing=said.standing if said else None,
        results=said.results if said else (),
        terms_code=grounds.answer.terms.code if grounds else "",
        seen=grounds.seen if grounds else "",
        cause=records.cause,
        evidence=evidence_for(records, said.results if said else ()),
        clock=clocks_of([claim], as_of=office_day(known_at), known_at=known_at).get(
            claim.pk
        ),
        proposal=proposal_of(claim) if claim.status == ClaimStatus.REPORTED else None,
        decision=decision,
        replay=replay(decision) if decision and is_staff else None,
        remedies=remedies_of(decision) if decision else (),
        moves=tuple(moves.order_by("pk")),
        may=moves_from(ClaimStatus(claim.status)),
        doubts=doubts_of(claim.roof_id, known_at=known_at) if is_staff else (),
        known_at=known_at,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimRow:
    """One claim of the list with its clock."""

    claim: Claim
    clock: ResponseClock | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimList:
    """One page of claims, those first whose time to answer ends first."""

    rows: tuple[ClaimRow, ...]
    count: int
    page: int
    pages: int

    @property
    def previous_page(self) -> int | None:
        """The page before this one."""
        return self.page - 1 if self.page > 1 else None

    @property
    def next_page(self) -> int | None:
        """The page after this one."""
        return self.page + 1 if self.page < self.pages else None


def claim_list(
    scope: Scope, *, status: str, page: int, today: date, known_at: datetime
) -> ClaimList:
    """Return a page of the claims that a caller may see."""
    claims = claims_visible_to(scope)
    if status:
        claims = claims.filter(status=status)
    count = claims.count()
    pages = max(1, -(-count // PAGE_CLAIMS))
    page = min(max(1, page), pages)
    start = (page - 1) * PAGE_CLAIMS
    rows = list(_by_clock(claims)[start : start + PAGE_CLAIMS])
    clocks = clocks_of(rows, as_of=today, known_at=known_at)
    return ClaimList(
        rows=tuple(ClaimRow(claim=row, clock=clocks.get(row.pk)) for row in rows),
        count=count,
        page=page,
        pages=pages,
    )


def _by_clock(claims: QuerySet[Claim]) -> QuerySet[Claim]:
    is_open = Case(When(status=ClaimStatus.REPORTED, then=0), default=1)
    # Open ones by their clock, those whose clock stands after them, then the rest.
    return claims.order_by(
        is_open, F("answer_due_on").asc(nulls_last=True), "-noticed_on", "-pk"
    )
