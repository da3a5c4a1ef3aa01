"""One coach's claims as they were reported."""

from __future__ import annotations

from datetime import date

from fleet.actions.errors import InvalidValue
from fleet.models import Ownership
from warranty.actions.claims import claim_report, holder_on
from warranty.actions.importing.matching import by_key, chains_of, key_uuid
from warranty.actions.importing.plan import (
    CoachPlan,
    RoofPlan,
    RowOf,
    each_row,
    refused,
    tell,
)
from warranty.actions.importing.result import Outcome
from warranty.actions.importing.roof import roof_for, warn_of_future
from warranty.actions.importing.rows import ClaimRow, read_claim
from warranty.models import Claim, ClaimReport
from warranty.workbook.errors import RowRefused


def plan_claims(plan: CoachPlan) -> None:
    """Plan the claims. Who holds the coach is planned by then."""
    known = {
        no: by_key(
            chains_of(plan.batch.record.facts(ClaimReport, roof.roof.pk)),
            lambda row: row.claim.ref,
        )
        for no, roof in plan.roofs.items()
    }
    holders = _holders(plan)

    def tell_row(row: ClaimRow, at: RowOf) -> list[Outcome]:
        roof = roof_for(plan, row.roof_no)
        report = _report(row)
        claim = _claim(plan, roof, row)
        report.claim = claim
        told = tell(
            report,
            known[row.roof_no][row.ref],
            uuid=key_uuid("claim", row.ref),
            at=at,
            add=roof.facts["claim"].append,
        )
        if told.outcome is not Outcome.UNCHANGED:
            claim.noticed_on, claim.reported_on = row.noticed_on, row.reported_on
            claim.holder = holder_on(holders, row.noticed_on)
            kept = plan.new_claims if claim.pk is None else plan.changed_claims
            kept.append(claim)
        return [told.outcome]

    def key_of(row: ClaimRow) -> object:
        return row.ref

    for row, at, outcomes in each_row(plan, "claims", read_claim, key_of, tell_row):
        plan.batch.result.count("claims", outcomes)
        _warn_of_days(plan, row, at)


def _report(row: ClaimRow) -> ClaimReport:
    try:
        return claim_report(
            noticed_on=row.noticed_on,
            reported_on=row.reported_on,
            description=row.description,
            estimate_cents=row.estimate_cents,
        )
    except InvalidValue as error:
        raise refused(error, {}, row) from None


def _claim(plan: CoachPlan, roof: RoofPlan, row: ClaimRow) -> Claim:
    found = plan.batch.record.claims.get(row.ref)
    if found is None:
        return Claim(
            ref=row.ref,
            roof=roof.roof,
            noticed_on=row.noticed_on,
            reported_on=row.reported_on,
        )
    if found.roof_id != roof.roof.pk:
        raise RowRefused(
            column="ref",
            value=row.ref,
            code="reference-taken",
            reason=(
                f"Claim {row.ref} is on record for another roof. Give this one another "
                "reference."
            ),
        )
    return found


def _holders(plan: CoachPlan) -> list[Ownership]:
    """Return who will have held the coach, in the order of their days."""
    rows = [
        *plan.batch.record.facts(Ownership, plan.coach.pk),
        *(fact for fact in plan.facts if isinstance(fact, Ownership)),
    ]
    standing = [chain.end for chain in chains_of(rows) if chain.end is not None]
    return sorted(standing, key=lambda row: row.from_on)


def _warn_of_days(plan: CoachPlan, row: ClaimRow, at: RowOf) -> None:
    completed_on = plan.roofs[row.roof_no].completed_on
    retired_on = plan.row.retired_on if plan.row else plan.coach.retired_on
    if completed_on and row.noticed_on < completed_on:
        _warn(at, "noticed-before-completion", row.noticed_on, completed_on)
    if retired_on and row.noticed_on > retired_on:
        _warn(at, "noticed-after-retirement", row.noticed_on, retired_on)
    warn_of_future(plan, at, "reported_on", row.reported_on)


def _warn(at: RowOf, code: str, day: date, other: date) -> None:
    words = code.replace("-", " ")
    at.warn(
        code,
        f"The loss was {words}, which was on {other}. Which day is right?",
        column="noticed_on",
        value=str(day),
    )
