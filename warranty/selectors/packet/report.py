"""Put an inspection report's facts together."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, datetime
from uuid import UUID

from django.db.models import QuerySet

from fleet.ledger.correction import rows_that_stand
from fleet.models import AdhesionReading, Cure, Exhibit, MoistureReading, Roof, Visit
from fleet.scope import Scope
from fleet.selectors.exhibits import exhibits_that_count
from fleet.selectors.film import coat_verdicts
from fleet.selectors.lists import facts_visible_to
from fleet.selectors.records import RoofRecords, roof_records
from fleet.selectors.scopes import within
from warranty.documents import wording
from warranty.documents.report_facts import (
    CuredFacts,
    FilmReadFacts,
    ReadFacts,
    ReportFacts,
)
from warranty.models import Document, DocumentKind
from warranty.selectors.explanations import explanation_of
from warranty.selectors.packet.exhibits import exhibit_facts
from warranty.selectors.packet.facts import (
    climate_facts,
    coach_facts,
    company_facts,
    penetration_facts,
    standing_facts,
)
from warranty.selectors.packet.visits import finding_facts, visit_facts

NEWEST = 12  # of a roof's visits; older ones are printed through the API


def visits_reportable(scope: Scope) -> QuerySet[Visit]:
    """Return the visits whose report a caller may ask for: those they may see."""
    return facts_visible_to(Visit, scope)


def visits_to_report(roof: Roof, scope: Scope, *, known_at: datetime) -> list[Visit]:
    """Return a roof's newest visits that count and were known at a moment."""
    rows = visits_reportable(scope).filter(roof=roof, is_corrected=False, is_void=False)
    known = rows.filter(recorded_at__lte=known_at)
    return list(known.order_by("-happened_on", "-pk")[:NEWEST])


def reports_visible_to(scope: Scope) -> QuerySet[Document]:
    """Return the reports a caller may see. One names no owner, so it goes with the
    coach."""
    rows = Document.objects.filter(kind=DocumentKind.INSPECTION_REPORT)
    return within(
        rows.select_related("visit__roof"),
        scope,
        owner_path="visit__roof__coach__holder_id",
    )


def reports_of(roof: Roof, scope: Scope, *, known_at: datetime) -> QuerySet[Document]:
    """Return a roof's reports that a caller may see, the newest visit first."""
    mine = reports_visible_to(scope).filter(visit__roof=roof, known_at__lte=known_at)
    return mine.order_by("-visit__happened_on", "-pk")


def photos_of_visit(visit: Visit, *, known_at: datetime) -> list[Exhibit]:
    """Return what was photographed at a visit; what belongs to a claim stays there."""
    return [
        row
        for row in exhibits_that_count(visit.roof_id, known_at=known_at)
        if row.claim is None and row.visit is not None and row.visit.ref == visit.ref
    ]


def report_facts(
    visit: Visit, *, report_id: UUID, known_at: datetime
) -> ReportFacts | None:
    """Return a report's facts as known at a moment; None when the visit was struck.

    The same visit, id and moment always give the same facts.
    """
    records = roof_records([visit.roof_id], known_at=known_at)[visit.roof_id]
    told = {row.ref: row for row in records.visits}.get(visit.ref)
    if told is None or records.description is None:
        return None
    day = told.happened_on
    answer = explanation_of(visit.roof_id, as_of=day, known_at=known_at)
    has_promise = answer is not None and records.installation is not None
    system = records.installation.system if records.installation else None
    return ReportFacts(
        report_id=str(report_id),
        generated_at=known_at,
        company=company_facts(),
        coach=coach_facts(records),
        roof_no=str(records.roof.roof_no),
        system=f"{system.code}, {system.title}" if system else "",
        visit=next(v for v in visit_facts(records) if v.ref == visit.ref),
        note=str(told.note) if told.note else "",
        cured=tuple(_cured(cure) for cure in records.cures_by(told)),
        standing=standing_facts(answer) if answer and has_promise else None,
        film=_film(records, day),
        climate=tuple(
            facts
            for row, facts in zip(records.climate, climate_facts(records), strict=False)
            if row.happened_on == day
        ),
        reads=(*_moisture(records, day), *_adhesion(visit.roof_id, day, known_at)),
        penetrations=penetration_facts(records),
        exhibits=exhibit_facts(photos_of_visit(told, known_at=known_at)),
    )


def _cured(cure: Cure) -> CuredFacts:
    row = cure.finding
    return CuredFacts(
        visit_ref=row.visit.ref if row.visit else "",
        found_on=row.happened_on,
        finding=finding_facts(row, None),
    )


def _film(records: RoofRecords, day: date) -> tuple[FilmReadFacts, ...]:
    read: dict[str, list[float]] = defaultdict(list)
    wet: dict[str, bool] = {}
    for coat in coat_verdicts(records, as_of=day):
        name = coat.coat.get_role_display()
        for row, dry_mil in zip(coat.rows, coat.dry_mil, strict=True):
            if row.happened_on == day:
                read[name].append(dry_mil)
                wet[name] = wet.get(name, False) or row.dry_um is None
    return tuple(
        FilmReadFacts(
            coat=name,
            count=len(values),
            mean_mil=sum(values) / len(values),
            lowest_mil=min(values),
            is_estimated=wet[name],
        )
        for name, values in read.items()
    )


def _moisture(records: RoofRecords, day: date) -> tuple[ReadFacts, ...]:
    return tuple(
        ReadFacts(
            what=f"deck moisture, {row.get_mode_display()}",
            value=f"{'above ' if row.is_above_range else ''}"
            f"{row.moisture_ratio * 100:.1f} %",
            place=_place(row),
        )
        for row in records.moisture
        if row.happened_on == day
    )


def _adhesion(roof_id: int, day: date, known_at: datetime) -> tuple[ReadFacts, ...]:
    rows = AdhesionReading.objects.filter(roof_id=roof_id, recorded_at__lte=known_at)
    return tuple(
        ReadFacts(
            what=f"adhesion, {row.get_method_display()}",
            value=f"grade {row.grade}"
            if row.grade is not None
            else f"{row.value} {row.unit}",
            place=_place(row),
        )
        for row in rows_that_stand(list(rows.order_by("pk"))).rows
        if row.happened_on == day
    )


def _place(row: MoistureReading | AdhesionReading) -> str:
    if row.x_m is None or row.y_m is None:
        return ""
    return wording.place("", float(row.x_m), float(row.y_m))
