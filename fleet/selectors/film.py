"""The film's verdict over time, and its detail, from the readings that count."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from fleet.film.acceptance import CoatVerdict, SpotReading, judge_coat
from fleet.film.build import NotchPolicy, dry_film_from_wet, wet_at_policy
from fleet.film.bulk import judge_coats
from fleet.film.level import DEFAULT_LEVEL, areas_required_ft2, areas_required_m2
from fleet.film.spots import spots_apart
from fleet.film.units import M_PER_FT, MIL_UM
from fleet.film.verdict import VERDICT_OF_CODE, Verdict, worst
from fleet.models import CoachDescription, SystemCoat
from fleet.selectors.dated import DatedVerdict, changes
from fleet.selectors.records import FilmRow, RoofRecords

# Common practice records the last wetted tooth: the film is at least that.
NOTCH_POLICY = NotchPolicy.LOWER
SQUARE_FEET_PER_M2 = float(1 / (M_PER_FT * M_PER_FT))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Group:
    """One coat of one roof as known on one day."""

    roof_id: int
    on: date
    coat: SystemCoat
    rows: Sequence[FilmRow]
    spots: Sequence[int]
    dry_mil: NDArray[np.float64]
    areas_required: int


def limited_coats(records: RoofRecords) -> tuple[SystemCoat, ...]:
    """Return the coats that have dry limits: the others are not judged."""
    return tuple(
        coat
        for coat in records.coats
        if coat.dry_min_um is not None or coat.dry_max_um is not None
    )


def required_areas(description: CoachDescription) -> int:
    """Return how many areas the roof needs, from length x width without laps.

    In the units that the coach was measured in: the rule's feet and metres are not
    exact equivalents.
    """
    area = float(description.length * description.width)
    if description.length_unit == "ft":
        return int(areas_required_ft2(area))
    return int(areas_required_m2(area))


def dry_mil(
    rows: Sequence[FilmRow], coat: SystemCoat, *, thinner_ratio: float
) -> NDArray[np.float64]:
    """Return each reading's dry film: measured, or estimated from the wet. [mil]"""
    solids = float(coat.volume_solids_ratio)
    wet = np.array([_um(row.last_wet_um) for row in rows])
    first = np.array([_um(row.first_dry_um) for row in rows])
    dry = np.array([_um(row.dry_um) for row in rows])
    is_wet = np.isnan(dry)
    if is_wet.any():
        # A refused reading never got here: the database holds wet below first dry.
        chosen = wet_at_policy(wet[is_wet], first[is_wet], policy=NOTCH_POLICY)
        dry[is_wet] = dry_film_from_wet(
            chosen, volume_solids=solids, thinner_ratio=thinner_ratio
        )
    return dry / MIL_UM


def film_steps(
    records: dict[int, RoofRecords],
) -> dict[int, tuple[DatedVerdict, ...]]:
    """Return each roof's film verdict from each day on which readings were taken."""
    groups = [group for r in records.values() for group in _groups(r)]
    if not groups:
        return dict.fromkeys(records, ())
    verdicts = _judged(groups)
    by_day: dict[tuple[int, date], list[tuple[SystemCoat, Verdict]]] = {}
    for group, verdict in zip(groups, verdicts, strict=True):
        by_day.setdefault((group.roof_id, group.on), []).append((group.coat, verdict))
    steps: dict[int, list[DatedVerdict]] = {roof_id: [] for roof_id in records}
    for (roof_id, on), coats in sorted(by_day.items(), key=lambda item: item[0]):
        steps[roof_id].append(_day_verdict(on, coats))
    return {roof_id: changes(days) for roof_id, days in steps.items()}


def coat_verdicts(records: RoofRecords, *, as_of: date) -> tuple[CoatVerdictOf, ...]:
    """Return the detail of each limited coat: spots, areas and the limits used."""
    if records.description is None:
        return ()
    needed = required_areas(records.description)
    return tuple(
        _coat_verdict(records, coat, needed, as_of) for coat in limited_coats(records)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatVerdictOf:
    """One coat, its readings and the verdict on them."""

    coat: SystemCoat
    rows: tuple[FilmRow, ...]
    spots: tuple[int, ...]
    dry_mil: tuple[float, ...]
    judged: CoatVerdict


def _coat_verdict(
    records: RoofRecords, coat: SystemCoat, needed: int, as_of: date
) -> CoatVerdictOf:
    rows = [r for r in records.film if r.coat == coat.role and r.happened_on <= as_of]
    values = dry_mil(rows, coat, thinner_ratio=thinner_of(records, coat.role))
    spots = _spots(rows, records)
    judged = judge_coat(
        [
            SpotReading(area=row.area_no, spot=spot, dry_mil=float(value))
            for row, spot, value in zip(rows, spots, values, strict=True)
        ],
        dry_min_mil=mil(coat.dry_min_um),
        dry_max_mil=mil(coat.dry_max_um),
        areas_required=needed,
        level=DEFAULT_LEVEL,
    )
    return CoatVerdictOf(
        coat=coat,
        rows=tuple(rows),
        spots=tuple(spots),
        dry_mil=tuple(float(value) for value in values),
        judged=judged,
    )


def _spots(rows: Sequence[FilmRow], records: RoofRecords) -> list[int]:
    """Return the spots: what was read after completion is apart, day by day."""
    laid = records.installation
    until = laid.completed_on if laid else None
    return spots_apart(
        [row.area_no for row in rows],
        [row.spot_no for row in rows],
        [
            row.happened_on if until is not None and row.happened_on > until else None
            for row in rows
        ],
    )


def thinner_of(records: RoofRecords, role: str) -> float:
    """Return the most thinner logged for a coat, per volume of unthinned product."""
    logged = [log.thinner_ratio for log in records.coat_logs if log.coat == role]
    return float(max(logged, default=Decimal(0)))


def mil(um: Decimal | None) -> float | None:
    """Return micrometres in mils."""
    return None if um is None else float(um) / MIL_UM


def _groups(records: RoofRecords) -> list[_Group]:
    if records.description is None or records.installation is None:
        return []
    needed = required_areas(records.description)
    days = sorted({row.happened_on for row in records.film})
    groups = []
    for coat in limited_coats(records):
        rows = [row for row in records.film if row.coat == coat.role]
        values = dry_mil(rows, coat, thinner_ratio=thinner_of(records, coat.role))
        spots = _spots(rows, records)
        for on in days:
            # Rows are in the order of their day: a prefix is all up to that day.
            upto = sum(row.happened_on <= on for row in rows)
            groups.append(
                _Group(
                    roof_id=records.roof.pk,
                    on=on,
                    coat=coat,
                    rows=rows[:upto],
                    spots=spots[:upto],
                    dry_mil=values[:upto],
                    areas_required=needed,
                )
            )
    return groups


def _judged(groups: Sequence[_Group]) -> list[Verdict]:
    sizes = [len(group.rows) for group in groups]
    codes = judge_coats(
        np.repeat(np.arange(len(groups)), sizes),
        np.array([row.area_no for g in groups for row in g.rows], dtype=np.int64),
        np.array([spot for g in groups for spot in g.spots], dtype=np.int64),
        np.concatenate([group.dry_mil for group in groups]),
        dry_min_mil=np.array([_mil_or_nan(g.coat.dry_min_um) for g in groups]),
        dry_max_mil=np.array([_mil_or_nan(g.coat.dry_max_um) for g in groups]),
        areas_required=np.array([g.areas_required for g in groups], dtype=np.int64),
    )
    return [VERDICT_OF_CODE[code] for code in codes]


def _day_verdict(on: date, coats: list[tuple[SystemCoat, Verdict]]) -> DatedVerdict:
    verdict = worst(tuple(each for _, each in coats))
    named = {
        word: " and ".join(c.get_role_display() for c, v in coats if v is word)
        for word in Verdict
    }
    if verdict is Verdict.MET:
        return DatedVerdict(
            from_on=on,
            verdict=verdict,
            because=f"The {named[Verdict.MET]} film was accepted by spot and area.",
        )
    if verdict is Verdict.NOT_MET:
        return DatedVerdict(
            from_on=on,
            verdict=verdict,
            because=(
                f"The {named[Verdict.NOT_MET]} film has a spot or an area outside "
                "its limits."
            ),
            cure="Recoat or repair the places outside the limits and read them again.",
        )
    return DatedVerdict(
        from_on=on,
        verdict=verdict,
        because=f"The {named[Verdict.UNKNOWN]} film was read on too few areas.",
        cure="Read five spots of three readings on each area still missing.",
    )


def _um(value: Decimal | None) -> float:
    return np.nan if value is None else float(value)


def _mil_or_nan(um: Decimal | None) -> float:
    return np.nan if um is None else float(um) / MIL_UM
