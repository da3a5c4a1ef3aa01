"""What is on record about a batch of coaches: a fixed number of queries a batch."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final, TypeVar

from django.db.models import QuerySet

from fleet.models import (
    ClimateReading,
    Coach,
    CoachDescription,
    CoachFact,
    CoatLog,
    Cure,
    FilmReading,
    Finding,
    Installation,
    Ownership,
    Penetration,
    Record,
    Retirement,
    Roof,
    RoofFact,
    Visit,
)
from warranty.models import Claim, ClaimReport, Registration, TermsAssignment

Fact = TypeVar("Fact", bound=Record)

_JOINED: Final[dict[type[Record], tuple[str, ...]]] = {
    Ownership: ("owner",),
    Visit: ("technician", "note"),
    Finding: ("visit", "note"),
    Cure: ("visit", "finding"),
    ClaimReport: ("claim", "description"),
    Installation: ("system",),
    TermsAssignment: ("edition",),
}
_COACH_TABLES: Final = (CoachDescription, Ownership, Retirement)
_ROOF_TABLES: Final[tuple[type[RoofFact], ...]] = (
    Installation,
    TermsAssignment,
    Registration,
    CoatLog,
    Penetration,
    ClimateReading,
    FilmReading,
    Visit,
    Finding,
    Cure,
    ClaimReport,
)


@dataclass(slots=True, kw_only=True)
class OnRecord:
    """Coaches of a batch, their roofs, and every fact about them, corrected or not."""

    coaches: dict[str, Coach]
    roofs: dict[int, dict[int, Roof]]  # by coach, by number
    visit_roofs: dict[str, int] = field(default_factory=dict)  # by reference
    claims: dict[str, Claim] = field(default_factory=dict)
    _facts: dict[tuple[type[Record], int], list[Record]] = field(
        default_factory=lambda: defaultdict(list)
    )

    def facts(self, table: type[Fact], of: int | None) -> list[Fact]:
        """Return a table's rows about one roof or coach, in the order recorded."""
        rows = self._facts.get((table, of), []) if of is not None else []
        return [row for row in rows if isinstance(row, table)]

    def coach_facts(self, coach_id: int | None) -> list[CoachFact]:
        """Return what is recorded about a coach, in the order it was recorded."""
        rows = [row for table in _COACH_TABLES for row in self.facts(table, coach_id)]
        return sorted(rows, key=lambda row: row.recorded_at)

    def keep(self, row: RoofFact | CoachFact) -> None:
        """Add one row that was read."""
        of = row.coach_id if isinstance(row, CoachFact) else row.roof_id
        self._facts[type(row), of].append(row)


def find_coaches(units: Iterable[str]) -> OnRecord:
    """Return the coaches of these numbers with their roofs, no facts yet."""
    coaches = Coach.objects.select_related("merged_into").filter(unit_no__in=units)
    found = {coach.unit_no: coach for coach in coaches.order_by("pk")}
    roofs: dict[int, dict[int, Roof]] = defaultdict(dict)
    ids = [coach.pk for coach in found.values()]
    if ids:
        for roof in Roof.objects.filter(coach_id__in=ids).order_by("pk"):
            roofs[roof.coach_id][roof.roof_no] = roof
    return OnRecord(coaches=found, roofs=roofs)


def read_facts(
    record: OnRecord, *, visit_refs: Sequence[str], claim_refs: Sequence[str]
) -> None:
    """Read the facts about these coaches, and who holds these references already."""
    coach_ids = [coach.pk for coach in record.coaches.values()]
    roof_ids = [roof.pk for roofs in record.roofs.values() for roof in roofs.values()]
    for coach_table in _COACH_TABLES if coach_ids else ():
        rows = coach_table._default_manager.filter(coach_id__in=coach_ids)
        for row in _joined(rows, coach_table).order_by("pk"):
            record.keep(row)
    for roof_table in _ROOF_TABLES if roof_ids else ():
        facts = roof_table._default_manager.filter(roof_id__in=roof_ids)
        for fact in _joined(facts, roof_table).order_by("pk"):
            record.keep(fact)
    if visit_refs:
        visits = Visit.objects.filter(ref__in=visit_refs).order_by("pk")
        record.visit_roofs = dict(visits.values_list("ref", "roof_id"))
    if claim_refs:
        claims = Claim.objects.filter(ref__in=claim_refs).order_by("pk")
        record.claims = {claim.ref: claim for claim in claims}


def _joined(rows: QuerySet[Fact], table: type[Record]) -> QuerySet[Fact]:
    # Without names it would follow every relation, entries and coaches among them.
    names = _JOINED.get(table)
    return rows.select_related(*names) if names else rows
