"""What is on record about a claim, as the evidence list asks for it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Protocol

from fleet.models import AdhesionReading, Exhibit, ExhibitKind, Finding, VisitKind
from fleet.selectors.records import FilmRow, RoofRecords, roof_records
from warranty.models import Claim, ClaimReport
from warranty.rules.cause import Cause, cause_of
from warranty.rules.evidence import ClaimRecords

# A film reading farther away tells nothing of the place: as on the film map. [m]
NEAR_M = 1.5
LOOKED_AT = frozenset({VisitKind.LEAK_CALL, VisitKind.INSPECTION, VisitKind.REPAIR})


class Dated(Protocol):
    """A record with its day."""

    @property
    def happened_on(self) -> date: ...


def claim_records(
    claim: Claim, report: ClaimReport | None, *, known_at: datetime
) -> ClaimRecords:
    """Return what is on record about a claim as known at a moment."""
    records = roof_records([claim.roof_id], known_at=known_at)[claim.roof_id]
    found = _findings(records, claim)
    causes = [(each, cause_of(each.cause)) for each in found]
    named = [(each, cause) for each, cause in causes if cause is not Cause.UNKNOWN]
    since = claim.noticed_on
    adhesion = AdhesionReading.objects.filter(
        roof_id=claim.roof_id, happened_on__gte=since, recorded_at__lte=known_at
    )
    return ClaimRecords(
        cause=named[-1][1] if named else Cause.UNKNOWN,
        place=_place(report, found),
        photos=_photos(claim, found, known_at),
        leak_calls=tuple(
            f"visit {visit.ref}"
            for visit in records.visits
            if visit.kind in LOOKED_AT and visit.happened_on >= since
        ),
        causes_found=tuple(f"{cause} on {row.happened_on}" for row, cause in named),
        moisture_readings=_since(records.moisture, since),
        film_readings=_film(records.film, report),
        adhesion_readings=adhesion.count(),
        alterations=tuple(
            f"alteration {row.happened_on}" for row in records.alterations
        ),
        inspections=tuple(
            f"visit {visit.ref}"
            for visit in records.visits
            if visit.kind == VisitKind.INSPECTION and visit.happened_on <= since
        ),
        has_estimate=report is not None and report.estimate_cents is not None,
    )


def _findings(records: RoofRecords, claim: Claim) -> list[Finding]:
    """Return what was found since the loss was noticed, in the order of days."""
    return [row for row in records.findings if row.happened_on >= claim.noticed_on]


def _place(report: ClaimReport | None, found: list[Finding]) -> str:
    for row in (report, *reversed(found)):
        if row is None:
            continue
        if row.penetration_label:
            return row.penetration_label
        if row.x_m is not None and row.y_m is not None:
            return f"x {row.x_m:.2f} m, y {row.y_m:.2f} m"
    return ""


def _photos(claim: Claim, found: list[Finding], known_at: datetime) -> int:
    photos = Exhibit.objects.filter(
        roof_id=claim.roof_id,
        kind=ExhibitKind.PHOTO,
        is_void=False,
        recorded_at__lte=known_at,
    )
    of_claim = photos.filter(claim=claim.uuid)
    of_findings = photos.filter(finding_id__in=[row.pk for row in found])
    hashes = set(of_claim.values_list("sha256", flat=True))
    hashes.update(of_findings.values_list("sha256", flat=True))
    return len(hashes)


def _since(rows: Iterable[Dated], day: date) -> int:
    return sum(row.happened_on >= day for row in rows)


def _film(rows: list[FilmRow], report: ClaimReport | None) -> int:
    if report is None or report.x_m is None or report.y_m is None:
        return len(rows)
    x, y = float(report.x_m), float(report.y_m)
    return sum(
        (float(row.x_m) - x) ** 2 + (float(row.y_m) - y) ** 2 <= NEAR_M**2
        for row in rows
        if row.x_m is not None and row.y_m is not None
    )
