"""Visits, findings and the last inspection for a packet."""

from __future__ import annotations

from datetime import date
from uuid import UUID

from fleet.models import Cure, Finding, Severity, Visit, VisitKind
from fleet.selectors.records import RoofRecords
from warranty.documents.facts import FindingFacts, LastInspectionFacts, VisitFacts
from warranty.models import ClaimReport

LOOKS_AT_THE_ROOF = frozenset({VisitKind.INSPECTION, VisitKind.REINSTATEMENT})
# A finding this near the loss was found at that place. Project convention.
SAME_PLACE_M = 0.75


def visit_facts(records: RoofRecords) -> tuple[VisitFacts, ...]:
    """Return every visit with what was found at it and what it cured."""
    cures = {
        records.origin(cure.finding.uuid): cure for cure in reversed(records.cures)
    }
    return tuple(_visit_facts(visit, records, cures) for visit in records.visits)


def _visit_facts(
    visit: Visit, records: RoofRecords, cures: dict[UUID, Cure]
) -> VisitFacts:
    cured = [
        cure.finding.visit.ref
        for cure in records.cures_by(visit)
        if cure.finding.visit is not None
    ]
    return VisitFacts(
        ref=visit.ref,
        kind=visit.get_kind_display(),
        happened_on=visit.happened_on,
        technician=who_came(visit),
        result=visit.get_result_display(),
        recorded_by=str(visit.recorded_by),
        recorded_at=visit.recorded_at,
        findings=tuple(
            finding_facts(row, cures.get(records.origin(row.uuid)))
            for row in records.findings_of(visit)
        ),
        cures=tuple(dict.fromkeys(cured)),
    )


def who_came(visit: Visit) -> str:
    """Return the technician, or the other shop and who came from it."""
    name = visit.technician.name if visit.technician else ""
    if visit.shop is None:
        return name
    shop = f"another shop: {visit.shop}"
    return f"{name} ({shop})" if name else shop


def finding_facts(row: Finding, cure: Cure | None) -> FindingFacts:
    """Return one finding, and what cured it."""
    return FindingFacts(
        severity=Severity(row.severity).label,
        text=str(row.note) if row.note else "",
        place_label=row.penetration_label,
        x_m=None if row.x_m is None else float(row.x_m),
        y_m=None if row.y_m is None else float(row.y_m),
        cured_by=cure.visit.ref if cure else "",
        cured_on=cure.happened_on if cure else None,
    )


def last_inspection_facts(
    records: RoofRecords, report: ClaimReport, *, noticed_on: date
) -> LastInspectionFacts | None:
    """Return the last inspection before the loss and what it says of that place."""
    before = [
        visit
        for visit in records.visits
        if visit.kind in LOOKS_AT_THE_ROOF and visit.happened_on <= noticed_on
    ]
    if not before:
        return None
    visit = before[-1]
    found = records.findings_of(visit)
    here = [row for row in found if _is_at(row, report)]
    shown = here if _has_place(report) else found
    return LastInspectionFacts(
        visit_ref=visit.ref,
        happened_on=visit.happened_on,
        technician=who_came(visit),
        result=visit.get_result_display(),
        place=_place_of(report),
        found="; ".join(_words(row) for row in shown),
        recorded_by=str(visit.recorded_by),
        recorded_at=visit.recorded_at,
    )


def _has_place(report: ClaimReport) -> bool:
    return bool(report.penetration_label) or report.x_m is not None


def _place_of(report: ClaimReport) -> str:
    if report.penetration_label:
        return report.penetration_label
    if report.x_m is not None:
        return (
            f"{report.x_m:.2f} m from the front cap, {report.y_m:.2f} m from the left"
        )
    return "place not recorded: the whole roof"


def _is_at(row: Finding, report: ClaimReport) -> bool:
    if report.penetration_label and row.penetration_label == report.penetration_label:
        return True
    if report.x_m is None or report.y_m is None or row.x_m is None or row.y_m is None:
        return False
    apart_m = ((row.x_m - report.x_m) ** 2 + (row.y_m - report.y_m) ** 2).sqrt()
    return apart_m <= SAME_PLACE_M


def _words(row: Finding) -> str:
    severity = Severity(row.severity).label
    return f"{severity}: {row.note}" if row.note else severity
