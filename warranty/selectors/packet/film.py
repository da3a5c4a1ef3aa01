"""Film, lots and film maps for a packet."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

import numpy as np

from fleet.film.balance import mass_balance
from fleet.film.level import DEFAULT_LEVEL, RULE_NAME
from fleet.film.map import film_map
from fleet.film.statistics import summarise
from fleet.film.units import MIL_UM
from fleet.models import CoatLog, CoatRole
from fleet.selectors.film import CoatVerdictOf, coat_verdicts
from fleet.selectors.records import RoofRecords
from warranty.documents.facts import (
    AreaFacts,
    CoatLotFacts,
    FilmCoatFacts,
    FilmMapFacts,
    ReadingFacts,
    SpotFacts,
)

ML_PER_L = 1000
# Containers are never quite emptied: common practice, no source.
APPLICATION_LOSS_RATIO = 0.05


def film_facts(records: RoofRecords, *, as_of: date) -> tuple[FilmCoatFacts, ...]:
    """Return each limited coat's film with the limits it was judged by."""
    return tuple(_coat_facts(coat) for coat in coat_verdicts(records, as_of=as_of))


def reading_facts(records: RoofRecords, *, as_of: date) -> tuple[ReadingFacts, ...]:
    """Return every film reading that counts, as dry film."""
    return tuple(
        ReadingFacts(
            coat=coat.coat.get_role_display(),
            area=str(row.area_no),
            spot=str(spot),
            dry_mil=value,
            x_m=None if row.x_m is None else float(row.x_m),
            y_m=None if row.y_m is None else float(row.y_m),
        )
        for coat in coat_verdicts(records, as_of=as_of)
        for row, spot, value in zip(coat.rows, coat.spots, coat.dry_mil, strict=True)
    )


def film_map_facts(records: RoofRecords, *, as_of: date) -> tuple[FilmMapFacts, ...]:
    """Return a map of each coat whose readings say where they were taken."""
    if records.description is None:
        return ()
    length_m = float(records.description.length_m)
    width_m = float(records.description.width_m)
    maps = (
        _map_of(coat, length_m=length_m, width_m=width_m)
        for coat in coat_verdicts(records, as_of=as_of)
    )
    return tuple(each for each in maps if each is not None)


def _map_of(
    coat: CoatVerdictOf, *, length_m: float, width_m: float
) -> FilmMapFacts | None:
    # Three shots on one spot are one place.
    places: dict[tuple[float, float], list[float]] = defaultdict(list)
    for row, value in zip(coat.rows, coat.dry_mil, strict=True):
        if row.x_m is not None and row.y_m is not None:
            places[float(row.x_m), float(row.y_m)].append(value)
    if not places:
        return None
    drawn = film_map(
        np.array([x for x, _ in places]),
        np.array([y for _, y in places]),
        np.array([np.mean(values) for values in places.values()]) * MIL_UM,
        length_m=length_m,
        width_m=width_m,
    )
    error = drawn.left_out_rmse_um
    return FilmMapFacts(
        coat=coat.coat.get_role_display(),
        cell_m=drawn.cell_m,
        nx=drawn.x_m.size,
        ny=drawn.y_m.size,
        values_mil=tuple(float(v) for v in (drawn.dry_um / MIL_UM).ravel()),
        measured=tuple(bool(v) for v in drawn.is_measured.ravel()),
        loo_rmse_mil=None if error is None else error / MIL_UM,
        low_mil=coat.judged.dry_min_mil,
        high_mil=coat.judged.dry_max_mil,
    )


def _coat_facts(coat: CoatVerdictOf) -> FilmCoatFacts:
    judged = coat.judged
    means = np.array([spot.mean_mil for spot in judged.judged_spots])
    summary = summarise(means, minimum=judged.dry_min_mil) if means.size else None
    lowest = judged.lowest_spot
    estimated = any(row.dry_um is None for row in coat.rows)
    return FilmCoatFacts(
        coat=coat.coat.get_role_display(),
        rule=f"{RULE_NAME}, restriction level {DEFAULT_LEVEL}",
        method="notch gauge, last wetted tooth" if estimated else "dry film gauge",
        is_estimated=estimated,
        dry_min_mil=judged.dry_min_mil,
        dry_max_mil=judged.dry_max_mil,
        spot_min_mil=_limit(judged.limits.spot_low_mil),
        spot_max_mil=_limit(judged.limits.spot_high_mil),
        areas_needed=judged.areas_required,
        spots=tuple(
            SpotFacts(
                area=str(spot.area),
                spot=str(spot.spot),
                mean_mil=spot.mean_mil,
                reading_count=spot.readings,
                verdict=spot.verdict.value,
            )
            for spot in judged.spots
        ),
        areas=tuple(
            AreaFacts(
                area=str(area.area),
                mean_mil=area.mean_mil,
                spot_count=area.judged_spots,
                verdict=area.verdict.value,
            )
            for area in judged.areas
        ),
        verdict=judged.verdict.value,
        because=judged.because,
        lowest_spot_label=f"area {lowest.area}, spot {lowest.spot}" if lowest else "",
        lowest_spot_mil=lowest.mean_mil if lowest else None,
        mean_mil=summary.mean if summary else None,
        spread_mil=summary.sd if summary else None,
        tolerance_bound_mil=summary.lower_bound if summary else None,
    )


def _limit(value: float) -> float | None:
    return value if np.isfinite(value) and value > 0 else None


def lot_facts(records: RoofRecords, *, as_of: date) -> tuple[CoatLotFacts, ...]:
    """Return each coat's lots and volumes, and the film that the volume explains."""
    judged = {coat.coat.role: coat for coat in coat_verdicts(records, as_of=as_of)}
    logs = [log for log in records.coat_logs if log.happened_on <= as_of]
    return tuple(_lot_of(log, judged.get(log.coat), records) for log in logs)


def _lot_of(
    log: CoatLog, coat: CoatVerdictOf | None, records: RoofRecords
) -> CoatLotFacts:
    name = CoatRole(log.coat).label
    litres = None if log.volume_ml is None else float(log.volume_ml) / ML_PER_L
    if coat is None or litres is None or not coat.dry_mil or not records.description:
        return CoatLotFacts(coat=name, lot=log.lot, volume_l=litres)
    area_m2 = float(records.description.length_m * records.description.width_m)
    balance = mass_balance(
        volume_ml=litres * ML_PER_L,
        volume_solids=float(coat.coat.volume_solids_ratio),
        area_m2=area_m2,
        mean_dry_um=float(np.mean(coat.dry_mil)) * MIL_UM,
        loss_ratio=APPLICATION_LOSS_RATIO,
    )
    return CoatLotFacts(
        coat=name,
        lot=log.lot,
        volume_l=litres,
        film_from_volume_mil=balance.expected_dry_um / MIL_UM,
        film_from_gauge_mil=balance.mean_dry_um / MIL_UM,
        gap_ratio=abs(balance.gap_ratio),
        is_doubt=balance.is_doubt,
    )
