"""The rate-doubling rule as a published coatings encyclopaedia page states it."""

from __future__ import annotations

import numpy as np
import pytest

from fleet.site.cure import cure_hours


# "At 10 °C twice, at 30 °C half the time of 20 °C"; the rest computed from the rule.
@pytest.mark.parametrize(
    ("temp_c", "hours"),
    [(10, 48.0), (30, 12.0), (20, 24.0), (15, 33.94), (25, 16.97), (5, 67.88)],
)
def test_twenty_four_hours_at_twenty_degrees(temp_c, hours):
    result = cure_hours(24.0, np.array([float(temp_c)]), minimum_c=0.0)

    assert result[0] == pytest.approx(hours, abs=0.005)
