"""Restriction levels, limits and counts of SSPC-PA 2, as data.

The rule is written for dry film on *metal*, read with ASTM D7091 gauges. On a rubber,
thermoplastic or fibreglass roof its arithmetic is borrowed and its instruments are not
covered: `BORROWED` says so wherever a verdict is shown.

References
----------
.. [1] SSPC-PA 2 (2015, editorial revision 2018), numbers only.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fleet.film.bounds import ABOVE_ZERO, FloatArray
from fleet.film.errors import FilmInputError

RULE_NAME: Final = "SSPC-PA 2 (2015, rev. 2018)"
BORROWED: Final = (
    "SSPC-PA 2 is written for dry film on metal; its arithmetic is borrowed here, "
    "and its instruments do not cover this roof unless it is metal."
)
READINGS_PER_SPOT: Final = 3  # SSPC-PA 2, 3.2
SPOTS_PER_AREA: Final = 5  # SSPC-PA 2, 8.2
DEFAULT_LEVEL: Final = 3  # where a specification names none
# A mean on a limit passes: this absorbs the float error of a mean. [mil]
LIMIT_TOLERANCE_MIL: Final = 1e-9
# Project convention: an area this much over a multiple is that multiple, since
# lengths are taped to an inch and stored in metres. [1], share of 100 ft2 or 10 m2
_AREA_SLACK: Final = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class RestrictionLevel:
    """How far spots and areas may leave the specified limits.

    Ratios multiply the specified minimum or maximum; an infinite maximum ratio means
    unrestricted. Single readings are never limited. `certainty`: ``confirmed`` (read
    in pages that quote the rule) or ``unverified`` (from memory: check the edition you
    hold before relying on it).
    """

    level: int
    spot_min_ratio: float
    spot_max_ratio: float
    area_min_ratio: float
    area_max_ratio: float
    certainty: str


LEVELS: Final[tuple[RestrictionLevel, ...]] = (
    RestrictionLevel(
        level=1,
        spot_min_ratio=1.0,
        spot_max_ratio=1.0,
        area_min_ratio=1.0,
        area_max_ratio=1.0,
        certainty="confirmed",
    ),
    RestrictionLevel(
        level=2,
        spot_min_ratio=1.0,
        spot_max_ratio=1.2,
        area_min_ratio=1.0,
        area_max_ratio=1.0,
        certainty="unverified",
    ),
    RestrictionLevel(
        level=3,
        spot_min_ratio=0.8,
        spot_max_ratio=1.2,
        area_min_ratio=1.0,
        area_max_ratio=1.0,
        certainty="confirmed",
    ),
    RestrictionLevel(
        level=4,
        spot_min_ratio=0.8,
        spot_max_ratio=1.5,
        area_min_ratio=1.0,
        area_max_ratio=inf,  # the weakest cell of all: it could be 1.0
        certainty="unverified",
    ),
    RestrictionLevel(
        level=5,
        spot_min_ratio=0.8,
        spot_max_ratio=inf,
        area_min_ratio=1.0,
        area_max_ratio=inf,
        certainty="unverified",
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmLimits:
    """Limits of one coat's spot and area means, inclusive; infinite if none. [mil]"""

    spot_low_mil: float
    spot_high_mil: float
    area_low_mil: float
    area_high_mil: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmLimitColumns:
    """The limits of many coats, each of shape (g,); infinite where none. [mil]"""

    spot_low_mil: FloatArray
    spot_high_mil: FloatArray
    area_low_mil: FloatArray
    area_high_mil: FloatArray


def restriction_level(level: int) -> RestrictionLevel:
    """Return the row of the table for a level from 1 to 5.

    Raises
    ------
    FilmInputError
        If there is no such level.
    """
    if not 1 <= level <= len(LEVELS):
        raise FilmInputError(
            f"level must be 1 to {len(LEVELS)}, got {level}. "
            "Take the level from the coat's specification; without one use 3."
        )
    return LEVELS[level - 1]


def film_limits(
    dry_min_mil: float | None, dry_max_mil: float | None, *, level: int = DEFAULT_LEVEL
) -> FilmLimits:
    """Return the spot and area limits of one coat.

    Parameters
    ----------
    dry_min_mil, dry_max_mil : float or None
        Specified dry film. [mil], > 0; None where the sheet gives no such limit.
    level : int, default 3
        Restriction level, 1 to 5.

    Raises
    ------
    FilmInputError
        If both limits are missing, one is not above zero, or they are crossed.
    """
    row = restriction_level(level)
    low = np.array([np.nan if dry_min_mil is None else dry_min_mil])
    high = np.array([np.nan if dry_max_mil is None else dry_max_mil])
    columns = film_limit_columns(low, high, levels=np.array([row.level]))
    return FilmLimits(
        spot_low_mil=float(columns.spot_low_mil[0]),
        spot_high_mil=float(columns.spot_high_mil[0]),
        area_low_mil=float(columns.area_low_mil[0]),
        area_high_mil=float(columns.area_high_mil[0]),
    )


def film_limit_columns(
    dry_min_mil: FloatArray, dry_max_mil: FloatArray, *, levels: NDArray[np.integer]
) -> FilmLimitColumns:
    """Return the spot and area limits of many coats.

    Parameters
    ----------
    dry_min_mil, dry_max_mil : ndarray, shape (g,)
        Specified dry film; NaN where there is no such limit. [mil], > 0
    levels : ndarray of int, shape (g,)
        Restriction level of each coat, 1 to 5.

    Raises
    ------
    FilmInputError
        As for `film_limits`, naming the first coat's value.
    """
    if levels.size and (levels.min() < 1 or levels.max() > len(LEVELS)):
        restriction_level(int(levels.min() if levels.min() < 1 else levels.max()))
    no_low, no_high = np.isnan(dry_min_mil), np.isnan(dry_max_mil)
    if (no_low & no_high).any():
        raise FilmInputError(
            "dry_min_mil and dry_max_mil are both missing. "
            "A coat without dry limits is not judged: leave it out."
        )
    ABOVE_ZERO.require("dry_min_mil", dry_min_mil[~no_low])
    ABOVE_ZERO.require("dry_max_mil", dry_max_mil[~no_high])
    crossed = dry_max_mil < dry_min_mil  # False where either is NaN
    if crossed.any():
        raise FilmInputError(
            f"dry_max_mil must be >= dry_min_mil ({dry_min_mil[crossed][0]:g}), got "
            f"{dry_max_mil[crossed][0]:g}. Check the coat's data sheet."
        )
    low = np.where(no_low, -inf, dry_min_mil)
    high = np.where(no_high, inf, dry_max_mil)
    index = levels.astype(np.intp) - 1
    return FilmLimitColumns(
        spot_low_mil=low * _RATIOS["spot_min"][index],
        spot_high_mil=high * _RATIOS["spot_max"][index],
        area_low_mil=low * _RATIOS["area_min"][index],
        area_high_mil=high * _RATIOS["area_max"][index],
    )


_RATIOS: Final[dict[str, FloatArray]] = {
    "spot_min": np.array([row.spot_min_ratio for row in LEVELS]),
    "spot_max": np.array([row.spot_max_ratio for row in LEVELS]),
    "area_min": np.array([row.area_min_ratio for row in LEVELS]),
    "area_max": np.array([row.area_max_ratio for row in LEVELS]),
}


def areas_required_ft2(area_ft2: float | FloatArray) -> NDArray[np.int64]:
    """Return how many areas of five spots a roof of `area_ft2` needs.

    Up to 300 ft2: one for each 100 ft2 or part; up to 1000 ft2: three; above: three
    and one more for each further 1000 ft2 or part.

    Parameters
    ----------
    area_ft2 : float or ndarray, shape (n,)
        Roof area without laps. [ft2], > 0

    Returns
    -------
    ndarray of int64, shape () or (n,)

    Raises
    ------
    FilmInputError
        If an area is not finite and above zero.
    """
    ABOVE_ZERO.require("area_ft2", area_ft2)
    return _areas_required(np.asarray(area_ft2, dtype=np.float64) / 100.0)


def areas_required_m2(area_m2: float | FloatArray) -> NDArray[np.int64]:
    """Return the count of areas by the rule's metric figures (10, 30, 100 m2).

    The two unit systems are not exact equivalents (30 m2 is 322.9 ft2): use one per
    record and never convert to reach the smaller count. Range and errors as in
    `areas_required_ft2`.
    """
    ABOVE_ZERO.require("area_m2", area_m2)
    return _areas_required(np.asarray(area_m2, dtype=np.float64) / 10.0)


def _areas_required(counting_areas: FloatArray) -> NDArray[np.int64]:
    small = np.minimum(np.maximum(np.ceil(counting_areas - _AREA_SLACK), 1), 3)
    large = np.maximum(np.ceil((counting_areas - 10.0) / 10.0 - _AREA_SLACK), 0)
    count: NDArray[np.int64] = (small + large).astype(np.int64)
    return count


def total_build_limits(
    limits_mil: tuple[tuple[float, float], ...],
) -> tuple[float, float]:
    """Return summed minimum and maximum for the total of several coats. [mil]

    SSPC-PA 2 section 9 (from memory) judges a cumulative film against the sums; here
    the total is shown beside them and not judged.
    """
    if not limits_mil:
        raise FilmInputError(
            "limits_mil must hold at least one coat, got none. List the coats to sum."
        )
    return sum(low for low, _ in limits_mil), sum(high for _, high in limits_mil)
