"""Road distances are estimated from coordinates."""

from __future__ import annotations

import numpy as np
import pytest

from fleet.trips.distance import EARTH_RADIUS_KM, ROAD_FACTOR, road_matrix_km
from fleet.trips.errors import TripInputError


def between(a, b, **over) -> float:
    found = road_matrix_km(np.array([a[0], b[0]]), np.array([a[1], b[1]]), **over)
    return float(found[0, 1])


def test_a_quarter_of_the_sphere():
    quarter = between((0, 0), (0, 90), road_factor=1)

    assert quarter == pytest.approx(np.pi / 2 * EARTH_RADIUS_KM, rel=1e-12)


def test_over_the_date_line_is_no_detour():
    assert between((0, 179.5), (0, -179.5), road_factor=1) == pytest.approx(
        np.pi / 180 * EARTH_RADIUS_KM, rel=1e-9
    )


def test_the_road_is_longer_than_the_straight_line():
    straight = between((43, -85), (44, -86), road_factor=1)

    assert between((43, -85), (44, -86)) == pytest.approx(ROAD_FACTOR * straight)


def test_the_matrix_is_symmetric_and_nothing_on_its_diagonal():
    chance = np.random.default_rng(1)
    found = road_matrix_km(chance.uniform(-90, 90, 30), chance.uniform(-180, 180, 30))

    assert np.allclose(found, found.T)
    assert not found.diagonal().any()


@pytest.mark.parametrize(
    "wrong", [(91, 0), (-91, 0), (0, 181), (float("nan"), 0), (0, float("inf"))]
)
def test_refuses_what_is_no_place(wrong):
    with pytest.raises(TripInputError, match="latitudes"):
        between(wrong, (0, 0))


@pytest.mark.parametrize("factor", [0.9, 3.1, float("nan")])
def test_refuses_an_impossible_road_factor(factor):
    with pytest.raises(TripInputError, match="road_factor"):
        between((0, 0), (1, 1), road_factor=factor)
