"""Film build: from wet film to dry film, and from volume to area.

Everything here is an estimate from volume solids. A wet reading does not prove solids
(ASTM D4414-95(2020), 4.2), so a dry film computed from it is called *estimated*,
never *measured*.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final, overload

import numpy as np

from fleet.film.bounds import (
    ABOVE_ZERO,
    AT_LEAST_ZERO,
    SHARE_ABOVE_ZERO,
    SHARE_BELOW_ONE,
    Bounds,
    FloatArray,
)
from fleet.film.errors import FilmInputError

# Theoretical coverage of one US gallon at 100 % solids and 1 mil: 231 in3 over
# 144 in2/ft2 and 0.001 in. The rounded 1600 some pages use is 0.26 % low.
COVERAGE_FT2_MIL_PER_GAL: Final = 231.0 / 144.0 / 0.001  # 1604.1667
# One litre is 0.001 m3: 1000 m2 at 1 um.
COVERAGE_M2_UM_PER_L: Final = 1000.0


class ThinnerBasis(StrEnum):
    """What a share of thinner is a share *of*; the two are often confused."""

    OF_UNTHINNED = "OF_UNTHINNED"  # volume of thinner per volume of product
    OF_MIX = "OF_MIX"  # volume of thinner per volume of the mixture


class NotchPolicy(StrEnum):
    """Which point of a notch gauge's interval stands for the wet film."""

    LOWER = "LOWER"  # the last wetted tooth: what is surely there
    MIDPOINT = "MIDPOINT"
    UPPER = "UPPER"  # the first dry tooth


class GaugeKind(StrEnum):
    """The two notch gauges of ASTM D4414."""

    FLAT = "FLAT"  # procedure A
    ROUND = "ROUND"  # procedure B


# ASTM D4414-95(2020), scope. [um]
GAUGE_RANGE_UM: Final[dict[GaugeKind, Bounds]] = {
    GaugeKind.FLAT: Bounds(low=3.0, high=2000.0),
    GaugeKind.ROUND: Bounds(low=25.0, high=2500.0),
}
# Locations a coat and zone need before wet readings are more than indicative
# (ASTM D4414, from memory; a published encyclopaedia says two to three).
MIN_WET_LOCATIONS: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class DryInterval:
    """The *estimated* dry film one notch reading leaves.

    All three are in the unit of the teeth that were given; `estimated` is the point
    the policy chose inside ``[low, high)``.
    """

    low: float | FloatArray
    high: float | FloatArray
    estimated: float | FloatArray
    policy: NotchPolicy


@overload
def dry_film_from_wet(
    wet: float, *, volume_solids: float, thinner_ratio: float = 0.0
) -> float: ...
@overload
def dry_film_from_wet(
    wet: FloatArray,
    *,
    volume_solids: float | FloatArray,
    thinner_ratio: float | FloatArray = 0.0,
) -> FloatArray: ...
def dry_film_from_wet(
    wet: float | FloatArray,
    *,
    volume_solids: float | FloatArray,
    thinner_ratio: float | FloatArray = 0.0,
) -> float | FloatArray:
    """Return the dry film left by one wet coat.

    ``DFT = WFT * VS / (1 + T)``: thinner adds wet volume and no solids.

    Parameters
    ----------
    wet : float or ndarray, shape (n,)
        Wet film read straight after application, in mil or um. >= 0
    volume_solids : float or ndarray that broadcasts to (n,)
        Non-volatile share of the unthinned product by volume. [1], 0 < VS <= 1
    thinner_ratio : float or ndarray that broadcasts to (n,), default 0.0
        Volume of thinner per volume of unthinned product. [1], >= 0

    Returns
    -------
    float or ndarray, shape (n,)
        Estimated dry film, in the unit of `wet`; never above `wet`.

    Raises
    ------
    FilmInputError
        If an input is not finite or lies outside its range.

    Notes
    -----
    Valid for a fully volatile thinner and a void-free film, so not for products above
    their critical pigment volume concentration, which [1]_ excludes. Some pages print
    the inverse (WFT / VS), which is the formula of `wet_film_for_dry`.

    References
    ----------
    .. [1] ISO 3233-1 (volume solids), title from memory.
    .. [2] ASTM D4414-95(2020), 4.2.
    """
    AT_LEAST_ZERO.require("wet", wet)
    SHARE_ABOVE_ZERO.require("volume_solids", volume_solids)
    AT_LEAST_ZERO.require("thinner_ratio", thinner_ratio)
    return wet * volume_solids / (1 + thinner_ratio)


@overload
def wet_film_for_dry(
    dry: float, *, volume_solids: float, thinner_ratio: float = 0.0
) -> float: ...
@overload
def wet_film_for_dry(
    dry: FloatArray,
    *,
    volume_solids: float | FloatArray,
    thinner_ratio: float | FloatArray = 0.0,
) -> FloatArray: ...
def wet_film_for_dry(
    dry: float | FloatArray,
    *,
    volume_solids: float | FloatArray,
    thinner_ratio: float | FloatArray = 0.0,
) -> float | FloatArray:
    """Return the wet film to apply for a wanted dry film.

    ``WFT = DFT * (1 + T) / VS``, the inverse of `dry_film_from_wet`, with the same
    parameters, ranges and errors; the result is in the unit of `dry`.
    """
    AT_LEAST_ZERO.require("dry", dry)
    SHARE_ABOVE_ZERO.require("volume_solids", volume_solids)
    AT_LEAST_ZERO.require("thinner_ratio", thinner_ratio)
    return dry * (1 + thinner_ratio) / volume_solids


def thinner_ratio_of(share: float, *, basis: ThinnerBasis) -> float:
    """Return thinner per volume of *unthinned* product from a share on either basis.

    ``t = s / (1 - s)`` for a share of the mix. [1]

    Raises
    ------
    FilmInputError
        If `share` is negative, or is 1 or more of the mix.
    """
    if basis is ThinnerBasis.OF_UNTHINNED:
        AT_LEAST_ZERO.require("share", share)
        return share
    SHARE_BELOW_ONE.require("share", share)
    return share / (1 - share)


def mixed_solids(volume_solids: float, *, share: float, basis: ThinnerBasis) -> float:
    """Return the volume solids of a thinned product.

    ``VS / (1 + t)`` with `t` on the unthinned basis, which is ``VS * (1 - s)`` with
    `s` on the basis of the mix. [1]
    """
    SHARE_ABOVE_ZERO.require("volume_solids", volume_solids)
    return volume_solids / (1 + thinner_ratio_of(share, basis=basis))


def wet_at_policy(
    last_wet: FloatArray, first_dry: FloatArray, *, policy: NotchPolicy
) -> FloatArray:
    """Return the wet film a notch reading stands for under `policy`.

    Parameters
    ----------
    last_wet, first_dry : ndarray, shape (n,)
        Highest tooth the film wetted and the next, dry tooth, in one unit. >= 0, and
        `first_dry` above `last_wet`.

    Raises
    ------
    FilmInputError
        If a tooth is negative or not finite, or a first dry tooth is not above its
        last wetted tooth.
    """
    AT_LEAST_ZERO.require("last_wet", last_wet)
    AT_LEAST_ZERO.require("first_dry", first_dry)
    low, high = np.broadcast_arrays(last_wet, first_dry)
    crossed = high <= low
    if crossed.any():
        raise FilmInputError(
            f"first_dry must be above last_wet ({low[crossed][0]:g}), got "
            f"{high[crossed][0]:g}. Read the gauge again: the first dry tooth is the "
            "next higher one."
        )
    if policy is NotchPolicy.LOWER:
        return low.astype(np.float64)
    if policy is NotchPolicy.UPPER:
        return high.astype(np.float64)
    return np.asarray((low + high) / 2, dtype=np.float64)


def notch_interval(
    last_wet: float,
    first_dry: float,
    *,
    volume_solids: float,
    thinner_ratio: float = 0.0,
    policy: NotchPolicy = NotchPolicy.LOWER,
) -> DryInterval:
    """Return the *estimated* dry film of one notch reading, as an interval.

    The wet film lies between the last wetted tooth and the first dry one; recording
    the lower is common practice and the careful choice.

    Parameters
    ----------
    last_wet, first_dry : float
        Teeth in one unit, mil or um. 0 <= last_wet < first_dry
    volume_solids, thinner_ratio : float
        As in `dry_film_from_wet`.
    policy : NotchPolicy, default LOWER
        Which point of the interval is the estimate.

    Returns
    -------
    DryInterval
        In the unit of the teeth.

    Raises
    ------
    FilmInputError
        If the teeth are out of order or an input lies outside its range.

    References
    ----------
    .. [1] ASTM D4414-95(2020).
    """
    teeth = (
        np.asarray([last_wet], dtype=np.float64),
        np.asarray([first_dry], dtype=np.float64),
    )
    wet = float(wet_at_policy(*teeth, policy=policy)[0])
    low, high, estimated = (
        dry_film_from_wet(
            value, volume_solids=volume_solids, thinner_ratio=thinner_ratio
        )
        for value in (last_wet, first_dry, wet)
    )
    return DryInterval(low=low, high=high, estimated=estimated, policy=policy)


def is_within_gauge_range(
    tooth_um: float | FloatArray, *, kind: GaugeKind = GaugeKind.FLAT
) -> bool:
    """Return whether every tooth lies in the range ASTM D4414 gives for the gauge.

    A tooth outside it is a doubt about the record (often a wrong unit), not proof.
    """
    return bool(GAUGE_RANGE_UM[kind].allows(tooth_um).all())


def spreading_rate_m2_per_l(
    *, dry_um: float, volume_solids: float, loss_ratio: float = 0.0
) -> float:
    """Return the area one litre covers. [m2/l]

    ``1000 * VS * (1 - loss) / DFT``.

    Parameters
    ----------
    dry_um : float
        Wanted dry film. [um], > 0
    volume_solids : float
        [1], 0 < VS <= 1
    loss_ratio : float, default 0.0
        Share of the volume that never reaches the roof. [1], 0 <= loss < 1

    Raises
    ------
    FilmInputError
        If an input lies outside its range.

    Notes
    -----
    One published data sheet misprints the constant as 100; its own example uses 1000.
    """
    ABOVE_ZERO.require("dry_um", dry_um)
    SHARE_ABOVE_ZERO.require("volume_solids", volume_solids)
    SHARE_BELOW_ONE.require("loss_ratio", loss_ratio)
    return COVERAGE_M2_UM_PER_L * volume_solids * (1 - loss_ratio) / dry_um


def spreading_rate_ft2_per_gal(
    *, dry_mil: float, volume_solids: float, loss_ratio: float = 0.0
) -> float:
    """Return the area one US gallon covers. [ft2/gal]

    ``1604.1667 * VS * (1 - loss) / DFT`` with the dry film in mil; ranges and errors
    as in `spreading_rate_m2_per_l`.
    """
    ABOVE_ZERO.require("dry_mil", dry_mil)
    SHARE_ABOVE_ZERO.require("volume_solids", volume_solids)
    SHARE_BELOW_ONE.require("loss_ratio", loss_ratio)
    return COVERAGE_FT2_MIL_PER_GAL * volume_solids * (1 - loss_ratio) / dry_mil
