"""Everything that one roof's page shows, as of a day and as known at a moment."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime

from fleet.models import LedgerEntry, Owner, Roof
from fleet.scope import Scope, Sight
from fleet.selectors.records import RoofRecords, roof_records
from warranty.documents.facts import (
    CoatLotFacts,
    FilmCoatFacts,
    FilmMapFacts,
    ReadingFacts,
    VisitFacts,
)
from warranty.rules.clause import Clause, Standing
from warranty.rules.explain import ClauseResult, Explanation
from warranty.rules.timeline import Period
from warranty.selectors.explanations import RoofExplanation, course_of, explanation_of
from warranty.selectors.packet.film import (
    film_facts,
    film_map_facts,
    lot_facts,
    reading_facts,
)
from warranty.selectors.packet.visits import visit_facts
from warranty.selectors.roof_claims import RoofClaim, claims_on_roof
from warranty.selectors.roof_climate import ClimateRow, climate_rows

LEDGER_ENTRIES_SHOWN = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofPage:
    """One roof as its page shows it. ``explanation`` is None without a promise."""

    roof: Roof
    as_of: date
    known_at: datetime
    records: RoofRecords
    holder: Owner | None
    explanation: Explanation | None
    answer: RoofExplanation | None
    course: tuple[Period, ...]
    film: tuple[FilmCoatFacts, ...]
    film_maps: tuple[FilmMapFacts, ...]
    readings: tuple[ReadingFacts, ...]
    lots: tuple[CoatLotFacts, ...]
    climate: tuple[ClimateRow, ...]
    visits: tuple[VisitFacts, ...]
    claims: tuple[RoofClaim, ...]
    ledger: tuple[LedgerEntry, ...]  # the newest first, a few

    @property
    def next_due_on(self) -> date | None:
        """The next inspection, which a promise that has ended does not have."""
        said = self.explanation
        if said is None or said.standing is Standing.ENDED:
            return None
        return said.next_due_on

    @property
    def inspection(self) -> ClauseResult | None:
        """What the terms say of inspections."""
        results = self.explanation.results if self.explanation else ()
        return next((r for r in results if r.clause is Clause.INSPECTIONS), None)

    @property
    def head(self) -> LedgerEntry | None:
        """The newest entry of the roof's ledger."""
        return self.ledger[0] if self.ledger else None


def roof_page(
    roof: Roof, scope: Scope, *, as_of: date, known_at: datetime
) -> RoofPage | None:
    """Return one roof's page, or None where nothing was known of it by then.

    Parameters:
        roof: a roof that the caller may see.
        scope: whose names and claims may be shown.
        as_of: only what had happened by this day is used.
        known_at: only what was recorded by this moment is used.
    """
    answer = explanation_of(roof.pk, as_of=as_of, known_at=known_at)
    if answer is not None:
        all_records = answer.coverage.records
    else:
        all_records = roof_records([roof.pk], known_at=known_at)[roof.pk]
    if all_records.description is None:
        return None
    records = up_to(all_records, as_of)
    return RoofPage(
        roof=roof,
        as_of=as_of,
        known_at=known_at,
        records=records,
        holder=_visible_holder(records, scope),
        explanation=_explained(answer, records, scope),
        answer=answer,
        course=course_of(answer, as_of=as_of) if answer else (),
        film=film_facts(records, as_of=as_of),
        film_maps=film_map_facts(records, as_of=as_of),
        readings=reading_facts(records, as_of=as_of),
        lots=lot_facts(records, as_of=as_of),
        climate=climate_rows(records),
        visits=visit_facts(records)[::-1],
        claims=claims_on_roof(roof, scope, as_of=as_of, known_at=known_at),
        ledger=_newest_entries(roof, known_at),
    )


def up_to(records: RoofRecords, day: date) -> RoofRecords:
    """Return the records of what had happened by a day."""
    return replace(
        records,
        ownerships=[row for row in records.ownerships if row.from_on <= day],
        film=[row for row in records.film if row.happened_on <= day],
        climate=[row for row in records.climate if row.happened_on <= day],
        moisture=[row for row in records.moisture if row.happened_on <= day],
        coat_logs=[row for row in records.coat_logs if row.happened_on <= day],
        penetrations=[row for row in records.penetrations if row.happened_on <= day],
        alterations=[row for row in records.alterations if row.happened_on <= day],
        visits=[row for row in records.visits if row.happened_on <= day],
        findings=[row for row in records.findings if row.happened_on <= day],
        cures=[row for row in records.cures if row.happened_on <= day],
    )


def _may_name(owner: Owner, scope: Scope) -> bool:
    return scope.sight is Sight.EVERYTHING or owner.pk in scope.owner_ids


def _visible_holder(records: RoofRecords, scope: Scope) -> Owner | None:
    if not records.ownerships:
        return None
    owner = records.ownerships[-1].owner
    return owner if _may_name(owner, scope) else None


def _explained(
    answer: RoofExplanation | None, records: RoofRecords, scope: Scope
) -> Explanation | None:
    """Return the explanation without the name of a former holder."""
    if answer is None:
        return None
    said = answer.explanation
    if _visible_holder(records, scope) is not None:
        return said
    return replace(
        said,
        results=tuple(
            replace(result, evidence=())
            if result.clause is Clause.HOLDER and not result.waived
            else result
            for result in said.results
        ),
    )


def _newest_entries(roof: Roof, known_at: datetime) -> tuple[LedgerEntry, ...]:
    known = LedgerEntry.objects.filter(roof=roof, recorded_at__lte=known_at)
    return tuple(known.defer("payload").order_by("-seq")[:LEDGER_ENTRIES_SHOWN])
