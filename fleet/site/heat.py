"""A caution for people working on a hot roof. No measure of anyone's fitness.

References
----------
.. [1] US National Weather Service, Technical Attachment SR 90-23 (Rothfusz 1990),
   coefficients from memory; bands from memory.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Final

from fleet.film.bounds import Bounds
from fleet.site.errors import SiteInputError

AIR_F: Final = Bounds(low=-50.0, high=140.0)
RH_PCT: Final = Bounds(low=0.0, high=100.0)
CAUTION_F: Final = 80.0
DANGER_F: Final = 103.0


class HeatCaution(StrEnum):
    """How hot it feels, for a caution beside the day's work."""

    NONE = "NONE"
    CAUTION = "CAUTION"
    DANGER = "DANGER"


def heat_index_f(air_f: float, rh_pct: float) -> float:
    """Return how hot still, shaded air feels. [°F]

    The Rothfusz regression where the simple formula reaches 80 °F, else the simple
    formula. Full sun on a roof adds up to 15 °F more.

    Parameters
    ----------
    air_f : float
        [°F], -50 to 140
    rh_pct : float
        [%], 0 to 100

    Raises
    ------
    SiteInputError
        If an input lies outside its range.
    """
    AIR_F.require("air_f", air_f, error=SiteInputError)
    RH_PCT.require("rh_pct", rh_pct, error=SiteInputError)
    t, r = air_f, rh_pct
    simple_f = 0.5 * (t + 61.0 + (t - 68.0) * 1.2 + r * 0.094)
    if (simple_f + t) / 2 < CAUTION_F:
        return simple_f
    return (
        -42.379
        + 2.04901523 * t
        + 10.14333127 * r
        - 0.22475541 * t * r
        - 6.83783e-3 * t**2
        - 5.481717e-2 * r**2
        + 1.22874e-3 * t**2 * r
        + 8.5282e-4 * t * r**2
        - 1.99e-6 * t**2 * r**2
    )


def heat_caution(air_f: float, rh_pct: float) -> HeatCaution:
    """Return the caution for the heat; below it, water and shade still help."""
    index_f = heat_index_f(air_f, rh_pct)
    if index_f >= DANGER_F:
        return HeatCaution.DANGER
    return HeatCaution.CAUTION if index_f >= CAUTION_F else HeatCaution.NONE
