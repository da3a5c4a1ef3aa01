"""Tracing a failing place outward (SSPC-PA 2 section 8)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.film.errors import FilmInputError
from fleet.film.tracing import trace_points, trace_ray

means = st.lists(st.floats(0, 40), max_size=12)


def ray_of(*spot_means_mil, dry_max_mil=18.0):
    return trace_ray(spot_means_mil, dry_min_mil=12.5, dry_max_mil=dry_max_mil)


class TestTraceRay:
    def test_stops_after_two_conforming_in_a_row(self):
        # The rule's own sequence: conform, fail, conform, conform -> after the fourth.
        ray = ray_of(13.0, 12.0, 13.0, 13.0, 1.0)

        assert (ray.is_settled, ray.spots_used, ray.failing_reach_m) == (True, 4, 3.0)

    def test_a_level_allows_nothing_here(self):
        # 12.4 is over 80 % of 12.5 and still fails: no 80/120 % allowance.
        assert not ray_of(12.4, 13.0).is_settled

    @pytest.mark.parametrize("mean_mil", [12.5, 18.0])
    def test_limits_are_inclusive(self, mean_mil):
        assert ray_of(mean_mil, mean_mil).is_settled

    def test_too_thick_fails_too(self):
        assert ray_of(18.1, 13.0, 13.0).failing_reach_m == 1.5

    def test_without_a_maximum_nothing_is_too_thick(self):
        assert ray_of(90.0, 90.0, dry_max_mil=None).is_settled

    @pytest.mark.parametrize(
        ("spot_means_mil", "missing"), [((), 2), ((13.0,), 1), ((13.0, 1.0), 2)]
    )
    def test_an_unsettled_ray_says_what_is_missing(self, spot_means_mil, missing):
        assert ray_of(*spot_means_mil).spots_missing == missing

    @pytest.mark.slow
    @given(means)
    def test_never_uses_more_spots_than_there_are(self, spot_means_mil):
        ray = ray_of(*spot_means_mil)

        assert ray.spots_used <= len(spot_means_mil)
        assert ray.failing_reach_m <= ray.spots_used * 1.5

    def test_refuses_crossed_limits(self):
        with pytest.raises(FilmInputError, match="dry_max_mil"):
            ray_of(13.0, dry_max_mil=10.0)


class TestTracePoints:
    def test_walks_every_step_along_the_coach(self):
        points = trace_points(5.0, 1.25, length_m=10.0, width_m=2.5)

        forward = [point.x_m for point in points if point.direction == 0]
        assert forward == [6.5, 8.0, 9.5]

    def test_stays_on_the_roof(self):
        points = trace_points(0.5, 0.5, length_m=10.0, width_m=2.5)

        assert all(0 <= p.x_m <= 10 and 0 <= p.y_m <= 2.5 for p in points)
        assert {point.direction for point in points} == {0, 1, 2}

    def test_refuses_a_spot_off_the_roof(self):
        with pytest.raises(FilmInputError, match="must lie on the roof"):
            trace_points(11.0, 1.0, length_m=10.0, width_m=2.5)
