"""Claims, and the standing on the day each loss was noticed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import QuerySet

from fleet.ledger.correction import rows_that_stand
from fleet.scope import Scope
from fleet.selectors.exhibits import ClaimPlace
from fleet.selectors.scopes import within
from warranty.models import Claim, ClaimReport
from warranty.rules.clause import Standing
from warranty.selectors.facts import coverage_facts, for_loss
from warranty.selectors.standings import assess_facts, roof_standing

BATCH_CLAIMS = 500


def claims_visible_to(scope: Scope) -> QuerySet[Claim]:
    """Return the claims a caller may see: after a sale they stay with who held then."""
    claims = Claim.objects.select_related("roof", "roof__coach", "holder")
    return within(claims, scope, owner_path="holder_id")


def claim_by_id(claim_id: int) -> Claim:
    """Return a claim that a run names; runs are made from claims already visible."""
    return Claim.objects.select_related("roof__coach", "holder").get(pk=claim_id)


def current_report(
    claim: Claim, *, known_at: datetime | None = None
) -> ClaimReport | None:
    """Return what was reported last and not corrected since."""
    rows = ClaimReport.objects.filter(claim=claim).select_related("description")
    if known_at is not None:
        rows = rows.filter(recorded_at__lte=known_at)
    counting = rows_that_stand(list(rows.order_by("recorded_at", "pk"))).rows
    return counting[-1] if counting else None


def place_of_claim(claim: UUID) -> ClaimPlace | None:
    """Return which roof a claim is about and who held the coach."""
    row = Claim.objects.filter(uuid=claim).first()
    return ClaimPlace(roof_id=row.roof_id, holder_id=row.holder_id) if row else None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimStanding:
    """What the promise was worth on the day a loss was noticed."""

    ref: str
    unit_no: str
    noticed_on: date
    standing: Standing | None  # None: no terms were assigned


def claim_standings(
    claims: QuerySet[Claim], *, known_at: datetime
) -> Iterator[ClaimStanding]:
    """Yield each claim's standing on its own day, in order of reference."""
    rows = claims.order_by("ref", "pk")
    batch: list[Claim] = []
    for claim in rows.iterator(chunk_size=BATCH_CLAIMS):
        batch.append(claim)
        if len(batch) == BATCH_CLAIMS:
            yield from _batch_standings(batch, known_at)
            batch = []
    yield from _batch_standings(batch, known_at)


def _batch_standings(batch: list[Claim], known_at: datetime) -> Iterator[ClaimStanding]:
    if not batch:
        return
    # Late waivers depend on each loss's own day; the records of a roof do not.
    found = coverage_facts({claim.roof_id for claim in batch}, known_at=known_at)
    judged = [claim for claim in batch if claim.roof_id in found]
    answers: dict[int, Standing] = {}
    if judged:
        coverages = [
            for_loss(found[claim.roof_id], claim.noticed_on) for claim in judged
        ]
        assessed = assess_facts(coverages, [claim.noticed_on for claim in judged])
        for row, (claim, coverage) in enumerate(zip(judged, coverages, strict=True)):
            answer = roof_standing(assessed.assessment, row, coverage)
            answers[claim.pk] = answer.standing
    for claim in batch:
        yield ClaimStanding(
            ref=claim.ref,
            unit_no=claim.roof.coach.unit_no,
            noticed_on=claim.noticed_on,
            standing=answers.get(claim.pk),
        )
