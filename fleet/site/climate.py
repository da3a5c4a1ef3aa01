"""Weather at the roof: dew point, surface margin, and whether a coat may go on.

The surface margin of 3 °C comes from guidance for coatings on *steel* (ISO 8502-4,
ISO 12944-7); it is borrowed here. The coat's data sheet comes first.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp
from typing import Final, overload

import numpy as np
from numpy.typing import NDArray

from fleet.film.bounds import Bounds, FloatArray
from fleet.film.verdict import MET_CODE, NOT_MET_CODE, UNKNOWN_CODE, VerdictCodes
from fleet.site.errors import SiteInputError

# Magnus constants over water, WMO-No. 8 (Sonntag 1990).
MAGNUS_B: Final = 17.62  # [1]
MAGNUS_C: Final = 243.12  # [°C]
MAGNUS_HPA: Final = 6.112  # [hPa]

AIR_C: Final = Bounds(low=-45.0, high=60.0)  # validity of the Magnus form [°C]
RH_PCT: Final = Bounds(low=0.0, high=100.0, low_in=False)  # [%]
SURFACE_C: Final = Bounds(low=-60.0, high=120.0)  # what a roof can be [°C]
PRESSURE_HPA: Final = Bounds(low=500.0, high=1100.0)  # where coaches stand [hPa]

DEW_MARGIN_C: Final = 3.0  # ISO 8502-4:2017 guidance, for steel [K]
# A margin read as exactly 3.0 passes: this absorbs float error. [K]
MARGIN_TOLERANCE_C: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class ClimateLimits:
    """Weather a coat may be applied in, all limits inclusive.

    Scalars, or arrays that broadcast to the readings; NaN means no such limit. The
    inclusive humidity limit is a project convention: sheets print both "85 % or less"
    and "below 85 %".
    """

    air_min_c: float | FloatArray
    air_max_c: float | FloatArray
    rh_max_pct: float | FloatArray
    dew_margin_c: float | FloatArray = DEW_MARGIN_C


@overload
def dew_point_c(air_c: float, rh_pct: float) -> float: ...
@overload
def dew_point_c(air_c: FloatArray, rh_pct: FloatArray) -> FloatArray: ...
def dew_point_c(
    air_c: float | FloatArray, rh_pct: float | FloatArray
) -> float | FloatArray:
    """Return the dew point over water. [°C]

    ``g = ln(RH / 100) + b T / (c + T)``, ``Td = c g / (b - g)``, b = 17.62,
    c = 243.12 °C (Magnus).

    Parameters
    ----------
    air_c : float or ndarray, shape (n,)
        Air temperature. [°C], -45 <= T <= 60
    rh_pct : float or ndarray, shape (n,)
        Relative humidity. [%], 0 < RH <= 100

    Returns
    -------
    float or ndarray, shape (n,)
        Never above `air_c`; equal to it at 100 %.

    Raises
    ------
    SiteInputError
        If a value is not finite or lies outside its range.

    Notes
    -----
    Below freezing this stays the dew point over *water*, not the frost point. It lies
    within 0.05 °C of the ASHRAE formulation above 0 °C.

    References
    ----------
    .. [1] WMO-No. 8, Guide to Instruments and Methods of Observation; Sonntag (1990).
    """
    AIR_C.require("air_c", air_c, error=SiteInputError)
    RH_PCT.require("rh_pct", rh_pct, error=SiteInputError)
    dew_c = _magnus(np.asarray(air_c), np.asarray(rh_pct))
    if isinstance(air_c, np.ndarray) or isinstance(rh_pct, np.ndarray):
        return dew_c
    return float(dew_c)


def rh_from_wet_bulb_pct(
    air_c: float, wet_bulb_c: float, *, pressure_hpa: float
) -> float:
    """Return the relative humidity a ventilated psychrometer shows. [%]

    ``e = es(Tw) - A P (T - Tw)``, ``A = 6.53e-4 (1 + 0.000944 Tw)`` per °C, and
    ``RH = 100 e / es(T)`` with es the Magnus saturation pressure over water.

    Parameters
    ----------
    air_c, wet_bulb_c : float
        Dry and wet bulb. [°C], 0 <= Tw <= T <= 60; a frozen bulb is not covered.
    pressure_hpa : float
        Air pressure at the place. [hPa], 500 to 1100; 1013.25 at sea level, about
        843 at 1500 m: the reading depends on it, so it is never assumed.

    Raises
    ------
    SiteInputError
        If a value lies outside its range, or the pair is drier than air can be.

    References
    ----------
    .. [1] WMO-No. 8, psychrometric formula for a ventilated instrument.
    .. [2] ASTM E337 (sling psychrometer), title from memory.
    """
    PRESSURE_HPA.require("pressure_hpa", pressure_hpa, error=SiteInputError)
    Bounds(low=0.0, high=AIR_C.high).require("air_c", air_c, error=SiteInputError)
    Bounds(low=0.0, high=air_c).require("wet_bulb_c", wet_bulb_c, error=SiteInputError)
    factor = 6.53e-4 * (1 + 0.000944 * wet_bulb_c)
    vapour_hpa = _saturation_hpa(wet_bulb_c) - factor * pressure_hpa * (
        air_c - wet_bulb_c
    )
    rh_pct = 100 * vapour_hpa / _saturation_hpa(air_c)
    RH_PCT.require("rh_pct", min(rh_pct, 100.0), error=SiteInputError)
    return min(rh_pct, 100.0)


def surface_margin_c(
    air_c: FloatArray, rh_pct: FloatArray, surface_c: FloatArray
) -> FloatArray:
    """Return how far each surface lies above the dew point. [K]

    NaN where a reading is incomplete. Ranges and errors as in `climate_codes`.
    """
    complete = _complete(air_c, surface_c, rh_pct)
    margin = np.full(complete.shape, np.nan)
    margin[complete] = surface_c[complete] - _magnus(air_c[complete], rh_pct[complete])
    return margin


def climate_codes(
    *,
    air_c: FloatArray,
    surface_c: FloatArray,
    rh_pct: FloatArray,
    limits: ClimateLimits,
) -> VerdictCodes:
    """Return for each set of climate readings whether a coat may go on.

    Parameters
    ----------
    air_c : ndarray, shape (n,)
        Air temperature. [°C], -45 to 60, NaN where not read
    surface_c : ndarray, shape (n,)
        Surface temperature of the roof. [°C], -60 to 120, NaN where not read
    rh_pct : ndarray, shape (n,)
        Relative humidity. [%], 0 < RH <= 100, NaN where not read
    limits : ClimateLimits
        The coat's limits, inclusive.

    Returns
    -------
    ndarray of int8, shape (n,)
        0 unknown (a reading is missing), 1 within every limit, 2 outside one.

    Raises
    ------
    SiteInputError
        If a reading that is present lies outside its range, or shapes differ.
    """
    complete = _complete(air_c, surface_c, rh_pct)
    codes: VerdictCodes = np.full(air_c.shape, UNKNOWN_CODE, dtype=np.int8)
    air, surface, humidity = air_c[complete], surface_c[complete], rh_pct[complete]
    margin = surface - _magnus(air, humidity)

    def limit(value: float | FloatArray) -> FloatArray:
        return np.broadcast_to(np.asarray(value, np.float64), air_c.shape)[complete]

    # A comparison with NaN (no such limit) is never true, so nothing is outside it.
    outside = air < limit(limits.air_min_c) - MARGIN_TOLERANCE_C
    outside |= air > limit(limits.air_max_c) + MARGIN_TOLERANCE_C
    outside |= humidity > limit(limits.rh_max_pct) + MARGIN_TOLERANCE_C
    outside |= margin < limit(limits.dew_margin_c) - MARGIN_TOLERANCE_C
    codes[complete] = np.where(outside, NOT_MET_CODE, MET_CODE)
    return codes


def climate_faults(
    *, air_c: float, surface_c: float, rh_pct: float, limits: ClimateLimits
) -> tuple[str, ...]:
    """Return a sentence for every limit one complete set of readings leaves.

    Empty when it is within all of them; the same rule as `climate_codes`, in words.
    """
    dew_c = dew_point_c(air_c, rh_pct)
    SURFACE_C.require("surface_c", surface_c, error=SiteInputError)
    margin_c = surface_c - dew_c
    faults = []
    if air_c < float(limits.air_min_c) - MARGIN_TOLERANCE_C:
        faults.append(f"Air {air_c:.1f} °C is below {limits.air_min_c:g} °C.")
    if air_c > float(limits.air_max_c) + MARGIN_TOLERANCE_C:
        faults.append(f"Air {air_c:.1f} °C is above {limits.air_max_c:g} °C.")
    if rh_pct > float(limits.rh_max_pct) + MARGIN_TOLERANCE_C:
        faults.append(f"Humidity {rh_pct:.0f} % is above {limits.rh_max_pct:g} %.")
    if margin_c < float(limits.dew_margin_c) - MARGIN_TOLERANCE_C:
        faults.append(
            f"The surface at {surface_c:.1f} °C is {margin_c:.1f} °C above the dew "
            f"point of {dew_c:.1f} °C; {limits.dew_margin_c:g} °C are needed."
        )
    return tuple(faults)


def _saturation_hpa(temp_c: float) -> float:
    return MAGNUS_HPA * exp(MAGNUS_B * temp_c / (MAGNUS_C + temp_c))


def _magnus(air_c: FloatArray, rh_pct: FloatArray) -> FloatArray:
    g = np.log(rh_pct / 100.0) + MAGNUS_B * air_c / (MAGNUS_C + air_c)
    dew_c: FloatArray = np.asarray(MAGNUS_C * g / (MAGNUS_B - g), dtype=np.float64)
    # At 100 % rounding may lift the result a few ulp over the air: it cannot be.
    return np.minimum(dew_c, air_c)


def _complete(
    air_c: FloatArray, surface_c: FloatArray, rh_pct: FloatArray
) -> NDArray[np.bool_]:
    if not air_c.shape == surface_c.shape == rh_pct.shape:
        raise SiteInputError(
            f"air_c, surface_c and rh_pct must have one shape, got {air_c.shape}, "
            f"{surface_c.shape}, {rh_pct.shape}. Pass one row per set of readings."
        )
    for name, value, bounds in (
        ("air_c", air_c, AIR_C),
        ("surface_c", surface_c, SURFACE_C),
        ("rh_pct", rh_pct, RH_PCT),
    ):
        bounds.require(name, value[~np.isnan(value)], error=SiteInputError)
    complete: NDArray[np.bool_] = ~(
        np.isnan(air_c) | np.isnan(surface_c) | np.isnan(rh_pct)
    )
    return complete
