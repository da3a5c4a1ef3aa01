"""The claims on one roof that a caller may see, with their packets."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Prefetch

from fleet.ledger.correction import rows_that_stand
from fleet.models import Roof
from fleet.scope import Scope
from warranty.models import Claim, ClaimReport, Document
from warranty.selectors.claims import claims_visible_to


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofClaim:
    """One claim, what was reported, and its packets, the newest first."""

    claim: Claim
    report: ClaimReport
    packets: tuple[Document, ...]


def claims_on_roof(
    roof: Roof, scope: Scope, *, as_of: date, known_at: datetime
) -> tuple[RoofClaim, ...]:
    """Return the claims reported by a day, as known at a moment, the newest first."""
    reports = (
        ClaimReport.objects.filter(recorded_at__lte=known_at)
        .select_related("description")
        .order_by("recorded_at", "pk")
    )
    packets = Document.objects.filter(rendered_at__lte=known_at, erased_at__isnull=True)
    claims = (
        claims_visible_to(scope)
        .filter(roof=roof)
        .prefetch_related(
            Prefetch("reports", queryset=reports),
            Prefetch("documents", queryset=packets.order_by("-rendered_at", "-pk")),
        )
        .order_by("-noticed_on", "-pk")
    )
    found = []
    for claim in claims:
        known = rows_that_stand(list(claim.reports.all())).rows
        if known and known[-1].reported_on <= as_of:
            found.append(
                RoofClaim(
                    claim=claim,
                    report=known[-1],
                    packets=tuple(claim.documents.all()),
                )
            )
    return tuple(found)
