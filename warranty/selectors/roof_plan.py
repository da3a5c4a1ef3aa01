"""What the plan of one roof shows, in metres."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from fleet.models import Finding, Penetration
from fleet.selectors.records import RoofRecords
from warranty.documents.facts import FilmMapFacts, ReadingFacts


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPenetration:
    """One penetration with its number on the plan; (x, y) is its middle."""

    number: int
    label: str
    kind: str
    kind_label: str
    x_m: float
    y_m: float
    length_m: float
    width_m: float
    is_detailed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanFinding:
    """One finding with its letter; without a place it is listed, not drawn."""

    letter: str
    severity: str
    severity_label: str
    words: str
    place_label: str
    found_on: date
    cured_on: date | None
    cured_by: str
    x_m: float | None
    y_m: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """One roof's outline and what lies on it. ``coat`` names the film that is shown."""

    length_m: float
    width_m: float
    penetrations: tuple[PlanPenetration, ...]
    findings: tuple[PlanFinding, ...]
    coat: str
    film: FilmMapFacts | None
    readings: tuple[ReadingFacts, ...]


def plan_of(
    records: RoofRecords,
    *,
    film_maps: tuple[FilmMapFacts, ...],
    readings: tuple[ReadingFacts, ...],
    coat: str = "",
) -> Plan | None:
    """Return the plan with one coat's film, the last coat's unless one is named.

    ``coat`` may also be "none". None where the coach's size is not recorded.
    """
    said = records.description
    if said is None:
        return None
    maps = {each.coat: each for each in film_maps}
    chosen = coat if coat == "none" or coat in maps else next(reversed(maps), "")
    penetrations = _penetrations(records)
    return Plan(
        length_m=float(said.length_m),
        width_m=float(said.width_m),
        penetrations=penetrations,
        findings=_findings(records, penetrations),
        coat=chosen,
        film=maps.get(chosen),
        readings=tuple(
            each for each in readings if each.coat == chosen and each.x_m is not None
        ),
    )


def _penetrations(records: RoofRecords) -> tuple[PlanPenetration, ...]:
    newest: dict[str, Penetration] = {row.label: row for row in records.penetrations}
    from_the_front = sorted(newest.values(), key=lambda row: (row.x_m, row.y_m))
    return tuple(
        PlanPenetration(
            number=number,
            label=row.label,
            kind=row.kind,
            kind_label=row.get_kind_display(),
            x_m=float(row.x_m),
            y_m=float(row.y_m),
            length_m=float(row.length_m),
            width_m=float(row.width_m),
            is_detailed=row.is_detailed,
        )
        for number, row in enumerate(from_the_front, start=1)
    )


def _findings(
    records: RoofRecords, penetrations: tuple[PlanPenetration, ...]
) -> tuple[PlanFinding, ...]:
    places = {each.label: (each.x_m, each.y_m) for each in penetrations}
    cures = {cure.finding_id: cure for cure in reversed(records.cures)}
    found = []
    for count, row in enumerate(records.findings):
        x_m, y_m = _place(row, places)
        cure = cures.get(row.pk)
        found.append(
            PlanFinding(
                letter=_letter(count),
                severity=row.severity,
                severity_label=row.get_severity_display(),
                words=str(row.note) if row.note else "",
                place_label=row.penetration_label,
                found_on=row.happened_on,
                cured_on=cure.happened_on if cure else None,
                cured_by=cure.visit.ref if cure else "",
                x_m=x_m,
                y_m=y_m,
            )
        )
    return tuple(found)


def _place(
    row: Finding, places: dict[str, tuple[float, float]]
) -> tuple[float | None, float | None]:
    if row.x_m is not None and row.y_m is not None:
        return float(row.x_m), float(row.y_m)
    return places.get(row.penetration_label, (None, None))


def _letter(count: int) -> str:
    """Return A to Z, then AA, AB and on, as on a drawing."""
    rounds, rest = divmod(count, 26)
    return (_letter(rounds - 1) if rounds else "") + chr(ord("A") + rest)
