"""What a set of readings can promise about the film it did not touch.

Shown beside the acceptance rule, never instead of it. Tolerance theory assumes
independent readings from a normal film: average three shots on one spot first.

References
----------
.. [1] NIST/SEMATECH e-Handbook, 7.2.6.3 (one-sided tolerance limits).
.. [2] Hahn & Meeker, Statistical Intervals; ISO 16269-6 (tables of k).
.. [3] Wilks (1941), tolerance limits without a distribution.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import stats

from fleet.film.bounds import AT_LEAST_ZERO, Bounds, FloatArray
from fleet.film.errors import FilmInputError
from fleet.film.level import READINGS_PER_SPOT, SPOTS_PER_AREA

PROPORTION: Final = 0.95  # share of the film a bound speaks of
CONFIDENCE: Final = 0.95  # how sure it is
_OPEN_SHARE: Final = Bounds(low=0.0, high=1.0, low_in=False, high_in=False)
_MOST_READINGS: Final = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmSummary:
    """Mean, spread and one-sided bounds of a set of film values, in their unit.

    `sd`, `lower_bound` and `upper_bound` are None with fewer than two values;
    `share_below` is None without a minimum.
    """

    count: int
    mean: float
    sd: float | None
    lowest: float
    highest: float
    share_below: float | None
    lower_bound: float | None
    upper_bound: float | None


def tolerance_factor(
    count: int, *, proportion: float = PROPORTION, confidence: float = CONFIDENCE
) -> float:
    """Return the exact one-sided normal tolerance factor k1. [1]

    ``k1 = t'(confidence; n - 1, z_p sqrt(n)) / sqrt(n)`` with t' the quantile of the
    noncentral t distribution: at least `proportion` of the film lies above
    ``mean - k1 * sd`` with `confidence`.

    Parameters
    ----------
    count : int
        Number of independent values. >= 2
    proportion, confidence : float, default 0.95
        [1], inside (0, 1)

    Raises
    ------
    FilmInputError
        If an input lies outside its range.
    """
    if count < 2:
        raise FilmInputError(
            f"count must be >= 2, got {count}. One reading says nothing about spread."
        )
    _OPEN_SHARE.require("proportion", proportion)
    _OPEN_SHARE.require("confidence", confidence)
    root = float(np.sqrt(count))
    shift = float(stats.norm.ppf(proportion)) * root
    return float(stats.nct.ppf(confidence, count - 1, shift)) / root


def summarise(values: FloatArray, *, minimum: float | None = None) -> FilmSummary:
    """Return the summary of film values and their 95/95 bounds.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Film, one value per place, in one unit. >= 0, n >= 1
    minimum : float or None
        The specified minimum in the same unit, for `share_below`.

    Raises
    ------
    FilmInputError
        If there is no value or one is negative or not finite.
    """
    if values.size == 0:
        raise FilmInputError(
            "values must hold at least one film value, got none. Take readings first."
        )
    AT_LEAST_ZERO.require("values", values)
    mean = float(values.mean())
    sd = lower = upper = None
    if values.size >= 2:
        sd = float(values.std(ddof=1))
        reach = tolerance_factor(values.size) * sd
        lower, upper = mean - reach, mean + reach
    return FilmSummary(
        count=values.size,
        mean=mean,
        sd=sd,
        lowest=float(values.min()),
        highest=float(values.max()),
        share_below=None if minimum is None else float((values < minimum).mean()),
        lower_bound=lower,
        upper_bound=upper,
    )


def readings_needed(
    *,
    below: int = 0,
    proportion: float = PROPORTION,
    confidence: float = CONFIDENCE,
) -> int:
    """Return how many readings give a bound without assuming a distribution.

    The smallest n with ``P(Binomial(n, 1 - p) > below) >= confidence``: if at most
    `below` of n readings lie under the minimum, at least `proportion` of the film is
    above it with `confidence`. A two-sided bound by lowest and highest reading needs
    as many as ``below=1``.

    Parameters
    ----------
    below : int, default 0
        Readings allowed under the minimum. >= 0
    proportion, confidence : float, default 0.95
        [1], inside (0, 1)

    Raises
    ------
    FilmInputError
        If an input lies outside its range, or a million readings are not enough.
    """
    _require_not_negative("below", below)
    _OPEN_SHARE.require("proportion", proportion)
    _OPEN_SHARE.require("confidence", confidence)

    def is_enough(count: int) -> bool:
        return bool(stats.binom.sf(below, count, 1 - proportion) >= confidence)

    return _smallest(is_enough, low=below + 1, high=_MOST_READINGS)


def checks_needed_of(
    total: int, *, bad_ratio: float = 0.05, confidence: float = CONFIDENCE
) -> int:
    """Return how many of `total` places, all sound, show that few are bad.

    The smallest n for which finding no bad place among n of `total` leaves less than
    ``1 - confidence`` for more than ``bad_ratio * total`` bad ones (hypergeometric).

    Parameters
    ----------
    total : int
        Places on the roof. >= 1
    bad_ratio : float, default 0.05
        Share that may be bad. [1], inside (0, 1)

    Raises
    ------
    FilmInputError
        If an input lies outside its range.
    """
    if total < 1:
        raise FilmInputError(
            f"total must be >= 1, got {total}. Count the places on the roof."
        )
    _OPEN_SHARE.require("bad_ratio", bad_ratio)
    _OPEN_SHARE.require("confidence", confidence)
    bad = int(np.floor(bad_ratio * total + 1e-9)) + 1

    def is_enough(count: int) -> bool:
        missed = stats.hypergeom.pmf(0, total, min(bad, total), count)
        return bool(missed <= 1 - confidence)

    return _smallest(is_enough, low=1, high=total)


def readings_share(taken: int, *, areas_required: int) -> float:
    """Return the share of the readings an area count needs that were taken. [1]

    Fifteen readings an area (five spots of three); above 1 when more were taken.

    Raises
    ------
    FilmInputError
        If `taken` is negative or `areas_required` is below 1.
    """
    _require_not_negative("taken", taken)
    if areas_required < 1:
        raise FilmInputError(
            f"areas_required must be >= 1, got {areas_required}. "
            "Compute it from the roof's length and width."
        )
    return taken / (areas_required * SPOTS_PER_AREA * READINGS_PER_SPOT)


def _require_not_negative(name: str, value: int) -> None:
    if value < 0:
        raise FilmInputError(
            f"{name} must be >= 0, got {value}. Correct the count and try again."
        )


def _smallest(is_enough: Callable[[int], bool], *, low: int, high: int) -> int:
    """Return the smallest count that is enough, by bisection (more is never worse)."""
    if not is_enough(high):
        raise FilmInputError(
            f"{high} readings are not enough for this proportion and confidence. "
            "Ask for less of either."
        )
    while low < high:
        middle = (low + high) // 2
        if is_enough(middle):
            high = middle
        else:
            low = middle + 1
    return low
