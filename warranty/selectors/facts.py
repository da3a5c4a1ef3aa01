"""What the rules need to know about coverages, read as known at a moment."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import TypeVar
from uuid import UUID

from fleet.civil import office_day
from fleet.ledger.correction import rows_that_stand
from fleet.models import RoofFact, Severity, VisitKind, VisitResult
from fleet.selectors.dated import DatedVerdict
from fleet.selectors.film import film_steps
from fleet.selectors.records import RoofRecords, roof_records
from fleet.selectors.site import (
    alteration_steps,
    climate_steps,
    deck_steps,
    penetration_steps,
    substrate_steps,
)
from warranty.models import Edition, Registration, TermsAssignment, Waiver
from warranty.rules.clause import Clause
from warranty.rules.roof_facts import (
    HolderStep,
    PassingVisit,
    RoofFacts,
    SeriousFinding,
    VerdictStep,
)
from warranty.rules.roof_facts import Waiver as WaiverFact
from warranty.rules.terms import HolderKind

AnyFact = TypeVar("AnyFact", bound=RoofFact)

SATISFYING_KINDS = frozenset({VisitKind.INSPECTION, VisitKind.REINSTATEMENT})


@dataclass(frozen=True, slots=True, kw_only=True)
class PromiseRecords:
    """What counts about the promise of one roof."""

    edition: Edition
    registrations: tuple[Registration, ...]
    waivers: tuple[Waiver, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverageFacts:
    """One roof's records and the facts made from them."""

    records: RoofRecords
    promise: PromiseRecords
    facts: RoofFacts


def coverage_facts(
    roof_ids: Iterable[int],
    *,
    known_at: datetime,
    losses: Mapping[int, date] | None = None,
    records: Mapping[int, RoofRecords] | None = None,
) -> dict[int, CoverageFacts]:
    """Return the facts of those roofs that have a promise, by roof id.

    Parameters:
        roof_ids: the roofs; one without assigned terms is left out.
        known_at: only what was recorded by then counts.
        losses: per roof the day a loss was noticed. A waiver recorded after that day
            is not used for it unless a second person said so.
        records: what was read of all these roofs already, as known at that moment.
    """
    promises = _promises(list(roof_ids), known_at)
    if records is None:
        counted = roof_records(promises, known_at=known_at)
    else:
        counted = {roof_id: records[roof_id] for roof_id in sorted(promises)}
    film = film_steps(counted)
    return {
        roof_id: CoverageFacts(
            records=found,
            promise=promises[roof_id],
            facts=_facts(
                found, promises[roof_id], film[roof_id], (losses or {}).get(roof_id)
            ),
        )
        for roof_id, found in counted.items()
    }


def for_loss(coverage: CoverageFacts, noticed_on: date) -> CoverageFacts:
    """Return the coverage with only those waivers that count for a loss."""
    waivers = _waivers(coverage.promise, noticed_on)
    return replace(coverage, facts=replace(coverage.facts, waivers=waivers))


def _promises(roof_ids: list[int], known_at: datetime) -> dict[int, PromiseRecords]:
    assigned = _rows(TermsAssignment, roof_ids, known_at, "happened_on", "edition")
    registered = _rows(Registration, roof_ids, known_at, "registered_on")
    waived = _rows(Waiver, roof_ids, known_at, "from_on", "why")
    return {
        roof_id: PromiseRecords(
            edition=rows[-1].edition,
            registrations=tuple(registered[roof_id]),
            waivers=tuple(waived[roof_id]),
        )
        for roof_id, rows in assigned.items()
        if rows
    }


def _rows(
    table: type[AnyFact],
    roof_ids: list[int],
    known_at: datetime,
    order: str,
    *joined: str,
) -> dict[int, list[AnyFact]]:
    rows = (
        table._default_manager.filter(roof_id__in=roof_ids, recorded_at__lte=known_at)
        .select_related(*joined, "entry")
        .defer("entry__payload")
        .order_by(order, "pk")
    )
    by_roof: dict[int, list[AnyFact]] = defaultdict(list)
    for row in rows:
        by_roof[row.roof_id].append(row)
    counted: dict[int, list[AnyFact]] = defaultdict(list)
    for roof_id, known in by_roof.items():
        counted[roof_id] = list(rows_that_stand(known).rows)
    return counted


def _facts(
    found: RoofRecords,
    promise: PromiseRecords,
    film: tuple[DatedVerdict, ...],
    noticed_on: date | None,
) -> RoofFacts:
    registration = promise.registrations[0] if promise.registrations else None
    retirement = found.retirements[0] if found.retirements else None
    work = found.installation
    return RoofFacts(
        completed_on=work.completed_on if work else None,
        registered_on=registration.registered_on if registration else None,
        registered_reference=entry_reference(registration) if registration else "",
        retired_on=retirement.retired_on if retirement else None,
        retired_reference=f"retirement {retirement.retired_on}" if retirement else "",
        holder=_holder_steps(found),
        film=_steps(film),
        substrate=_steps(substrate_steps(found)),
        deck_dry=_steps(deck_steps(found)),
        penetrations=_steps(penetration_steps(found)),
        climate=_steps(climate_steps(found)),
        alterations=_steps(alteration_steps(found)),
        visits=_passing(found),
        findings=_serious(found),
        waivers=_waivers(promise, noticed_on),
    )


def entry_reference(fact: RoofFact) -> str:
    """Return how a person finds a record: its entry in the roof's ledger."""
    return f"ledger entry {fact.entry.seq}"


def _steps(dated: Iterable[DatedVerdict]) -> tuple[VerdictStep, ...]:
    return tuple(
        VerdictStep(
            from_on=step.from_on,
            verdict=step.verdict,
            because=step.because,
            cure=step.cure,
            evidence=step.evidence,
        )
        for step in dated
    )


def _holder_steps(found: RoofRecords) -> tuple[HolderStep, ...]:
    # Two ownerships from one day: the one recorded last is who holds it.
    by_day = {row.from_on: row for row in found.ownerships}
    return tuple(
        HolderStep(
            from_on=row.from_on,
            kind=HolderKind(row.owner.kind),
            reference=f"held by {row.owner.name} from {row.from_on}",
        )
        for row in by_day.values()
    )


def _passing(found: RoofRecords) -> tuple[PassingVisit, ...]:
    return tuple(
        PassingVisit(on=visit.happened_on, reference=f"visit {visit.ref}")
        for visit in found.visits
        if visit.result == VisitResult.PASS and visit.kind in SATISFYING_KINDS
    )


def _serious(found: RoofRecords) -> tuple[SeriousFinding, ...]:
    cures: dict[UUID, list[tuple[date, str]]] = defaultdict(list)
    for cure in found.cures:
        # A cure is dated from its finding: a repair before it cured something else.
        if cure.happened_on >= cure.finding.happened_on:
            named = found.origin(cure.finding.uuid)
            cures[named].append((cure.happened_on, cure.visit.ref))
    serious = [row for row in found.findings if row.severity == Severity.SERIOUS]
    facts = []
    for row in serious:
        first = min(cures[found.origin(row.uuid)], default=None)
        facts.append(
            SeriousFinding(
                found_on=row.happened_on,
                cured_on=first[0] if first else None,
                reference=f"visit {row.visit.ref}" if row.visit else "reported",
                cure_reference=f"visit {first[1]}" if first else "",
                text=str(row.note) if row.note else "",
            )
        )
    return tuple(facts)


def _waivers(
    promise: PromiseRecords, noticed_on: date | None
) -> tuple[WaiverFact, ...]:
    usable = [
        row
        for row in promise.waivers
        if noticed_on is None
        or row.seconded_by_id is not None
        or office_day(row.recorded_at) <= noticed_on
    ]
    return tuple(
        WaiverFact(
            clause=Clause(row.clause),
            from_on=row.from_on,
            until_on=row.until_on,
            why=str(row.why),
            reference=entry_reference(row),
        )
        for row in usable
    )
