"""Counts, limits and decisions of SSPC-PA 2 (2015, rev. 2018) as published."""

from __future__ import annotations

from math import inf

import numpy as np
import pytest

from fleet.film.acceptance import SpotReading, judge_coat
from fleet.film.level import (
    READINGS_PER_SPOT,
    SPOTS_PER_AREA,
    areas_required_ft2,
    areas_required_m2,
    film_limits,
    restriction_level,
    total_build_limits,
)
from fleet.film.verdict import Verdict


class TestAreasRequired:
    # Society newsletter and trade-press summary of 25 November 2014.
    @pytest.mark.parametrize(
        ("area_ft2", "areas"),
        [
            (90, 1),
            (100, 1),
            (101, 2),
            (264, 3),
            (300, 3),
            (301, 3),
            (1000, 3),
            (1001, 4),
            (2000, 4),
            (12500, 15),
        ],
    )
    def test_published_counts(self, area_ft2, areas):
        assert int(areas_required_ft2(float(area_ft2))) == areas

    def test_published_example_of_12500_square_feet(self):
        areas = int(areas_required_ft2(12500.0))

        assert areas * SPOTS_PER_AREA == 75
        assert areas * SPOTS_PER_AREA * READINGS_PER_SPOT == 225

    @pytest.mark.parametrize(("area_m2", "areas"), [(10, 1), (24.53, 3), (30, 3)])
    def test_metric_figures(self, area_m2, areas):
        assert int(areas_required_m2(float(area_m2))) == areas

    def test_a_coach_roof_never_needs_more_than_three(self):
        # Derived: areas(A) = min(ceil(A / 100), 3) up to 1000 ft2.
        area_ft2 = np.arange(1.0, 1000.5, 0.5)

        expected = np.minimum(np.ceil(area_ft2 / 100), 3)
        assert (areas_required_ft2(area_ft2) == expected).all()


class TestLimits:
    def test_level_three_example(self):
        # Society newsletter: specification 8 to 12 mil -> spots 6.4 to 14.4.
        limits = film_limits(8.0, 12.0, level=3)

        assert limits.spot_low_mil == pytest.approx(6.4)
        assert limits.spot_high_mil == pytest.approx(14.4)
        assert (limits.area_low_mil, limits.area_high_mil) == (8.0, 12.0)

    # The table for a specification of 100 to 1000: spot from, to, area from, to. Levels
    # 2, 4 and 5 are from memory.
    @pytest.mark.parametrize(
        ("level", "expected"),
        [
            (1, (100, 1000, 100, 1000)),
            (2, (100, 1200, 100, 1000)),
            (3, (80, 1200, 100, 1000)),
            (4, (80, 1500, 100, inf)),
            (5, (80, inf, 100, inf)),
        ],
    )
    def test_table_of_levels(self, level, expected):
        limits = film_limits(100.0, 1000.0, level=level)

        assert (
            limits.spot_low_mil,
            limits.spot_high_mil,
            limits.area_low_mil,
            limits.area_high_mil,
        ) == expected

    @pytest.mark.parametrize(
        ("level", "certainty"),
        [
            (1, "confirmed"),
            (2, "unverified"),
            (3, "confirmed"),
            (4, "unverified"),
            (5, "unverified"),
        ],
    )
    def test_says_which_cells_are_from_memory(self, level, certainty):
        assert restriction_level(level).certainty == certainty

    def test_summed_limits_of_three_coats(self):
        # SSPC-PA 2 section 9 (from memory): 2-4 + 8-12 + 8-12 -> 18 to 28 mil.
        assert total_build_limits(((2, 4), (8, 12), (8, 12))) == (18, 28)


# Computed from the table of levels for a specification of 10 to 12 mil; levels 2, 4
# and 5 of that table are from memory.
DECISIONS = [
    ((10, 10.5, 11, 9.0, 12), "FFPPP"),
    ((8, 11, 11, 10, 10), "FFPPP"),
    ((14.4, 10, 10, 10, 10), "FPPPP"),
    ((8.4, 9.6, 10, 10.2, 10.8), "FFFFF"),
]


@pytest.mark.parametrize("level", [1, 2, 3, 4, 5])
@pytest.mark.parametrize(("means", "passes"), DECISIONS)
def test_decision_vectors(means, passes, level):
    readings = [
        SpotReading(area=1, spot=number, dry_mil=mean)
        for number, mean in enumerate(means, start=1)
        for _ in range(3)
    ]

    result = judge_coat(
        readings, dry_min_mil=10, dry_max_mil=12, areas_required=1, level=level
    )

    wanted = Verdict.MET if passes[level - 1] == "P" else Verdict.NOT_MET
    assert result.verdict is wanted
