"""Everything recorded about some roofs that counts, as known at a moment."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import NamedTuple, TypeVar
from uuid import UUID

from fleet.ledger.correction import rows_that_stand
from fleet.models import (
    DEVICE_SCOPE,
    Alteration,
    ClimateReading,
    Coach,
    CoachDescription,
    CoachFact,
    CoatLog,
    Cure,
    FilmReading,
    Finding,
    Installation,
    MoistureReading,
    Ownership,
    Penetration,
    Retirement,
    Roof,
    RoofFact,
    SystemCoat,
    SystemSubstrate,
    Visit,
)

AnyRoofFact = TypeVar("AnyRoofFact", bound=RoofFact)
AnyCoachFact = TypeVar("AnyCoachFact", bound=CoachFact)


class FilmRow(NamedTuple):
    """One film reading as a light row: there are many."""

    roof_id: int
    uuid: UUID
    supersedes: UUID | None
    is_void: bool
    settles: bool
    recorded_at: datetime
    coat: str
    area_no: int
    spot_no: int
    last_wet_um: Decimal | None
    first_dry_um: Decimal | None
    dry_um: Decimal | None
    happened_on: object
    x_m: Decimal | None
    y_m: Decimal | None


@dataclass(slots=True, kw_only=True)
class RoofRecords:
    """What counts about one roof. Lists are in the order of their day."""

    roof: Roof
    description: CoachDescription | None = None
    ownerships: list[Ownership] = field(default_factory=list)
    retirements: list[Retirement] = field(default_factory=list)
    installation: Installation | None = None
    coats: tuple[SystemCoat, ...] = ()
    listed_substrates: frozenset[str] = frozenset()
    film: list[FilmRow] = field(default_factory=list)
    climate: list[ClimateReading] = field(default_factory=list)
    moisture: list[MoistureReading] = field(default_factory=list)
    coat_logs: list[CoatLog] = field(default_factory=list)
    penetrations: list[Penetration] = field(default_factory=list)
    alterations: list[Alteration] = field(default_factory=list)
    visits: list[Visit] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    cures: list[Cure] = field(default_factory=list)
    disputed: list[UUID] = field(default_factory=list)
    origin_of: dict[UUID, UUID] = field(default_factory=dict)

    def origin(self, uuid: UUID) -> UUID:
        """Return the first record that a record, corrected or not, goes back to."""
        return self.origin_of.get(uuid, uuid)

    def findings_of(self, visit: Visit) -> list[Finding]:
        """Return what was found at a visit, whichever version of it was named."""
        return [
            row for row in self.findings if row.visit and row.visit.ref == visit.ref
        ]

    def cures_by(self, visit: Visit) -> list[Cure]:
        """Return what a visit cured, whichever version of it was named."""
        return [row for row in self.cures if row.visit.ref == visit.ref]


def roof_records(
    roof_ids: Iterable[int], *, known_at: datetime
) -> dict[int, RoofRecords]:
    """Return the records of these roofs that count as known at a moment."""
    roofs = Roof.objects.select_related("coach").filter(pk__in=list(roof_ids))
    found = {roof.pk: RoofRecords(roof=roof) for roof in roofs.order_by("pk")}
    if not found:
        return found
    _read_coach_facts(found, known_at)
    _read_installations(found, known_at)
    for name, table in _ROOF_TABLES.items():
        for roof_id, rows in _facts_of(table, found, known_at).items():
            setattr(found[roof_id], name, rows)
    _read_film(found, known_at)
    return found


_ROOF_TABLES: dict[str, type[RoofFact]] = {
    "climate": ClimateReading,
    "moisture": MoistureReading,
    "coat_logs": CoatLog,
    "penetrations": Penetration,
    "alterations": Alteration,
    "visits": Visit,
    "findings": Finding,
    "cures": Cure,
}


def _facts_of(
    table: type[AnyRoofFact], found: dict[int, RoofRecords], known_at: datetime
) -> dict[int, list[AnyRoofFact]]:
    rows = (
        table._default_manager.filter(roof_id__in=found, recorded_at__lte=known_at)
        .select_related(*_JOINED.get(table, ()), "entry")
        .defer("entry__payload")
        .order_by("roof_id", "happened_on", "pk")
    )
    return _standing_by_roof(sorted(rows, key=_by_day), found)


def _by_day(row: RoofFact) -> tuple[object, bool, object]:
    """Return the order of a record: within a day, phones by capture, then the rest.

    A phone's uuids grow with its clock; when they arrived says nothing.
    """
    from_office = not row.scope.startswith(DEVICE_SCOPE)
    day: object = row.happened_on  # type: ignore[attr-defined]  # each of these has one
    return day, from_office, row.pk if from_office else row.uuid


_JOINED: dict[type[RoofFact], tuple[str, ...]] = {
    Visit: ("technician", "note", "shop"),
    Finding: ("visit", "note"),
    Cure: ("visit", "finding__visit"),
    Alteration: ("note",),
    Installation: ("system",),
}


def _standing_by_roof(
    rows: Iterable[AnyRoofFact], found: dict[int, RoofRecords]
) -> dict[int, list[AnyRoofFact]]:
    by_roof: dict[int, list[AnyRoofFact]] = defaultdict(list)
    for row in rows:
        by_roof[row.roof_id].append(row)
    counted: dict[int, list[AnyRoofFact]] = {}
    for roof_id, known in by_roof.items():
        standing = rows_that_stand(known)
        counted[roof_id] = list(standing.rows)
        found[roof_id].disputed.extend(standing.disputed)
        found[roof_id].origin_of.update(standing.origin_of)
    return counted


def _read_film(found: dict[int, RoofRecords], known_at: datetime) -> None:
    rows = (
        FilmReading.objects.filter(roof_id__in=found, recorded_at__lte=known_at)
        .order_by("roof_id", "happened_on", "pk")
        .values_list(*FilmRow._fields)
    )
    by_roof: dict[int, list[FilmRow]] = defaultdict(list)
    for row in rows:
        by_roof[row[0]].append(FilmRow._make(row))
    for roof_id, known in by_roof.items():
        standing = rows_that_stand(known)
        found[roof_id].film = list(standing.rows)
        found[roof_id].disputed.extend(standing.disputed)


def _read_installations(found: dict[int, RoofRecords], known_at: datetime) -> None:
    by_roof = _facts_of_installation(found, known_at)
    systems = {rows[-1].system_id for rows in by_roof.values() if rows}
    coats: dict[int, list[SystemCoat]] = defaultdict(list)
    for coat in SystemCoat.objects.filter(system_id__in=systems).order_by("position"):
        coats[coat.system_id].append(coat)
    listed: dict[int, set[str]] = defaultdict(set)
    for row in SystemSubstrate.objects.filter(system_id__in=systems):
        listed[row.system_id].add(row.substrate)
    for roof_id, rows in by_roof.items():
        if not rows:
            continue
        records, newest = found[roof_id], rows[-1]
        records.installation = newest
        records.coats = tuple(coats[newest.system_id])
        records.listed_substrates = frozenset(listed[newest.system_id])


def _facts_of_installation(
    found: dict[int, RoofRecords], known_at: datetime
) -> dict[int, list[Installation]]:
    rows = (
        Installation.objects.filter(roof_id__in=found, recorded_at__lte=known_at)
        .select_related("system", "entry")
        .defer("entry__payload")
        .order_by("roof_id", "recorded_at", "pk")
    )
    return _standing_by_roof(by_precedence(rows), found)


def by_precedence(rows: Iterable[Installation]) -> list[Installation]:
    """Return installations so that the one that counts for its roof comes last.

    The office's newest word; among phones the one furthest on, since which of two
    phones found a signal first says nothing.
    """
    return sorted(rows, key=_precedence)


def _precedence(row: Installation) -> tuple[bool, tuple[object, ...]]:
    if not row.scope.startswith(DEVICE_SCOPE):
        return True, (row.recorded_at, row.pk)
    completed = row.completed_on or date.min
    return False, (row.started_on, completed, row.uuid)


def _read_coach_facts(found: dict[int, RoofRecords], known_at: datetime) -> None:
    kept_of = coach_ids_with_merged({r.roof.coach_id for r in found.values()})
    descriptions = _coach_rows(CoachDescription, kept_of, known_at, "recorded_at")
    ownerships = _coach_rows(Ownership, kept_of, known_at, "from_on", "owner")
    retirements = _coach_rows(Retirement, kept_of, known_at, "retired_on")
    for records in found.values():
        coach_id = records.roof.coach_id
        own = [row for row in descriptions[coach_id] if row.coach_id == coach_id]
        newest = (own or descriptions[coach_id])[-1:]
        records.description = newest[0] if newest else None
        records.ownerships = ownerships[coach_id]
        records.retirements = retirements[coach_id]


def coach_ids_with_merged(coach_ids: Iterable[int]) -> dict[int, int]:
    """Return for these coaches and their merged duplicates the coach they count as."""
    kept = {coach_id: coach_id for coach_id in coach_ids}
    merged = Coach.objects.filter(merged_into_id__in=list(kept))
    kept.update(merged.values_list("pk", "merged_into_id"))
    return kept


def _coach_rows(
    table: type[AnyCoachFact],
    kept_of: dict[int, int],
    known_at: datetime,
    order: str,
    *joined: str,
) -> dict[int, list[AnyCoachFact]]:
    rows = (
        table._default_manager.filter(coach_id__in=kept_of, recorded_at__lte=known_at)
        # Without a name it would follow every relation.
        .select_related("coach", *joined)
        .order_by(order, "pk")
    )
    by_coach: dict[int, list[AnyCoachFact]] = defaultdict(list)
    for row in rows:
        by_coach[kept_of[row.coach_id]].append(row)
    counted: dict[int, list[AnyCoachFact]] = defaultdict(list)
    for coach_id, known in by_coach.items():
        counted[coach_id] = list(rows_that_stand(known).rows)
    return counted
