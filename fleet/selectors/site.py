"""What weather, penetrations, substrate, deck and alterations say over time."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from fleet.film.verdict import MET_CODE, NOT_MET_CODE, Verdict, VerdictCodes
from fleet.models import ClimateReading, Penetration, SystemCoat
from fleet.models.system import WeatherLimits
from fleet.selectors.dated import DatedVerdict, changes
from fleet.selectors.records import RoofRecords
from fleet.site.climate import ClimateLimits, climate_codes
from fleet.site.moisture import deck_dry_codes


def climate_reading_codes(
    readings: Sequence[ClimateReading],
    coats: Iterable[SystemCoat],
    system: WeatherLimits,
) -> VerdictCodes:
    """Return for each reading whether it is within its coat's limits; 0 incomplete."""
    by_role: dict[str, WeatherLimits] = {coat.role: coat for coat in coats}
    limits = [(by_role.get(reading.coat), system) for reading in readings]
    return climate_codes(
        air_c=_column(reading.air_c for reading in readings),
        surface_c=_column(reading.surface_c for reading in readings),
        rh_pct=_column(reading.rh_ratio for reading in readings) * 100,
        limits=ClimateLimits(
            air_min_c=_limit(limits, "air_min_c"),
            air_max_c=_limit(limits, "air_max_c"),
            rh_max_pct=_limit(limits, "rh_max_ratio") * 100,
            dew_margin_c=_limit(limits, "dew_margin_c"),
        ),
    )


def climate_steps(records: RoofRecords) -> tuple[DatedVerdict, ...]:
    """Return the climate verdict from each day of readings.

    A complete reading outside the limits, on any day, is not met; else a day from
    start to completion without a complete reading is unknown.
    """
    work, readings = records.installation, records.climate
    if work is None or work.completed_on is None or not readings:
        return ()
    codes = climate_reading_codes(readings, records.coats, work.system)
    days = _days_between(work.started_on, work.completed_on)
    complete: set[date] = set()
    bad_on: date | None = None
    steps: list[DatedVerdict] = []
    for reading, code in zip(readings, codes, strict=True):
        if code == NOT_MET_CODE and bad_on is None:
            bad_on = reading.happened_on
        if code in (MET_CODE, NOT_MET_CODE):
            complete.add(reading.happened_on)
        missing = [day for day in days if day not in complete]
        steps.append(_climate_verdict(reading.happened_on, bad_on, missing))
    return changes(steps)


def _climate_verdict(
    on: date, bad_on: date | None, missing: list[date]
) -> DatedVerdict:
    if bad_on is not None:
        return DatedVerdict(
            from_on=on,
            verdict=Verdict.NOT_MET,
            because=f"A climate reading on {bad_on} lies outside the limits.",
            cure="The office may waive this clause and say why.",
        )
    if missing:
        return DatedVerdict(
            from_on=on,
            verdict=Verdict.UNKNOWN,
            because=f"No complete climate reading is on record for {missing[0]}.",
            cure=f"Enter the complete reading of {missing[0]}, if one was taken.",
        )
    return DatedVerdict(
        from_on=on,
        verdict=Verdict.MET,
        because="Every day of the work has a complete reading within the limits.",
    )


def penetration_steps(records: RoofRecords) -> tuple[DatedVerdict, ...]:
    """Return the verdict on penetrations: at least one recorded, and all detailed."""
    newest: dict[str, Penetration] = {}
    steps = []
    for row in records.penetrations:
        newest[row.label] = row
        bare = sorted(p.label for p in newest.values() if not p.is_detailed)
        steps.append(_penetration_verdict(row.happened_on, len(newest), bare))
    return changes(steps)


def _penetration_verdict(on: date, count: int, bare: list[str]) -> DatedVerdict:
    if bare:
        return DatedVerdict(
            from_on=on,
            verdict=Verdict.NOT_MET,
            because=f"Not detailed: {', '.join(bare)}.",
            cure="Detail them with the system's flashing and record it.",
        )
    counted = (
        "The one penetration is" if count == 1 else f"All {count} penetrations are"
    )
    return DatedVerdict(from_on=on, verdict=Verdict.MET, because=f"{counted} detailed.")


def substrate_steps(records: RoofRecords) -> tuple[DatedVerdict, ...]:
    """Return whether the system may be laid on the substrate it was laid on."""
    work = records.installation
    if work is None or work.completed_on is None:
        return ()
    name = work.get_substrate_display()
    if work.substrate in records.listed_substrates:
        return (
            DatedVerdict(
                from_on=work.completed_on,
                verdict=Verdict.MET,
                because=f"{work.system.code} lists {name}.",
            ),
        )
    return (
        DatedVerdict(
            from_on=work.completed_on,
            verdict=Verdict.NOT_MET,
            because=f"{work.system.code} does not list {name}.",
            cure="The office may waive this clause and say why.",
        ),
    )


def deck_steps(records: RoofRecords) -> tuple[DatedVerdict, ...]:
    """Return whether the last survey of the deck found it dry everywhere."""
    steps = []
    for on in sorted({row.happened_on for row in records.moisture}):
        rows = [row for row in records.moisture if row.happened_on == on]
        # Above its range an instrument only says wet.
        moisture_pct = _column(
            Decimal(1) if row.is_above_range else row.moisture_ratio for row in rows
        )
        damp = int((deck_dry_codes(moisture_pct * 100) == NOT_MET_CODE).sum())
        steps.append(_deck_verdict(on, damp, len(rows)))
    return changes(steps)


def _deck_verdict(on: date, damp: int, count: int) -> DatedVerdict:
    if damp:
        return DatedVerdict(
            from_on=on,
            verdict=Verdict.NOT_MET,
            because=f"{damp} of {count} deck readings on {on} are not dry.",
            cure="Dry the deck and read it again.",
        )
    return DatedVerdict(
        from_on=on,
        verdict=Verdict.MET,
        because=f"All {count} deck readings on {on} are dry.",
    )


def alteration_steps(records: RoofRecords) -> tuple[DatedVerdict, ...]:
    """Return whether anything was fitted after completion without approval."""
    work = records.installation
    if work is None or work.completed_on is None:
        return ()
    days = {work.completed_on}
    fitted = [row for row in records.alterations if row.happened_on > work.completed_on]
    for row in fitted:
        days.add(row.happened_on)
        if row.approved_on and row.approved_on > row.happened_on:
            days.add(row.approved_on)
    steps = []
    for on in sorted(days):
        open_rows = [
            row
            for row in fitted
            if row.happened_on <= on
            and (row.approved_on is None or row.approved_on > on)
        ]
        steps.append(
            DatedVerdict(
                from_on=on,
                verdict=Verdict.NOT_MET if open_rows else Verdict.MET,
                because=(
                    f"Fitted on {open_rows[0].happened_on} without approval."
                    if open_rows
                    else "Nothing was fitted without approval."
                ),
                cure="Have the office look at it and approve it." if open_rows else "",
            )
        )
    return changes(steps)


def _days_between(first: date, last: date) -> list[date]:
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def _column(values: Iterable[Decimal | None]) -> NDArray[np.float64]:
    return np.array([np.nan if v is None else float(v) for v in values], np.float64)


def _limit(
    pairs: Sequence[tuple[WeatherLimits | None, WeatherLimits]], name: str
) -> NDArray[np.float64]:
    """Return each reading's limit: the coat's own, else the system's, else none."""
    own = [getattr(coat, name) if coat else None for coat, _ in pairs]
    general = [getattr(system, name) for _, system in pairs]
    return _column(g if o is None else o for o, g in zip(own, general, strict=True))
