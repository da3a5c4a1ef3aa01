"""The dry film of many coats at once, over ragged columns.

One row per reading and one per (roof, coat) group; the work is one sort and a few
reductions, so its cost per reading does not depend on how the readings are spread.

References
----------
.. [1] SSPC-PA 2 (2015, editorial revision 2018). Written for metal: see
   `fleet.film.level.BORROWED`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.film.bounds import AT_LEAST_ZERO, FloatArray
from fleet.film.errors import FilmInputError
from fleet.film.level import (
    DEFAULT_LEVEL,
    LIMIT_TOLERANCE_MIL,
    READINGS_PER_SPOT,
    SPOTS_PER_AREA,
    film_limit_columns,
)
from fleet.film.verdict import MET_CODE, NOT_MET_CODE, UNKNOWN_CODE, VerdictCodes

IntArray = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanColumns:
    """Means over runs of equal keys, one row a run, in key order.

    `keys` has shape (k, m): one row per key column, one column per run.
    """

    keys: IntArray
    count: IntArray
    mean_mil: FloatArray


def spot_mean_columns(
    group: IntArray, area: IntArray, spot: IntArray, dry_mil: FloatArray
) -> MeanColumns:
    """Return count and mean of each spot, ordered by group, area, spot.

    Parameters
    ----------
    group, area, spot : ndarray of int, shape (n,)
        Where each reading belongs.
    dry_mil : ndarray, shape (n,)
        Dry film. [mil], >= 0

    Raises
    ------
    FilmInputError
        If the columns differ in length or a film is negative or not finite.
    """
    if not group.shape == area.shape == spot.shape == dry_mil.shape:
        raise FilmInputError(
            f"group, area, spot and dry_mil must have one shape, got {group.shape}, "
            f"{area.shape}, {spot.shape}, {dry_mil.shape}. Pass one row per reading."
        )
    AT_LEAST_ZERO.require("dry_mil", dry_mil)
    return _means(np.stack((group, area, spot)).astype(np.int64), dry_mil)


def judge_coats(
    group: IntArray,
    area: IntArray,
    spot: IntArray,
    dry_mil: FloatArray,
    *,
    dry_min_mil: FloatArray,
    dry_max_mil: FloatArray,
    areas_required: IntArray,
    level: int | IntArray = DEFAULT_LEVEL,
) -> VerdictCodes:
    """Return the film verdict of every (roof, coat) group.

    The rule of `fleet.film.acceptance.judge_coat`, over columns.

    Parameters
    ----------
    group : ndarray of int, shape (n,)
        Row of the group columns that each reading belongs to, 0 to g - 1; any order.
    area, spot : ndarray of int, shape (n,)
        Area and spot number of each reading.
    dry_mil : ndarray, shape (n,)
        Dry film. [mil], >= 0
    dry_min_mil, dry_max_mil : ndarray, shape (g,)
        Specified dry film; NaN where there is no such limit. [mil], > 0
    areas_required : ndarray of int, shape (g,)
        Complete areas needed. >= 0
    level : int or ndarray of int, shape (g,), default 3
        Restriction level, 1 to 5.

    Returns
    -------
    ndarray of int8, shape (g,)
        0 unknown, 1 met, 2 not met. A group without readings is unknown unless it
        needs no area.

    Raises
    ------
    FilmInputError
        If columns do not fit together or a value lies outside its range.
    """
    groups = dry_min_mil.size
    _require_group_columns(group, groups, dry_max_mil, areas_required)
    levels = np.broadcast_to(np.asarray(level, dtype=np.int64), (groups,))
    limits = film_limit_columns(dry_min_mil, dry_max_mil, levels=levels)

    spots = spot_mean_columns(group, area, spot, dry_mil)
    judged = spots.count >= READINGS_PER_SPOT
    spot_keys, spot_mil = spots.keys[:, judged], spots.mean_mil[judged]
    bad_spot = _outside(
        spot_mil, spot_keys[0], limits.spot_low_mil, limits.spot_high_mil
    )

    areas = _means(spot_keys[:2], spot_mil)
    complete = areas.count >= SPOTS_PER_AREA
    area_group, area_mil = areas.keys[0, complete], areas.mean_mil[complete]
    bad_area = _outside(area_mil, area_group, limits.area_low_mil, limits.area_high_mil)

    failing = np.bincount(spot_keys[0][bad_spot], minlength=groups)
    failing += np.bincount(area_group[bad_area], minlength=groups)
    enough = np.bincount(area_group, minlength=groups) >= areas_required
    codes = np.where(enough, MET_CODE, UNKNOWN_CODE)
    verdicts: VerdictCodes = np.where(failing > 0, NOT_MET_CODE, codes).astype(np.int8)
    return verdicts


def _require_group_columns(
    group: IntArray, groups: int, dry_max_mil: FloatArray, areas_required: IntArray
) -> None:
    if not groups == dry_max_mil.size == areas_required.size:
        raise FilmInputError(
            "dry_min_mil, dry_max_mil and areas_required must have one length, got "
            f"{groups}, {dry_max_mil.size}, {areas_required.size}. "
            "Pass one row per roof and coat."
        )
    if group.size and (group.min() < 0 or group.max() >= groups):
        raise FilmInputError(
            f"group must be in [0, {groups}), got {int(group.min())} to "
            f"{int(group.max())}. Number the groups by their row."
        )
    if areas_required.size and areas_required.min() < 0:
        raise FilmInputError(
            f"areas_required must be >= 0, got {int(areas_required.min())}. "
            "Compute it from the roof's length and width."
        )


def _means(keys: IntArray, values: FloatArray) -> MeanColumns:
    """Return the mean of `values` over equal columns of `keys`."""
    if values.size == 0:
        empty = np.zeros(0, dtype=np.int64)
        return MeanColumns(keys=keys[:, :0], count=empty, mean_mil=np.zeros(0))
    keys, values = _in_key_order(keys, values)
    first = np.empty(values.size, dtype=np.bool_)
    first[0] = True
    first[1:] = (keys[:, 1:] != keys[:, :-1]).any(axis=0)
    starts = np.flatnonzero(first)
    count = np.diff(starts, append=values.size).astype(np.int64)
    return MeanColumns(
        keys=keys[:, starts],
        count=count,
        mean_mil=np.add.reduceat(values, starts) / count,
    )


def _in_key_order(keys: IntArray, values: FloatArray) -> tuple[IntArray, FloatArray]:
    """Return keys and values sorted by key, first key slowest."""
    low = keys.min(axis=1)
    spans = [int(span) for span in keys.max(axis=1) - low + 1]
    packed_span = 1
    for span in spans:
        packed_span *= span
    if packed_span >= 2**62:  # too wide for one integer: sort key by key
        order = np.lexsort(keys[::-1])
        return keys[:, order], values[order]
    packed = np.zeros(values.size, dtype=np.int64)
    for row, span in enumerate(spans):
        packed = packed * span + (keys[row] - low[row])
    if (packed[1:] >= packed[:-1]).all():  # the database often sorts already
        return keys, values
    order = np.argsort(packed, kind="stable")
    return keys[:, order], values[order]


def _outside(
    mean_mil: FloatArray,
    group: IntArray,
    low_mil: FloatArray,
    high_mil: FloatArray,
) -> NDArray[np.bool_]:
    """Return which means leave the inclusive limits of their group."""
    low = low_mil[group] - LIMIT_TOLERANCE_MIL
    high = high_mil[group] + LIMIT_TOLERANCE_MIL
    outside: NDArray[np.bool_] = (mean_mil < low) | (mean_mil > high)
    return outside
