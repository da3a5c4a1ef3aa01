"""Tolerance bounds and sample sizes: what must hold."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.film.errors import FilmInputError
from fleet.film.statistics import (
    readings_needed,
    readings_share,
    summarise,
    tolerance_factor,
)


class TestToleranceFactor:
    def test_more_readings_need_less_margin(self):
        factors = [tolerance_factor(count) for count in range(2, 60)]

        assert factors == sorted(factors, reverse=True)

    @pytest.mark.parametrize("count", [1, 0, -3])
    def test_refuses_a_single_reading(self, count):
        with pytest.raises(FilmInputError, match="count must be >= 2"):
            tolerance_factor(count)

    @pytest.mark.parametrize("share", [0.0, 1.0])
    def test_refuses_certainty(self, share):
        with pytest.raises(FilmInputError, match="confidence"):
            tolerance_factor(10, confidence=share)


class TestSummarise:
    @pytest.mark.slow
    @given(st.lists(st.floats(0, 1000), min_size=2, max_size=30))
    def test_bounds_enclose_the_mean(self, values):
        summary = summarise(np.array(values))

        assert summary.lower_bound is not None
        assert summary.upper_bound is not None
        assert summary.lower_bound <= summary.mean <= summary.upper_bound

    def test_one_value_has_no_spread_and_no_bound(self):
        summary = summarise(np.array([13.0]))

        assert (summary.count, summary.mean) == (1, 13.0)
        assert summary.sd is summary.lower_bound is summary.upper_bound is None

    def test_share_below_counts_strictly(self):
        summary = summarise(np.array([12.0, 12.5, 13.0, 14.0]), minimum=12.5)

        assert summary.share_below == 0.25

    def test_refuses_no_values(self):
        with pytest.raises(FilmInputError, match="at least one film value"):
            summarise(np.array([]))

    def test_refuses_a_negative_film(self):
        with pytest.raises(FilmInputError, match="got -1"):
            summarise(np.array([13.0, -1.0]))


def test_a_negative_allowance_is_refused():
    with pytest.raises(FilmInputError, match="below must be >= 0"):
        readings_needed(below=-1)


def test_half_the_readings_are_half():
    assert readings_share(45, areas_required=6) == 0.5
