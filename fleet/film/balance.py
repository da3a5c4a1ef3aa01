"""Mass balance: do the containers that were opened explain the film that was read?

A gap is a *doubt*, shown as a question: either the pails or the gauge is wrong.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, overload

import numpy as np
from numpy.typing import NDArray

from fleet.film.bounds import (
    ABOVE_ZERO,
    AT_LEAST_ZERO,
    SHARE_ABOVE_ZERO,
    SHARE_BELOW_ONE,
    FloatArray,
)

DOUBT_RATIO: Final = 0.15  # project convention, on either side [1]
_TOLERANCE: Final = 1e-9  # a gap of exactly 15 % is not yet a doubt


@dataclass(frozen=True, slots=True, kw_only=True)
class MassBalance:
    """The film one coat's containers explain, beside the film that was read.

    `gap_ratio` is ``mean / expected - 1``: above zero, more film than litres.
    """

    expected_dry_um: float
    mean_dry_um: float
    gap_ratio: float
    is_doubt: bool
    because: str


@overload
def expected_dry_um(
    *, volume_ml: float, volume_solids: float, area_m2: float, loss_ratio: float = 0.0
) -> float: ...
@overload
def expected_dry_um(
    *,
    volume_ml: FloatArray,
    volume_solids: float | FloatArray,
    area_m2: float | FloatArray,
    loss_ratio: float | FloatArray = 0.0,
) -> FloatArray: ...
def expected_dry_um(
    *,
    volume_ml: float | FloatArray,
    volume_solids: float | FloatArray,
    area_m2: float | FloatArray,
    loss_ratio: float | FloatArray = 0.0,
) -> float | FloatArray:
    """Return the mean dry film a volume of product leaves on an area. [um]

    ``V * VS * (1 - loss) / A``; 1 ml on 1 m2 is 1 um.

    Parameters
    ----------
    volume_ml : float or ndarray, shape (n,)
        Volume of *unthinned* product used; thinner leaves no film. [ml], >= 0
    volume_solids : float or ndarray that broadcasts to (n,)
        [1], 0 < VS <= 1
    area_m2 : float or ndarray that broadcasts to (n,)
        Coated area, laps included. [m2], > 0
    loss_ratio : float or ndarray that broadcasts to (n,), default 0.0
        Share left in pails, rollers and wind. [1], 0 <= loss < 1

    Raises
    ------
    FilmInputError
        If an input lies outside its range.
    """
    AT_LEAST_ZERO.require("volume_ml", volume_ml)
    SHARE_ABOVE_ZERO.require("volume_solids", volume_solids)
    ABOVE_ZERO.require("area_m2", area_m2)
    SHARE_BELOW_ONE.require("loss_ratio", loss_ratio)
    return volume_ml * volume_solids * (1 - loss_ratio) / area_m2


def mass_balance(
    *,
    volume_ml: float,
    volume_solids: float,
    area_m2: float,
    mean_dry_um: float,
    loss_ratio: float = 0.0,
) -> MassBalance:
    """Return the mass balance of one coat.

    Parameters
    ----------
    volume_ml, volume_solids, area_m2, loss_ratio : float
        As in `expected_dry_um`; here the volume must be above zero.
    mean_dry_um : float
        Mean of the readings. [um], >= 0

    Raises
    ------
    FilmInputError
        If an input lies outside its range.
    """
    ABOVE_ZERO.require("volume_ml", volume_ml)
    AT_LEAST_ZERO.require("mean_dry_um", mean_dry_um)
    expected_um = expected_dry_um(
        volume_ml=volume_ml,
        volume_solids=volume_solids,
        area_m2=area_m2,
        loss_ratio=loss_ratio,
    )
    gap_ratio = mean_dry_um / expected_um - 1
    return MassBalance(
        expected_dry_um=expected_um,
        mean_dry_um=mean_dry_um,
        gap_ratio=gap_ratio,
        is_doubt=bool(are_doubts(np.array([gap_ratio]))[0]),
        because=_sentence(expected_um, mean_dry_um, gap_ratio),
    )


def are_doubts(gap_ratio: FloatArray) -> NDArray[np.bool_]:
    """Return which gaps are over 15 % on either side; a NaN gap is no doubt."""
    doubts: NDArray[np.bool_] = np.abs(gap_ratio) > DOUBT_RATIO + _TOLERANCE
    return doubts


def _sentence(expected_um: float, mean_um: float, gap_ratio: float) -> str:
    side = "more" if gap_ratio > 0 else "less"
    return (
        f"The readings average {mean_um:.0f} um, {abs(gap_ratio):.0%} {side} than the "
        f"{expected_um:.0f} um that the volume used explains."
    )
