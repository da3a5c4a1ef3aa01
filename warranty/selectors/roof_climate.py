"""Each set of climate readings with its dew point, its margin and its verdict."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from decimal import Decimal

from fleet.film.verdict import VERDICT_OF_CODE, Verdict
from fleet.models import ClimateReading
from fleet.selectors.records import RoofRecords
from fleet.selectors.site import climate_reading_codes
from fleet.site.climate import dew_point_c


@dataclass(frozen=True, slots=True, kw_only=True)
class ClimateRow:
    """One set of readings; dew point and margin are None where one is missing."""

    taken_at: datetime  # in the reading's own offset
    air_c: float | None
    surface_c: float | None
    rh_ratio: float | None
    dew_point_c: float | None
    margin_c: float | None
    verdict: Verdict


def climate_rows(records: RoofRecords) -> tuple[ClimateRow, ...]:
    """Return the readings in the order they were taken."""
    work = records.installation
    if work is None or not records.climate:
        return ()
    rows = sorted(records.climate, key=lambda row: row.taken_at)
    codes = climate_reading_codes(rows, records.coats, work.system)
    return tuple(
        _row(row, VERDICT_OF_CODE[code]) for row, code in zip(rows, codes, strict=True)
    )


def _row(reading: ClimateReading, verdict: Verdict) -> ClimateRow:
    air, surface = _float(reading.air_c), _float(reading.surface_c)
    rh = _float(reading.rh_ratio)
    dew = None if air is None or rh is None else dew_point_c(air, rh * 100)
    offset = timezone(timedelta(minutes=reading.offset_minutes))
    return ClimateRow(
        taken_at=reading.taken_at.astimezone(offset),
        air_c=air,
        surface_c=surface,
        rh_ratio=rh,
        dew_point_c=dew,
        margin_c=None if dew is None or surface is None else surface - dew,
        verdict=verdict,
    )


def _float(value: Decimal | None) -> float | None:
    return None if value is None else float(value)
