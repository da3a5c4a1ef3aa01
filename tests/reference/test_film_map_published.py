"""Inverse distance on published points."""

from __future__ import annotations

import numpy as np
import pytest

from fleet.film.map import inverse_distance

# Isaaks & Srivastava (1989), chapter 12, Walker Lake: x, y, V around (65, 137). The
# data are published; the inverse-distance values were computed independently.
POINTS = np.array(
    [
        (61, 139, 477),
        (63, 140, 696),
        (64, 129, 227),
        (68, 128, 646),
        (71, 140, 606),
        (73, 141, 791),
        (75, 128, 783),
    ],
    dtype=np.float64,
).T


@pytest.mark.parametrize(("power", "estimate"), [(1, 593.9537), (2, 597.6204)])
def test_walker_lake(power, estimate):
    result = inverse_distance(
        *POINTS, at_x=np.array([65.0]), at_y=np.array([137.0]), power=power
    )

    assert result[0] == pytest.approx(estimate, abs=5e-5)
