"""Make facts from what was read: raw value and unit beside the SI value."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from decimal import Decimal
from uuid import UUID, uuid4

from fleet.actions.errors import InvalidValue
from fleet.film.errors import FilmInputError
from fleet.film.units import (
    c_from_f,
    film_unit_of,
    m_from_ft,
    m_from_in,
    ml_from_gal,
    um_from_film,
)
from fleet.models import (
    AdhesionReading,
    ClimateReading,
    CoatLog,
    FilmMethod,
    FilmReading,
    MoistureReading,
    Penetration,
)

# A notch gauge ends here (ASTM D4414-95(2020), procedure B); a dry film is thinner.
FILM_MAX_UM = Decimal(2500)
LENGTHS: dict[str, Callable[[Decimal], Decimal]] = {
    "ft": m_from_ft,
    "in": m_from_in,
    "m": lambda value: value,
}
VOLUMES: dict[str, Callable[[Decimal], Decimal]] = {
    "gal": ml_from_gal,
    "l": lambda value: value * 1000,
    "ml": lambda value: value,
}


def notch_reading(
    *,
    coat: str,
    area_no: int,
    spot_no: int,
    shot_no: int,
    last_wet: Decimal,
    first_dry: Decimal,
    unit: str,
    happened_on: date,
    x_m: Decimal | None = None,
    y_m: Decimal | None = None,
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> FilmReading:
    """Return a notch gauge reading: last wetted tooth and first dry tooth.

    Raises:
        InvalidValue: unknown unit, negative film, or teeth in the wrong order.
    """
    last_um = film_um("last_wet", last_wet, unit)
    first_um = film_um("first_dry", first_dry, unit)
    if first_um <= last_um:
        raise InvalidValue(
            "first_dry",
            f"The first dry tooth ({first_dry}) must be above the last wetted one "
            f"({last_wet}). Read the gauge again or swap the two.",
        )
    return FilmReading(
        uuid=uuid or uuid4(),
        supersedes=supersedes,
        coat=coat,
        area_no=area_no,
        spot_no=spot_no,
        shot_no=shot_no,
        method=FilmMethod.NOTCH,
        last_wet=last_wet,
        first_dry=first_dry,
        unit=film_unit("unit", unit),
        last_wet_um=last_um,
        first_dry_um=first_um,
        happened_on=happened_on,
        x_m=x_m,
        y_m=y_m,
    )


def dry_reading(
    *,
    coat: str,
    area_no: int,
    spot_no: int,
    shot_no: int,
    method: str,
    value: Decimal,
    unit: str,
    happened_on: date,
    x_m: Decimal | None = None,
    y_m: Decimal | None = None,
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> FilmReading:
    """Return a dry gauge reading.

    Raises:
        InvalidValue: unknown unit, a negative film, or a wet method.
    """
    if method == FilmMethod.NOTCH:
        raise InvalidValue(
            "method", "A notch gauge reads wet film. Send last_wet and first_dry."
        )
    return FilmReading(
        uuid=uuid or uuid4(),
        supersedes=supersedes,
        coat=coat,
        area_no=area_no,
        spot_no=spot_no,
        shot_no=shot_no,
        method=method,
        dry_value=value,
        unit=film_unit("unit", unit),
        dry_um=film_um("value", value, unit),
        happened_on=happened_on,
        x_m=x_m,
        y_m=y_m,
    )


def film_unit(field: str, text: str) -> str:
    """Return the film unit that a spelling means."""
    try:
        return film_unit_of(text).value
    except FilmInputError as error:
        raise InvalidValue(field, str(error)) from None


def film_um(field: str, value: Decimal, unit: str) -> Decimal:
    """Return a film reading in micrometres, refused below zero or above any gauge."""
    if not value.is_finite() or value < 0:
        raise InvalidValue(field, f"A film cannot be {value}. Read the gauge again.")
    try:
        um = um_from_film(value, film_unit_of(unit))
    except FilmInputError as error:
        raise InvalidValue("unit", str(error)) from None
    if um > FILM_MAX_UM:
        raise InvalidValue(
            field, f"{value} {unit} is beyond any notch gauge. Check the unit."
        )
    return um


def climate_reading(
    *,
    taken_at: datetime,
    air: Decimal | None,
    surface: Decimal | None,
    rh_pct: Decimal | None,
    temperature_unit: str,
    coat: str = "",
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> ClimateReading:
    """Return one set of climate readings; a missing value makes it incomplete.

    Raises:
        InvalidValue: a time without offset, or a value that no weather has.
    """
    offset = taken_at.utcoffset()
    if offset is None:
        raise InvalidValue(
            "taken_at", "The time needs its offset, as in 2026-05-04T09:30:00-04:00."
        )
    air_c = _celsius("air", air, temperature_unit, low=-45, high=60)
    surface_c = _celsius("surface", surface, temperature_unit, low=-60, high=120)
    if rh_pct is not None and not 0 < rh_pct <= 100:
        raise InvalidValue(
            "rh_pct", f"Humidity must be above 0 and at most 100 %, got {rh_pct}."
        )
    return ClimateReading(
        uuid=uuid or uuid4(),
        supersedes=supersedes,
        taken_at=taken_at,
        offset_minutes=offset // timedelta(minutes=1),
        happened_on=taken_at.date(),
        air=air,
        surface=surface,
        temperature_unit=temperature_unit,
        air_c=air_c,
        surface_c=surface_c,
        rh_ratio=None if rh_pct is None else rh_pct / 100,
        coat=coat,
    )


def _celsius(
    field: str, value: Decimal | None, unit: str, *, low: int, high: int
) -> Decimal | None:
    if value is None:
        return None
    if unit not in {"F", "C"}:
        raise InvalidValue(
            "temperature_unit", f"Temperatures are read in F or C, not {unit!r}."
        )
    if not value.is_finite():
        raise InvalidValue(field, f"{value} is no temperature.")
    celsius = c_from_f(value) if unit == "F" else value
    if not low <= celsius <= high:
        raise InvalidValue(
            field, f"{value} °{unit} is not weather to work in. Check the value."
        )
    return round(celsius, 6)


def coat_log(
    *,
    coat: str,
    lot: str,
    happened_on: date,
    volume: Decimal | None = None,
    volume_unit: str = "gal",
    thinner_ratio: Decimal = Decimal(0),
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> CoatLog:
    """Return one coat as it was laid: its lot, its volume, its thinner.

    Raises:
        InvalidValue: a volume not above zero, an unknown unit, negative thinner.
    """
    if volume is not None and not (volume.is_finite() and volume > 0):
        raise InvalidValue("volume", f"A volume must be above zero, got {volume}.")
    if volume is not None and volume_unit not in VOLUMES:
        raise InvalidValue(
            "volume_unit", f"Volumes are in gal, l or ml, not {volume_unit!r}."
        )
    if thinner_ratio < 0:
        raise InvalidValue("thinner_ratio", "Thinner cannot be below zero.")
    return CoatLog(
        uuid=uuid or uuid4(),
        supersedes=supersedes,
        coat=coat,
        lot=lot,
        volume=volume,
        volume_unit="" if volume is None else volume_unit,
        volume_ml=None if volume is None else round(VOLUMES[volume_unit](volume), 2),
        thinner_ratio=thinner_ratio,
        happened_on=happened_on,
    )


def penetration(
    *,
    label: str,
    kind: str,
    x: Decimal,
    y: Decimal,
    place_unit: str,
    width: Decimal,
    length: Decimal,
    size_unit: str,
    is_detailed: bool,
    happened_on: date,
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> Penetration:
    """Return one penetration where it sits.

    Raises:
        InvalidValue: a place off the roof's zero, a size not above zero.
    """
    for field, value in (("x", x), ("y", y)):
        if not value.is_finite() or value < 0:
            raise InvalidValue(
                field,
                f"A place is measured from cap and gutter, so {value} is not on "
                "the roof.",
            )
    for field, value in (("width", width), ("length", length)):
        if not value.is_finite() or value <= 0:
            raise InvalidValue(field, f"A size must be above zero, got {value}.")
    return Penetration(
        uuid=uuid or uuid4(),
        supersedes=supersedes,
        label=label,
        kind=kind,
        x_m=metres("x", x, place_unit),
        y_m=metres("y", y, place_unit),
        width_m=metres("width", width, size_unit),
        length_m=metres("length", length, size_unit),
        is_detailed=is_detailed,
        happened_on=happened_on,
    )


def metres(field: str, value: Decimal, unit: str) -> Decimal:
    """Return a length in metres to a tenth of a millimetre."""
    if unit not in LENGTHS:
        raise InvalidValue(field, f"Lengths are in ft, in or m, not {unit!r}.")
    return round(LENGTHS[unit](value), 4)


def moisture_reading(
    *,
    moisture_pct: Decimal,
    mode: str,
    happened_on: date,
    is_above_range: bool = False,
    species: str = "",
    wood_c: Decimal | None = None,
    x_m: Decimal | None = None,
    y_m: Decimal | None = None,
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> MoistureReading:
    """Return one deck moisture reading.

    Raises:
        InvalidValue: a share below 0 or above 100 %.
    """
    if not 0 <= moisture_pct <= 100:
        raise InvalidValue(
            "moisture_pct", f"Moisture must be from 0 to 100 %, got {moisture_pct}."
        )
    return MoistureReading(
        uuid=uuid or uuid4(),
        supersedes=supersedes,
        moisture_ratio=moisture_pct / 100,
        is_above_range=is_above_range,
        mode=mode,
        species=species,
        wood_c=wood_c,
        x_m=x_m,
        y_m=y_m,
        happened_on=happened_on,
    )


def adhesion_reading(
    *,
    method: str,
    happened_on: date,
    grade: int | None = None,
    value: Decimal | None = None,
    unit: str = "",
    coat: str = "",
    x_m: Decimal | None = None,
    y_m: Decimal | None = None,
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> AdhesionReading:
    """Return one adhesion test: a whole grade for tape, a force for the others."""
    is_tape = method.startswith("TAPE")
    if is_tape and (grade is None or not 0 <= grade <= 5):
        raise InvalidValue("grade", "A tape test has a whole grade from 0 to 5.")
    if not is_tape and (value is None or value < 0 or not unit):
        raise InvalidValue("value", "This test has a force with its unit.")
    return AdhesionReading(
        uuid=uuid or uuid4(),
        supersedes=supersedes,
        method=method,
        grade=grade if is_tape else None,
        value=None if is_tape else value,
        unit="" if is_tape else unit,
        coat=coat,
        x_m=x_m,
        y_m=y_m,
        happened_on=happened_on,
    )
