"""A picture of the film between readings. Never used for acceptance.

Inverse distance with power 2 over all readings, 0.25 m cells. The left-out error is
printed beside the map, cells far from every reading are marked as not measured, and
the readings themselves are drawn. Power, cell and reach are project conventions; on
simulated roofs this was a few per cent worse than kriging, at a tenth of the cost.

References
----------
.. [1] Shepard (1968), inverse distance weighting.
.. [2] Isaaks & Srivastava (1989), chapter 12: the points the tests use.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fleet.film.bounds import ABOVE_ZERO, AT_LEAST_ZERO, Bounds, FloatArray
from fleet.film.errors import FilmInputError

POWER: Final = 2.0
CELL_M: Final = 0.25
REACH_M: Final = 1.5  # farther from every reading than this is not measured
AT_READING_M: Final = 1e-6  # nearer than this is at the reading
LITTLE_RATIO: Final = 0.9  # a map this near to the plain mean explains little
MAX_CELLS: Final = 250_000  # refuses metres typed as millimetres, not any roof
_FINITE: Final = Bounds()


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmMap:
    """Estimated film over a roof, from the front cap (x) and the left gutter (y).

    `dry_um` and `is_measured` have shape (len(y_m), len(x_m)); `x_m` and `y_m` are
    cell centres. `left_out_rmse_um` is the error of predicting each reading from the
    others, `mean_rmse_um` that of predicting it by the mean of the others; both are
    None with fewer than two readings.
    """

    cell_m: float
    x_m: FloatArray
    y_m: FloatArray
    dry_um: FloatArray
    is_measured: NDArray[np.bool_]
    reading_x_m: FloatArray
    reading_y_m: FloatArray
    reading_dry_um: FloatArray
    left_out_rmse_um: float | None
    mean_rmse_um: float | None

    @property
    def explains_little(self) -> bool:
        """Whether the plain mean predicts a left-out reading about as well.

        True as well when there are too few readings to tell.
        """
        if self.left_out_rmse_um is None or self.mean_rmse_um is None:
            return True
        return self.left_out_rmse_um >= LITTLE_RATIO * self.mean_rmse_um

    @property
    def measured_ratio(self) -> float:
        """Share of the cells within reach of a reading. [1]"""
        return float(self.is_measured.mean())


def film_map(
    x_m: FloatArray,
    y_m: FloatArray,
    dry_um: FloatArray,
    *,
    length_m: float,
    width_m: float,
) -> FilmMap:
    """Return the film map of one coat on one roof.

    Parameters
    ----------
    x_m, y_m : ndarray, shape (n,)
        Places of the readings, n >= 1. [m]
    dry_um : ndarray, shape (n,)
        Dry film at each place. [um], >= 0. Readings of one spot should be averaged
        first: three shots on one spot are one place.
    length_m, width_m : float
        Outline of the roof. [m], > 0

    Raises
    ------
    FilmInputError
        If there is no reading, columns differ in length, a value lies outside its
        range, or the outline is too large to be a roof.
    """
    _require_readings(x_m, y_m, dry_um)
    centres_x_m = _cell_centres("length_m", length_m)
    centres_y_m = _cell_centres("width_m", width_m)
    if centres_x_m.size * centres_y_m.size > MAX_CELLS:
        raise FilmInputError(
            f"length_m x width_m must fit {MAX_CELLS} cells of {CELL_M} m, got "
            f"{length_m:g} x {width_m:g} m. Give the roof's outline in metres."
        )
    grid_x_m, grid_y_m = np.meshgrid(centres_x_m, centres_y_m)
    distance_m = _distances(grid_x_m.ravel(), grid_y_m.ravel(), x_m, y_m)
    left_out_um, mean_um = _left_out_errors(x_m, y_m, dry_um)
    return FilmMap(
        cell_m=CELL_M,
        x_m=centres_x_m,
        y_m=centres_y_m,
        dry_um=_weighted(distance_m, dry_um, POWER).reshape(grid_x_m.shape),
        is_measured=(distance_m.min(axis=1) <= REACH_M).reshape(grid_x_m.shape),
        reading_x_m=x_m.copy(),
        reading_y_m=y_m.copy(),
        reading_dry_um=dry_um.copy(),
        left_out_rmse_um=left_out_um,
        mean_rmse_um=mean_um,
    )


def inverse_distance(
    x: FloatArray,
    y: FloatArray,
    values: FloatArray,
    *,
    at_x: FloatArray,
    at_y: FloatArray,
    power: float = POWER,
) -> FloatArray:
    """Return the inverse-distance estimate at each target.

    ``sum(v_i d_i^-p) / sum(d_i^-p)``; exactly at readings, their mean.

    Parameters
    ----------
    x, y, values : ndarray, shape (n,)
        Places and values of the readings, n >= 1; coordinates in one length unit.
    at_x, at_y : ndarray, shape (m,)
        Targets.
    power : float, default 2
        [1], > 0

    Returns
    -------
    ndarray, shape (m,)
        Always within the range of `values`.

    Raises
    ------
    FilmInputError
        If there is no reading, columns differ in length or a value is not finite.
    """
    ABOVE_ZERO.require("power", power)
    _require_columns(x, y, values)
    return _weighted(_distances(at_x, at_y, x, y), values, power)


def _require_readings(x_m: FloatArray, y_m: FloatArray, dry_um: FloatArray) -> None:
    _require_columns(x_m, y_m, dry_um)
    AT_LEAST_ZERO.require("dry_um", dry_um)


def _require_columns(x: FloatArray, y: FloatArray, values: FloatArray) -> None:
    if not x.shape == y.shape == values.shape or x.ndim != 1 or x.size == 0:
        raise FilmInputError(
            "x, y and values must be columns of one length >= 1, got "
            f"{x.shape}, {y.shape}, {values.shape}. Place at least one reading."
        )
    for name, column in (("x", x), ("y", y), ("values", values)):
        _FINITE.require(name, column)


def _cell_centres(name: str, extent_m: float) -> FloatArray:
    ABOVE_ZERO.require(name, extent_m)
    cells = max(1, int(np.ceil(min(extent_m / CELL_M, MAX_CELLS + 1) - 1e-9)))
    return (np.arange(cells, dtype=np.float64) + 0.5) * CELL_M


def _distances(
    at_x: FloatArray, at_y: FloatArray, x: FloatArray, y: FloatArray
) -> FloatArray:
    """Return distances of shape (targets, readings)."""
    apart: FloatArray = np.hypot(at_x[:, None] - x[None, :], at_y[:, None] - y[None, :])
    return apart


def _weighted(distance: FloatArray, values: FloatArray, power: float) -> FloatArray:
    at_reading = distance < AT_READING_M
    weight = np.maximum(distance, AT_READING_M) ** -power
    touching = at_reading.any(axis=1)
    weight[touching] = at_reading[touching]
    estimate = (weight @ values) / weight.sum(axis=1)
    # Rounding may leave the range of the readings by an ulp: a mean cannot.
    clipped: FloatArray = np.clip(estimate, values.min(), values.max())
    return clipped


def _left_out_errors(
    x_m: FloatArray, y_m: FloatArray, dry_um: FloatArray
) -> tuple[float | None, float | None]:
    count = dry_um.size
    if count < 2:
        return None, None
    others = ~np.eye(count, dtype=np.bool_)
    distance_m = _distances(x_m, y_m, x_m, y_m)[others].reshape(count, count - 1)
    values_um = np.broadcast_to(dry_um, (count, count))[others]
    values_um = values_um.reshape(count, count - 1)
    at_reading = distance_m < AT_READING_M
    weight = np.maximum(distance_m, AT_READING_M) ** -POWER
    touching = at_reading.any(axis=1)
    weight[touching] = at_reading[touching]
    predicted_um = (weight * values_um).sum(axis=1) / weight.sum(axis=1)
    mean_um = values_um.mean(axis=1)
    return _rms(predicted_um - dry_um), _rms(mean_um - dry_um)


def _rms(error: FloatArray) -> float:
    return float(np.sqrt(np.mean(error**2)))
