"""Claims, from the report on."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from uuid import UUID, uuid4

from django.db.models import F

from fleet.actions.errors import InvalidValue
from fleet.actions.recording import recording
from fleet.actions.roofs import record
from fleet.ledger.correction import rows_that_stand
from fleet.models import OFFICE_SCOPE, Owner, Ownership, PrivateText, Roof, User
from fleet.selectors.records import roof_records
from warranty.actions.claim_moves import set_clock
from warranty.actions.errors import ClaimKnown
from warranty.models import Claim, ClaimReport


def claim_report(
    *,
    noticed_on: date,
    reported_on: date,
    description: str,
    estimate_cents: int | None,
    currency: str = "USD",
    penetration_label: str = "",
    x_m: Decimal | None = None,
    y_m: Decimal | None = None,
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> ClaimReport:
    """Return a report of a loss, its dates in order and its money in whole cents.

    Raises:
        InvalidValue: reported before it was noticed, or an estimate below zero.
    """
    if noticed_on > reported_on:
        raise InvalidValue(
            "noticed_on",
            f"Noticed on {noticed_on} lies after the report on {reported_on}.",
        )
    if estimate_cents is not None and estimate_cents < 0:
        raise InvalidValue("estimate_cents", "An estimate cannot be below zero.")
    return ClaimReport(
        uuid=uuid or uuid4(),
        supersedes=supersedes,
        noticed_on=noticed_on,
        reported_on=reported_on,
        description=PrivateText(body=description),
        estimate_cents=estimate_cents,
        currency=currency,
        penetration_label=penetration_label,
        x_m=x_m,
        y_m=y_m,
    )


def report_claim(
    *,
    roof: Roof,
    ref: str,
    report: ClaimReport,
    by: User,
    now: datetime,
    uuid: UUID | None = None,
    scope: str = OFFICE_SCOPE,
) -> Claim:
    """Open a claim on a roof, held by whoever held the coach when it was noticed.

    Raises:
        ClaimKnown: the reference is taken.
    """
    with recording(by=by, now=now, scope=scope) as made:
        made.lock([roof.pk])
        if Claim.objects.filter(ref=ref).exists():
            raise ClaimKnown(f"Claim {ref} is on record already.", ref=ref)
        records = roof_records([roof.pk], known_at=now)[roof.pk]
        claim = Claim.objects.create(
            uuid=uuid or uuid4(),
            ref=ref,
            roof=roof,
            holder=holder_on(records.ownerships, report.noticed_on),
            noticed_on=report.noticed_on,
            reported_on=report.reported_on,
        )
        report.claim = claim
        made.append(roof, "claim", [report])
        set_clock(claim, now=now)
    return claim


def correct_claim(
    *, claim: Claim, report: ClaimReport, by: User, now: datetime
) -> Claim:
    """Record a corrected report; the claim's days follow the report that stands."""
    with recording(by=by, now=now) as made:
        made.lock([claim.roof_id])
        report.claim = claim
        record(roof=claim.roof, kind="claim", facts=[report], by=by, now=now)
        made.flush()
        records = roof_records([claim.roof_id], known_at=now)[claim.roof_id]
        for told in rows_that_stand(list(claim.reports.order_by("pk"))).rows[-1:]:
            claim.noticed_on, claim.reported_on = told.noticed_on, told.reported_on
        claim.holder = holder_on(records.ownerships, claim.noticed_on)
        claim.version = F("version") + 1
        claim.save(update_fields=["noticed_on", "reported_on", "holder", "version"])
        claim.refresh_from_db()
        set_clock(claim, now=now)
    claim.refresh_from_db()
    return claim


def holder_on(ownerships: list[Ownership], day: date) -> Owner | None:
    """Return who held the coach on a day, given its ownerships in order."""
    held = [row.owner for row in ownerships if row.from_on <= day]
    return held[-1] if held else None
