"""Moisture of a wood deck: bands, the meter's limits, and what the air explains.

References
----------
.. [1] USDA Forest Service, publication 55905: serious decay needs moisture above fibre
   saturation, about 30 %.
.. [2] Wood Handbook FPL-GTR-282, chapter 14 (20 %) and eq. 4-5 (Hailwood-Horrobin),
   coefficients from memory.
.. [3] FPL report 2147 (1959): resistance meters read fairly from 7 to 25 %.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fleet.film.bounds import AT_LEAST_ZERO, Bounds, FloatArray
from fleet.film.verdict import MET_CODE, NOT_MET_CODE, UNKNOWN_CODE, VerdictCodes
from fleet.site.errors import SiteInputError

FIBRE_SATURATION_PCT: Final = 30.0
METER_RANGE_PCT: Final = Bounds(low=7.0, high=25.0)
LEAK_EXCESS_PCT: Final = 4.0  # own heuristic: points above what the air explains
WOOD_C: Final = Bounds(low=-20.0, high=70.0)  # where eq. 4-5 is used here [°C]
RH_PCT: Final = Bounds(low=0.0, high=100.0)


class MoistureBand(StrEnum):
    """What a deck reading means for the work."""

    DRY = "DRY"
    HOLD = "HOLD"  # dry it and probe again
    WET = "WET"  # decay conditions: do not coat


BAND_OF_CODE: Final[tuple[MoistureBand | None, ...]] = (
    None,  # not read
    MoistureBand.DRY,
    MoistureBand.HOLD,
    MoistureBand.WET,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DeckLimits:
    """Limits between the bands, in per cent of dry mass.

    Dry up to and with `dry_max_pct` (19 is the lumber trade's mark for dry, from
    memory; 16 is stricter, the data sheet governs); wet from `wet_min_pct` on.
    """

    dry_max_pct: float = 19.0
    wet_min_pct: float = FIBRE_SATURATION_PCT

    def __post_init__(self) -> None:
        """Refuse limits that leave no order between the bands."""
        if not 0 < self.dry_max_pct < self.wet_min_pct:
            raise SiteInputError(
                "dry_max_pct must be above 0 and below wet_min_pct "
                f"({self.wet_min_pct:g}), got {self.dry_max_pct:g}. "
                "Check the deck limits."
            )


DEFAULT_LIMITS: Final = DeckLimits()
STRICT_LIMITS: Final = DeckLimits(dry_max_pct=16.0)


def moisture_bands(
    moisture_pct: FloatArray, *, limits: DeckLimits = DEFAULT_LIMITS
) -> NDArray[np.int8]:
    """Return the band of each reading, as an index into `BAND_OF_CODE`.

    Parameters
    ----------
    moisture_pct : ndarray, shape (n,)
        Meter readings. [% of dry mass], >= 0; NaN where not read

    Raises
    ------
    SiteInputError
        If a reading is negative or infinite.
    """
    read = ~np.isnan(moisture_pct)
    AT_LEAST_ZERO.require("moisture_pct", moisture_pct[read], error=SiteInputError)
    bands = np.ones(moisture_pct.shape, dtype=np.int8)
    bands[moisture_pct > limits.dry_max_pct] = 2
    bands[moisture_pct >= limits.wet_min_pct] = 3
    bands[~read] = 0
    return bands


def deck_dry_codes(
    moisture_pct: FloatArray, *, limits: DeckLimits = DEFAULT_LIMITS
) -> VerdictCodes:
    """Return 1 where a deck reading is dry, 2 where it is not, 0 where not read."""
    bands = moisture_bands(moisture_pct, limits=limits)
    codes: VerdictCodes = np.where(
        bands == 0, UNKNOWN_CODE, np.where(bands == 1, MET_CODE, NOT_MET_CODE)
    ).astype(np.int8)
    return codes


def mean_moisture_pct(moisture_pct: FloatArray) -> float | None:
    """Return the mean of the readings a meter can measure, None without any. [%]

    Above fibre saturation a meter tells wet from dry and no more, so such readings are
    not averaged; a mean that hides one would be worse than none, so one makes the
    whole mean None.
    """
    read = moisture_pct[~np.isnan(moisture_pct)]
    AT_LEAST_ZERO.require("moisture_pct", read, error=SiteInputError)
    if read.size == 0 or (read > FIBRE_SATURATION_PCT).any():
        return None
    return float(read.mean())


def equilibrium_moisture_pct(air_c: float, rh_pct: float) -> float:
    """Return the moisture wood settles at in steady air. [% of dry mass]

    ``1800/W [KH/(1-KH) + (K1 KH + 2 K1 K2 K^2 H^2)/(1 + K1 KH + K1 K2 K^2 H^2)]``
    with coefficients quadratic in temperature (Wood Handbook eq. 4-5).

    Parameters
    ----------
    air_c : float
        [°C], -20 to 70
    rh_pct : float
        Relative humidity. [%], 0 to 100

    Raises
    ------
    SiteInputError
        If an input lies outside its range.
    """
    WOOD_C.require("air_c", air_c, error=SiteInputError)
    RH_PCT.require("rh_pct", rh_pct, error=SiteInputError)
    w = 349 + 1.29 * air_c + 0.0135 * air_c**2
    k = 0.805 + 0.000736 * air_c - 0.00000273 * air_c**2
    k_one = 6.27 - 0.00938 * air_c - 0.000303 * air_c**2
    k_two = 1.91 + 0.0407 * air_c - 0.000293 * air_c**2
    kh = k * rh_pct / 100
    squared = k_one * k_two * kh**2
    bound = (k_one * kh + 2 * squared) / (1 + k_one * kh + squared)
    return 1800 / w * (kh / (1 - kh) + bound)


def is_more_than_weather(moisture_pct: float, *, air_c: float, rh_pct: float) -> bool:
    """Return whether a reading is wetter than the air explains, so perhaps a leak.

    More than four points above `equilibrium_moisture_pct`: a heuristic of this
    project, shown as a question.
    """
    AT_LEAST_ZERO.require("moisture_pct", moisture_pct, error=SiteInputError)
    explained_pct = equilibrium_moisture_pct(air_c, rh_pct)
    return moisture_pct > explained_pct + LEAK_EXCESS_PCT
