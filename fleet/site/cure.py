"""Cure and recoat: estimates that the coat's data sheet overrides.

The rate of a chemical cure about doubles with each 10 °C (experience, quoted in a
published coatings encyclopaedia for two-pack products). Water-borne coats also depend
on humidity, film and wind, for which no general factor exists, so every figure here is
an *estimate*.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import inf
from typing import Final

import numpy as np

from fleet.film.bounds import ABOVE_ZERO, AT_LEAST_ZERO, Bounds, FloatArray
from fleet.site.errors import SiteInputError

DOUBLING_C: Final = 10.0  # [K]
REFERENCE_C: Final = 20.0  # temperature most sheets' hours are given at [°C]
TEMP_C: Final = Bounds(low=-60.0, high=120.0)
ESTIMATE: Final = "Estimate from temperature alone. The coat's data sheet comes first."


class RecoatState(StrEnum):
    """Where a coat stands between too soon and too late for the next one."""

    NO_CURE = "NO_CURE"  # below the coat's minimum temperature
    TOO_EARLY = "TOO_EARLY"
    IN_WINDOW = "IN_WINDOW"
    EXPIRED = "EXPIRED"  # abrade, or test adhesion, before the next coat


@dataclass(frozen=True, slots=True, kw_only=True)
class RecoatWindow:
    """An *estimated* recoat window at one temperature, hours after application.

    `latest_h` is None where the sheet sets no maximum; `earliest_h` is infinite below
    the coat's minimum temperature.
    """

    state: RecoatState
    earliest_h: float
    latest_h: float | None
    label: str = ESTIMATE


def cure_hours(
    sheet_h: float,
    temp_c: FloatArray,
    *,
    minimum_c: float,
    reference_c: float = REFERENCE_C,
) -> FloatArray:
    """Return the *estimated* hours to a stage of cure at each temperature. [h]

    ``t = t_ref * 2 ** ((T_ref - T) / 10)``; infinite (no cure) below `minimum_c`.

    Parameters
    ----------
    sheet_h : float
        Hours the sheet gives at `reference_c`. [h], > 0
    temp_c : ndarray, shape (n,)
        Film or surface temperature. [°C], -60 to 120
    minimum_c : float
        The coat's minimum temperature; at exactly this it still cures. [°C]
    reference_c : float, default 20
        Temperature of the sheet's hours. [°C]

    Raises
    ------
    SiteInputError
        If a value lies outside its range.
    """
    ABOVE_ZERO.require("sheet_h", sheet_h, error=SiteInputError)
    TEMP_C.require("temp_c", temp_c, error=SiteInputError)
    TEMP_C.require("minimum_c", minimum_c, error=SiteInputError)
    TEMP_C.require("reference_c", reference_c, error=SiteInputError)
    hours = sheet_h * 2.0 ** ((reference_c - temp_c) / DOUBLING_C)
    return np.where(temp_c < minimum_c, inf, hours)


def cured_ratio(
    sheet_h: float,
    temp_c: FloatArray,
    hours: FloatArray,
    *,
    minimum_c: float,
    reference_c: float = REFERENCE_C,
) -> float:
    """Return the *estimated* share of a stage of cure reached over a night or two. [1]

    The sum of ``hours / cure_hours`` over spells of steady temperature; 1 or more
    means the stage is reached. Spells below the minimum add nothing.

    Parameters
    ----------
    temp_c, hours : ndarray, shape (n,)
        Temperature [°C] and length [h, >= 0] of each spell.

    Raises
    ------
    SiteInputError
        If a value lies outside its range or the columns differ in length.
    """
    if temp_c.shape != hours.shape:
        raise SiteInputError(
            f"temp_c and hours must have one shape, got {temp_c.shape} and "
            f"{hours.shape}. Pass one row per spell."
        )
    AT_LEAST_ZERO.require("hours", hours, error=SiteInputError)
    needed_h = cure_hours(sheet_h, temp_c, minimum_c=minimum_c, reference_c=reference_c)
    return float((hours / needed_h).sum())


def recoat_window(
    elapsed_h: float,
    *,
    temp_c: float,
    sheet_min_h: float,
    sheet_max_h: float | None,
    minimum_c: float,
    reference_c: float = REFERENCE_C,
) -> RecoatWindow:
    """Return where a coat stands in its *estimated* recoat window.

    Both ends bind and both count as inside. Heat shortens both; cold lengthens the
    minimum and never the maximum (project convention, the careful side).

    Parameters
    ----------
    elapsed_h : float
        Hours since the coat went on. [h], >= 0
    temp_c : float
        Mean surface temperature since. [°C]
    sheet_min_h, sheet_max_h : float, float or None
        The sheet's recoat interval at `reference_c`. [h], > 0; None: no maximum.
    minimum_c : float
        The coat's minimum temperature. [°C]

    Raises
    ------
    SiteInputError
        If a value lies outside its range or the interval is crossed.
    """
    AT_LEAST_ZERO.require("elapsed_h", elapsed_h, error=SiteInputError)
    if sheet_max_h is not None and not sheet_max_h >= sheet_min_h:
        raise SiteInputError(
            f"sheet_max_h must be >= sheet_min_h ({sheet_min_h:g}), got "
            f"{sheet_max_h:g}. Check the coat's data sheet."
        )

    def at_temp(sheet_h: float) -> float:
        temps = np.array([temp_c])
        hours = cure_hours(sheet_h, temps, minimum_c=minimum_c, reference_c=reference_c)
        return float(hours[0])

    earliest_h = at_temp(sheet_min_h)
    latest_h = None if sheet_max_h is None else min(sheet_max_h, at_temp(sheet_max_h))
    return RecoatWindow(
        state=_state(elapsed_h, earliest_h, latest_h),
        earliest_h=earliest_h,
        latest_h=latest_h,
    )


def _state(elapsed_h: float, earliest_h: float, latest_h: float | None) -> RecoatState:
    if latest_h is not None and elapsed_h > latest_h:
        return RecoatState.EXPIRED
    if earliest_h == inf:
        return RecoatState.NO_CURE
    if elapsed_h < earliest_h:
        return RecoatState.TOO_EARLY
    return RecoatState.IN_WINDOW
