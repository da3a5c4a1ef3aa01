"""How far a thin or thick place reaches: the walk outward from a failing spot.

From a failing spot, further spots are measured every 1.5 m (5 ft) outward until two
in a row conform. Here the plain minimum and maximum count: a restriction level's
allowance does not apply.

References
----------
.. [1] SSPC-PA 2 (2015, editorial revision 2018), section 8. The eight directions are
   from memory. Written for metal: see `fleet.film.level.BORROWED`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, hypot, pi, sin
from typing import Final

from fleet.film.bounds import ABOVE_ZERO, AT_LEAST_ZERO
from fleet.film.errors import FilmInputError
from fleet.film.level import LIMIT_TOLERANCE_MIL

STEP_M: Final = 1.5  # 5 ft, by the rule's metric figure
DIRECTIONS: Final = 8  # equally spaced, from memory
CONFORMING_IN_A_ROW: Final = 2
_EDGE_TOLERANCE_M: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class RayTrace:
    """One direction walked outward from a failing spot.

    `spots_used` are the spots up to the one that ended the walk; `failing_reach_m` is
    the distance of the farthest failing spot among them, 0.0 if none fails. An
    unsettled walk needs `spots_missing` more conforming spots, or ends at the edge.
    """

    is_settled: bool
    spots_used: int
    spots_missing: int
    failing_reach_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TracePoint:
    """Where to measure next: direction 0 runs along x, then turning towards y."""

    direction: int
    step: int
    x_m: float
    y_m: float


def trace_ray(
    spot_means_mil: Sequence[float],
    *,
    dry_min_mil: float,
    dry_max_mil: float | None,
) -> RayTrace:
    """Return how a walk in one direction ends.

    Parameters
    ----------
    spot_means_mil : sequence of float
        Spot means outward from the failing spot, which is not among them. [mil], >= 0
    dry_min_mil, dry_max_mil : float, float or None
        Specified dry film, inclusive. [mil], > 0

    Raises
    ------
    FilmInputError
        If a value lies outside its range or the limits are crossed.
    """
    ABOVE_ZERO.require("dry_min_mil", dry_min_mil)
    if dry_max_mil is not None and not dry_max_mil >= dry_min_mil:
        raise FilmInputError(
            f"dry_max_mil must be >= dry_min_mil ({dry_min_mil:g}), got "
            f"{dry_max_mil:g}. Check the coat's data sheet."
        )
    in_a_row = used = farthest = 0
    for step, mean_mil in enumerate(spot_means_mil, start=1):
        AT_LEAST_ZERO.require("spot_means_mil", mean_mil)
        used = step
        if _conforms(mean_mil, dry_min_mil, dry_max_mil):
            in_a_row += 1
        else:
            in_a_row, farthest = 0, step
        if in_a_row == CONFORMING_IN_A_ROW:
            break
    return RayTrace(
        is_settled=in_a_row == CONFORMING_IN_A_ROW,
        spots_used=used,
        spots_missing=CONFORMING_IN_A_ROW - in_a_row,
        failing_reach_m=farthest * STEP_M,
    )


def trace_points(
    x_m: float, y_m: float, *, length_m: float, width_m: float
) -> tuple[TracePoint, ...]:
    """Return every place of the walk that lies on the roof, direction by direction.

    Parameters
    ----------
    x_m, y_m : float
        The failing spot, on the roof. [m]
    length_m, width_m : float
        Outline of the roof. [m], > 0

    Raises
    ------
    FilmInputError
        If the outline has no size or the spot lies outside it.
    """
    ABOVE_ZERO.require("length_m", length_m)
    ABOVE_ZERO.require("width_m", width_m)
    if not _is_on_roof(x_m, y_m, length_m, width_m):
        raise FilmInputError(
            f"x_m, y_m must lie on the roof of {length_m:g} x {width_m:g} m, got "
            f"{x_m:g}, {y_m:g}. Check the place of the failing spot."
        )
    most_steps = int(hypot(length_m, width_m) / STEP_M) + 1
    points = []
    for direction in range(DIRECTIONS):
        along = cos(2 * pi * direction / DIRECTIONS)
        across = sin(2 * pi * direction / DIRECTIONS)
        for step in range(1, most_steps + 1):
            at_x_m, at_y_m = x_m + step * STEP_M * along, y_m + step * STEP_M * across
            if not _is_on_roof(at_x_m, at_y_m, length_m, width_m):
                break
            points.append(
                TracePoint(direction=direction, step=step, x_m=at_x_m, y_m=at_y_m)
            )
    return tuple(points)


def _conforms(mean_mil: float, low_mil: float, high_mil: float | None) -> bool:
    if mean_mil < low_mil - LIMIT_TOLERANCE_MIL:
        return False
    return high_mil is None or mean_mil <= high_mil + LIMIT_TOLERANCE_MIL


def _is_on_roof(x_m: float, y_m: float, length_m: float, width_m: float) -> bool:
    slack_m = _EDGE_TOLERANCE_M
    along = -slack_m <= x_m <= length_m + slack_m
    return along and -slack_m <= y_m <= width_m + slack_m
