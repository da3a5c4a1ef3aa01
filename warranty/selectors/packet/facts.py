"""Put a claim packet's facts together."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta, timezone
from decimal import Decimal
from uuid import UUID

import numpy as np
from django.conf import settings

from fleet.film.verdict import VERDICT_OF_CODE
from fleet.ledger.correction import rows_that_stand
from fleet.models import (
    Body,
    ClimateReading,
    LedgerEntry,
    OwnerKind,
    Ownership,
    Substrate,
    User,
)
from fleet.selectors.records import RoofRecords
from fleet.selectors.site import climate_reading_codes
from fleet.site.climate import surface_margin_c
from warranty.documents.facts import (
    ClaimFacts,
    ClauseFacts,
    ClimateFacts,
    ClimateLimitFacts,
    CoachFacts,
    CompanyFacts,
    DueDateFacts,
    EditionFacts,
    HolderFacts,
    LedgerEntryFacts,
    LedgerFacts,
    PacketFacts,
    PenetrationFacts,
    RoofFacts,
    StandingFacts,
    StandingSegmentFacts,
)
from warranty.models import Claim, ClaimReport, Edition
from warranty.rules.due_history import DueDate, due_history
from warranty.rules.version import RULE_VERSION
from warranty.selectors.explanations import RoofExplanation, course_of, explanation_of
from warranty.selectors.packet.film import (
    film_facts,
    film_map_facts,
    lot_facts,
    reading_facts,
)
from warranty.selectors.packet.visits import last_inspection_facts, visit_facts

CLAUSE_TITLES = {
    "film": "Film accepted",
    "substrate": "Substrate listed",
    "deck_dry": "Deck dry",
    "penetrations": "Every penetration detailed",
    "climate": "Climate within limits",
    "registered": "Registered in time",
    "holder": "Holder eligible",
    "serious_findings": "Serious findings cured in time",
    "inspections": "Inspections current",
    "alterations": "No unapproved alteration",
    "coach": "Coach alive",
    "term": "Term not over",
}


def packet_facts(
    claim_id: int, *, packet_id: UUID, known_at: datetime
) -> PacketFacts | None:
    """Return a packet's facts as known at a moment, or None when there is no promise.

    The same claim, id and moment always give the same facts: what was recorded later
    is not in them.
    """
    claim = Claim.objects.select_related("roof__coach").get(pk=claim_id)
    report = _report_of(claim, known_at)
    answer = explanation_of(
        claim.roof_id,
        as_of=report.noticed_on,
        known_at=known_at,
        noticed_on=report.noticed_on,
    )
    if answer is None or answer.coverage.records.installation is None:
        return None
    records, noticed_on = answer.coverage.records, report.noticed_on
    return PacketFacts(
        packet_id=str(packet_id),
        generated_for="Whoever has to judge this claim",
        generated_at=known_at,
        company=company_facts(),
        claim=_claim_facts(claim, report),
        coach=coach_facts(records),
        holder=holder_facts(records, noticed_on),
        roof=roof_facts(records),
        edition=edition_facts(answer.coverage.promise.edition),
        standing=_standing_facts(answer),
        ledger=_ledger_facts(claim.roof_id, known_at),
        last_inspection=last_inspection_facts(records, report, noticed_on=noticed_on),
        timeline=_timeline(answer, noticed_on),
        due_dates=_due_dates(answer, noticed_on),
        penetrations=penetration_facts(records),
        readings=reading_facts(records, as_of=noticed_on),
        film=film_facts(records, as_of=noticed_on),
        film_maps=film_map_facts(records, as_of=noticed_on),
        climate_limits=_climate_limits(records),
        climate=_climate(records),
        visits=visit_facts(records),
    )


def company_facts() -> CompanyFacts:
    """Return who gives the promise, as the settings name them."""
    return CompanyFacts(
        name=settings.COMPANY_NAME,
        address_lines=tuple(
            part.strip() for part in settings.COMPANY_ADDRESS.split(",")
        ),
    )


def _report_of(claim: Claim, known_at: datetime) -> ClaimReport:
    known = claim.reports.select_related("description").filter(
        recorded_at__lte=known_at
    )
    return rows_that_stand(list(known.order_by("recorded_at", "pk"))).rows[-1]


def _claim_facts(claim: Claim, report: ClaimReport) -> ClaimFacts:
    return ClaimFacts(
        reference=claim.ref,
        noticed_on=report.noticed_on,
        reported_on=report.reported_on,
        description=str(report.description),
        estimate_cents=report.estimate_cents,
        currency=report.currency,
        status=claim.status,
        place_label=report.penetration_label,
        place_x_m=_float(report.x_m),
        place_y_m=_float(report.y_m),
    )


def coach_facts(records: RoofRecords) -> CoachFacts:
    """Return the coach as it is described."""
    said = records.description
    if said is None:
        raise ValueError("a coach without a description has no size to draw.")
    return CoachFacts(
        unit_no=records.roof.coach.unit_no,
        vin=said.vin,
        year=said.model_year,
        make=said.make,
        model=said.model,
        body=Body(said.body).label if said.body else "",
        length_m=float(said.length_m),
        width_m=float(said.width_m),
    )


def holder_facts(records: RoofRecords, on: date) -> HolderFacts:
    """Return who held the coach on a day."""
    held: list[Ownership] = [row for row in records.ownerships if row.from_on <= on]
    if not held:
        return HolderFacts(name="", kind="")
    after = [row for row in records.ownerships if row.from_on > on]
    return HolderFacts(
        name=held[-1].owner.name,
        kind=OwnerKind(held[-1].owner.kind).label,
        held_from_on=held[-1].from_on,
        held_until_on=after[0].from_on - timedelta(days=1) if after else None,
    )


def roof_facts(records: RoofRecords) -> RoofFacts:
    """Return the installed system with its lots."""
    work = records.installation
    if work is None or work.completed_on is None:
        raise ValueError("a roof without a completion day has no promise to print.")
    return RoofFacts(
        roof_no=str(records.roof.roof_no),
        system_code=work.system.code,
        system_title=work.system.title,
        substrate=Substrate(work.substrate).label,
        started_on=work.started_on,
        completed_on=work.completed_on,
        coats=lot_facts(records, as_of=work.completed_on),
    )


def edition_facts(edition: Edition) -> EditionFacts:
    """Return the key numbers of an edition."""
    return EditionFacts(
        code=edition.code,
        title=edition.title,
        owner_kind=OwnerKind(edition.owner_kind).label,
        anchor=edition.anchor.replace("_", " "),
        interval_months=edition.interval_months,
        window_days=edition.window_days,
        grace_days=edition.grace_days,
        reinstatement_days=edition.reinstatement_days,
        registration_days=edition.registration_days,
        serious_cure_days=edition.serious_cure_days,
        term_months=edition.term_months,
    )


def _standing_facts(answer: RoofExplanation) -> StandingFacts:
    said = answer.explanation
    reasons = [result.because for result in said.unmet]
    return StandingFacts(
        word=said.standing.value,
        as_of=said.as_of,
        known_at=answer.known_at,
        because=" ".join(reasons) or "Every clause of the edition is met.",
        next_due_on=said.next_due_on,
        holds_until=said.holds_until,
        rule_version=RULE_VERSION,
        clauses=tuple(
            ClauseFacts(
                number=result.number,
                code=result.clause.value,
                title=CLAUSE_TITLES[result.clause.value],
                verdict=result.verdict.value,
                because=result.because,
                cure=result.cure,
                evidence=result.evidence,
                is_waived=result.waived,
                holds_until=result.holds_until,
            )
            for result in said.results
        ),
    )


def _ledger_facts(roof_id: int, known_at: datetime) -> LedgerFacts:
    known = LedgerEntry.objects.filter(roof_id=roof_id, recorded_at__lte=known_at)
    entries = list(known.order_by("seq"))
    hands = [json.loads(entry.payload)["by"] for entry in entries]
    names = {
        str(user.uuid): str(user) for user in User.objects.filter(uuid__in=set(hands))
    }
    return LedgerFacts(
        head_seq=entries[-1].seq,
        head_hash=entries[-1].entry_sha256,
        entries=tuple(
            LedgerEntryFacts(
                seq=entry.seq,
                kind=entry.kind,
                recorded_at=entry.recorded_at,
                by=names.get(hand, hand),
                payload_hash=entry.payload_sha256,
                entry_hash=entry.entry_sha256,
            )
            for entry, hand in zip(entries, hands, strict=True)
        ),
    )


def _timeline(
    answer: RoofExplanation, noticed_on: date
) -> tuple[StandingSegmentFacts, ...]:
    course = course_of(answer, as_of=noticed_on)
    last = max((p.until_on for p in course if p.until_on), default=noticed_on)
    return tuple(
        StandingSegmentFacts(
            word=period.standing.value,
            from_on=period.from_on,
            until_on=period.until_on or max(last, noticed_on),
        )
        for period in course
    )


def _due_dates(answer: RoofExplanation, noticed_on: date) -> tuple[DueDateFacts, ...]:
    facts = answer.coverage.facts
    if facts.completed_on is None or facts.completed_on > noticed_on:
        return ()
    references = {visit.on: visit.reference for visit in facts.visits}
    dates = due_history(
        answer.terms,
        completed_on=facts.completed_on,
        passing_on=references,
        as_of=noticed_on,
    )
    return tuple(_due_facts(each, references) for each in dates)


def _due_facts(each: DueDate, references: dict[date, str]) -> DueDateFacts:
    settled = each.satisfied_on or each.reinstated_on
    return DueDateFacts(
        due_on=each.due_on,
        window_opens_on=each.window_opens_on,
        grace_ends_on=each.grace_ends_on,
        satisfied_on=each.satisfied_on,
        satisfied_by=_ref_of(references.get(settled, "")) if settled else "",
        is_missed=each.is_missed,
    )


def _ref_of(reference: str) -> str:
    return reference.removeprefix("visit ")


def penetration_facts(records: RoofRecords) -> tuple[PenetrationFacts, ...]:
    """Return each penetration as it was recorded last."""
    newest = {row.label: row for row in records.penetrations}
    return tuple(
        PenetrationFacts(
            label=row.label,
            kind=row.get_kind_display(),
            x_m=float(row.x_m),
            y_m=float(row.y_m),
            width_m=float(row.width_m),
            length_m=float(row.length_m),
            detailed=row.is_detailed,
        )
        for row in newest.values()
    )


def _climate_limits(records: RoofRecords) -> ClimateLimitFacts | None:
    if records.installation is None:
        return None
    limits = records.installation.system
    rh_max = _float(limits.rh_max_ratio)
    return ClimateLimitFacts(
        air_min_c=_float(limits.air_min_c),
        air_max_c=_float(limits.air_max_c),
        rh_max_pct=None if rh_max is None else rh_max * 100,
        dew_margin_c=_float(limits.dew_margin_c),
    )


def _climate(records: RoofRecords) -> tuple[ClimateFacts, ...]:
    if records.installation is None or not records.climate:
        return ()
    rows = records.climate
    codes = climate_reading_codes(rows, records.coats, records.installation.system)
    margins = surface_margin_c(
        np.array([_nan(row.air_c) for row in rows]),
        np.array([_nan(row.rh_ratio) for row in rows]) * 100,
        np.array([_nan(row.surface_c) for row in rows]),
    )
    return tuple(
        _climate_facts(row, float(margin), VERDICT_OF_CODE[code].value)
        for row, margin, code in zip(rows, margins, codes, strict=True)
    )


def _climate_facts(row: ClimateReading, margin: float, verdict: str) -> ClimateFacts:
    zone = timezone(timedelta(minutes=row.offset_minutes))
    surface_c, rh = _float(row.surface_c), _float(row.rh_ratio)
    known = not np.isnan(margin)
    return ClimateFacts(
        taken_at=row.taken_at.astimezone(zone).isoformat(timespec="minutes"),
        air_c=_float(row.air_c),
        surface_c=surface_c,
        rh_pct=None if rh is None else rh * 100,
        dew_point_c=surface_c - margin if known and surface_c is not None else None,
        margin_c=margin if known else None,
        verdict=verdict,
    )


def _float(value: Decimal | None) -> float | None:
    return None if value is None else float(value)


def _nan(value: Decimal | None) -> float:
    return float("nan") if value is None else float(value)
