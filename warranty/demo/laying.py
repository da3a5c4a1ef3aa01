"""What is read and logged while a roof is laid: film, weather, pails, details."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Final
from zoneinfo import ZoneInfo

from fleet.actions.readings import (
    adhesion_reading,
    climate_reading,
    coat_log,
    moisture_reading,
    notch_reading,
    penetration,
)
from fleet.film.units import FT_M, GAL_ML, MIL_UM
from fleet.models import (
    AdhesionReading,
    ClimateReading,
    CoatLog,
    FilmReading,
    MoistureReading,
    Penetration,
)
from warranty.demo.fates import OTHERWISE_SOUND, Fate
from warranty.demo.plan import CoachPlan, RoofPlan
from warranty.demo.products import SYSTEMS
from warranty.demo.words import HASTY_CREW

SPOTS: Final = 5
SHOTS: Final = 3
TEETH_APART_MIL: Final = 2
# A roller leaves about this spread, spot to spot and shot to shot. [mil]
AREA_SPREAD, SPOT_SPREAD, SHOT_SPREAD = 0.4, 1.0, 0.9
THIN_BY_MIL: Final = 4.4  # the lot that ran thin, wet
# Mean air at the coach by month of the season, low and high. [°F]
AIR_F: Final = {
    4: (54, 64),
    5: (57, 73),
    6: (65, 82),
    7: (69, 88),
    8: (68, 87),
    9: (59, 79),
    10: (53, 67),
}
COLD_F: Final = "46.5"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spot:
    area_no: int
    spot_no: int
    x_m: float
    y_m: float


def film(plan: CoachPlan, roof: RoofPlan) -> list[FilmReading]:
    """Return the notch gauge readings of every coat that is judged."""
    chance = plan.chance
    is_sound = plan.fate in OTHERWISE_SOUND
    hasty = roof.crew == HASTY_CREW and chance.happens(0.5) and not is_sound
    readings: list[FilmReading] = []
    for coat, on in zip(
        ("base", "finish"), (roof.started_on, roof.completed_on), strict=True
    ):
        mean = _wet_mean(plan, roof, coat)
        slope = chance.around(0, 0.8)
        for spot in _spots(plan, hasty=hasty):
            along = spot.x_m / _length_m(plan) - 0.5
            here = chance.around(mean + slope * along, SPOT_SPREAD)
            readings.extend(_shots(plan, roof, coat, spot, here, on))
    return readings


def _wet_mean(plan: CoachPlan, roof: RoofPlan, coat: str) -> float:
    [spec] = [c for c in SYSTEMS[roof.system.code].coats if c.role == coat]
    thin = THIN_BY_MIL if roof.is_thin and coat == "base" else 0.0
    return spec.wet_mil - 0.2 - thin + plan.chance.around(0, 0.4)


def _spots(plan: CoachPlan, *, hasty: bool) -> Iterator[_Spot]:
    """Yield where the gauge was put: five spots an area, areas one behind another."""
    chance, areas = plan.chance, plan.areas
    length_m, width_m = _length_m(plan), _width_m(plan)
    for area in range(areas):
        cut_short = hasty and area == areas - 1
        for spot in range(3 if cut_short else SPOTS):
            share = (area + (spot + chance.between(0.2, 0.8)) / SPOTS) / areas
            yield _Spot(
                area_no=area + 1,
                spot_no=spot + 1,
                x_m=share * length_m,
                y_m=width_m * chance.between(0.1, 0.9),
            )


def _shots(
    plan: CoachPlan, roof: RoofPlan, coat: str, spot: _Spot, here: float, on: date
) -> Iterator[FilmReading]:
    chance = plan.chance
    for shot in range(1, SHOTS + 1):
        last_wet = max(1, round(chance.around(here, SHOT_SPREAD)))
        x_m = min(max(spot.x_m + chance.between(-0.05, 0.05), 0.0), _length_m(plan))
        y_m = min(max(spot.y_m + chance.between(-0.05, 0.05), 0.0), _width_m(plan))
        yield notch_reading(
            coat=coat,
            area_no=spot.area_no,
            spot_no=spot.spot_no,
            shot_no=shot,
            last_wet=Decimal(last_wet),
            first_dry=Decimal(last_wet + TEETH_APART_MIL),
            unit="mil",
            happened_on=on,
            x_m=_place(x_m) if roof.is_placed else None,
            y_m=_place(y_m) if roof.is_placed else None,
            uuid=chance.uuid(),
        )


def coat_logs(
    plan: CoachPlan, roof: RoofPlan, read: list[FilmReading]
) -> list[CoatLog]:
    """Return lot and gallons of each coat; the pails mostly agree with the gauge."""
    chance = plan.chance
    area_m2 = (_length_m(plan) + 0.13) * _width_m(plan)
    off = chance.pick((0.72, 1.24)) if chance.happens(0.03) else 1.0
    logs = []
    for spec in SYSTEMS[roof.system.code].coats:
        mils = [float(r.last_wet or 0) for r in read if r.coat == spec.role]
        # The film lies between the teeth, so a little above the last wetted one.
        wet_mil = sum(mils) / len(mils) + 0.6 if mils else float(spec.wet_mil)
        loss = chance.between(0.03, 0.09)
        volume_ml = area_m2 * wet_mil * MIL_UM / (1 - loss) * off
        logs.append(
            coat_log(
                coat=spec.role,
                lot=roof.lots[spec.role],
                happened_on=(
                    roof.completed_on if spec.role == "finish" else roof.started_on
                ),
                volume=round(Decimal(volume_ml / GAL_ML), 2),
                uuid=chance.uuid(),
            )
        )
    return logs


def climate(plan: CoachPlan, roof: RoofPlan) -> list[ClimateReading]:
    """Return a set of readings for each day of the work, some days two."""
    chance = plan.chance
    days = [
        roof.started_on + timedelta(days=n)
        for n in range((roof.completed_on - roof.started_on).days + 1)
    ]
    odd_day = chance.pick(days)
    readings = []
    for day in days:
        is_odd = day == odd_day
        readings.append(_weather(plan, day, chance.whole(8, 10), is_odd=is_odd))
        if chance.happens(0.4) and not (is_odd and plan.fate is Fate.CLIMATE_BLANK):
            readings.append(_weather(plan, day, chance.whole(13, 16), is_odd=False))
    return readings


def _weather(plan: CoachPlan, day: date, hour: int, *, is_odd: bool) -> ClimateReading:
    chance = plan.chance
    low, high = AIR_F[day.month]
    air = Decimal(str(round(chance.between(low, high), 1)))
    if is_odd and plan.fate in {Fate.COLD_DAY, Fate.COLD_BUT_WAIVED}:
        air = Decimal(COLD_F)
    surface: Decimal | None = air + Decimal(str(round(chance.between(0, 14), 1)))
    humidity: Decimal | None = Decimal(chance.whole(37, 74))
    if is_odd and plan.fate is Fate.CLIMATE_BLANK:
        surface, humidity = chance.pick(((None, humidity), (surface, None)))
    clock = time(hour, chance.whole(0, 59))
    return climate_reading(
        taken_at=datetime.combine(day, clock, ZoneInfo(plan.town[2])),
        air=air,
        surface=surface,
        rh_pct=humidity,
        temperature_unit="F",
        uuid=chance.uuid(),
    )


def penetrations(plan: CoachPlan, on: date) -> list[Penetration]:
    """Return what goes through the roof, front to back."""
    chance = plan.chance
    rows = [("cap seam", 0.1, 0.5, 2, 90), ("cap seam", -0.1, 0.5, 2, 90)]
    kinds = ["air conditioner", "refrigerator vent", "sewer vent", "vent", "vent"]
    kinds += chance.some(
        ["skylight", "antenna", "vent", "sewer vent", "solar foot", "ladder foot"],
        chance.whole(1, 5),
    )
    chance.shuffle(kinds)
    for place, kind in enumerate(kinds):
        share = (place + chance.between(0.25, 0.75)) / len(kinds)
        size_in = SIZES_IN[kind]
        rows.append((kind, share, chance.between(0.25, 0.75), *size_in))
    bare = chance.whole(2, len(rows) - 1) if plan.fate is Fate.LEFT_BARE else -1
    length_ft, width_ft = float(plan.length_ft), float(plan.width_ft)
    return [
        penetration(
            label=f"{kind} {number + 1}",
            kind=kind.upper().replace(" ", "_"),
            x=_tenth(length_ft + x if x < 0 else x if number < 2 else x * length_ft),
            y=_tenth(width_ft * y),
            place_unit="ft",
            length=Decimal(long),
            width=Decimal(wide),
            size_unit="in",
            is_detailed=number != bare,
            happened_on=on,
            uuid=chance.uuid(),
        )
        for number, (kind, x, y, long, wide) in enumerate(rows)
    ]


# Along and across the coach. [in]
SIZES_IN: Final = {
    "air conditioner": (29, 15),
    "refrigerator vent": (22, 9),
    "sewer vent": (5, 5),
    "vent": (15, 15),
    "skylight": (30, 18),
    "antenna": (8, 8),
    "solar foot": (3, 2),
    "ladder foot": (4, 3),
}


def survey_readings(
    plan: CoachPlan, roof: RoofPlan, on: date
) -> list[MoistureReading | AdhesionReading]:
    """Return deck moisture and one tape test, as newer surveys have them."""
    if not roof.is_placed:
        return []
    chance = plan.chance
    readings: list[MoistureReading | AdhesionReading] = [
        moisture_reading(
            moisture_pct=Decimal(chance.whole(7, 15)),
            mode="SURFACE",
            happened_on=on,
            x_m=_place(_length_m(plan) * (n + 0.5) / 5),
            y_m=_place(_width_m(plan) * chance.between(0.1, 0.9)),
            uuid=chance.uuid(),
        )
        for n in range(5)
    ]
    readings.append(
        adhesion_reading(
            method="TAPE_X",
            grade=chance.pick((4, 4, 5)),
            happened_on=on,
            x_m=_place(_length_m(plan) * 0.4),
            y_m=_place(_width_m(plan) * 0.3),
            uuid=chance.uuid(),
        )
    )
    return readings


def _length_m(plan: CoachPlan) -> float:
    return float(plan.length_ft) * FT_M


def _width_m(plan: CoachPlan) -> float:
    return float(plan.width_ft) * FT_M


def _place(metres: float) -> Decimal:
    return Decimal(f"{metres:.3f}")


def _tenth(feet: float) -> Decimal:
    return Decimal(f"{feet:.1f}")
