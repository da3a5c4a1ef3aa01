"""How far it is by road, estimated from coordinates."""

from __future__ import annotations

import numpy as np

from fleet.trips.errors import TripInputError

EARTH_RADIUS_KM = 6371.0088  # mean radius R1, IUGG (Moritz 1980, GRS 80)
# Roads are longer than the straight line; common practice, no source.
ROAD_FACTOR = 1.3


def road_matrix_km(
    latitudes: np.ndarray, longitudes: np.ndarray, *, road_factor: float = ROAD_FACTOR
) -> np.ndarray:
    """Return the estimated road distances between all places.

    ``d = f * 2 R asin(sqrt(sin^2(dlat/2) + cos lat1 cos lat2 sin^2(dlon/2)))``

    Parameters
    ----------
    latitudes, longitudes : array, shape (n,)
        WGS 84. [degrees], -90 to 90 and -180 to 180
    road_factor : float, default 1.3
        Road over straight line. [1], 1 to 3

    Returns
    -------
    array, shape (n, n)
        [km]

    Raises
    ------
    TripInputError
        If a coordinate is not finite or lies outside its range, or the shapes differ.

    Notes
    -----
    An estimate: it knows no river, bridge or closed road. The sphere is within 0.6 per
    cent of the ellipsoid, far less than the road factor errs.
    """
    if latitudes.shape != longitudes.shape or latitudes.ndim != 1:
        raise TripInputError("latitudes and longitudes must have one shape (n,)")
    if not (np.all(np.abs(latitudes) <= 90) and np.all(np.abs(longitudes) <= 180)):
        raise TripInputError(
            "latitudes must be in [-90, 90] and longitudes in [-180, 180]"
        )
    if not 1 <= road_factor <= 3:
        raise TripInputError(f"road_factor must be in [1, 3], got {road_factor}")
    lat, lon = np.radians(latitudes), np.radians(longitudes)
    across = np.sin((lat[:, None] - lat[None, :]) / 2) ** 2
    along = np.sin((lon[:, None] - lon[None, :]) / 2) ** 2
    half = across + np.cos(lat)[:, None] * np.cos(lat)[None, :] * along
    straight = 2 * EARTH_RADIUS_KM * np.arcsin(np.sqrt(np.clip(half, 0, 1)))
    return np.asarray(road_factor * straight)
