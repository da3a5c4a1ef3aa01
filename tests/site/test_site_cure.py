"""Cure and recoat estimates: what must hold at any temperature."""

from __future__ import annotations

from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.site.cure import RecoatState, cure_hours, cured_ratio, recoat_window
from fleet.site.errors import SiteInputError

temps = st.floats(min_value=-20, max_value=60)


def window_at(elapsed_h, temp_c=20.0, sheet_max_h=72.0):
    return recoat_window(
        elapsed_h,
        temp_c=temp_c,
        sheet_min_h=24.0,
        sheet_max_h=sheet_max_h,
        minimum_c=10.0,
    )


class TestCureHours:
    @given(temps, temps)
    def test_warmer_is_never_slower(self, some, other):
        hours = cure_hours(24.0, np.array(sorted((some, other))), minimum_c=10.0)

        assert hours[0] >= hours[1]

    @given(st.floats(min_value=-20, max_value=9.99))
    def test_below_the_minimum_nothing_cures(self, temp_c):
        assert cure_hours(24.0, np.array([temp_c]), minimum_c=10.0)[0] == inf

    def test_at_the_minimum_it_still_cures(self):
        assert cure_hours(24.0, np.array([10.0]), minimum_c=10.0)[0] == 48.0

    def test_refuses_no_hours(self):
        with pytest.raises(SiteInputError, match="sheet_h"):
            cure_hours(0.0, np.array([20.0]), minimum_c=10.0)


class TestCuredRatio:
    def test_adds_spells_of_temperature(self):
        # 12 h at 20 °C are half of 24 h; 12 h at 10 °C are a quarter of 48 h; a cold
        # night adds nothing.
        ratio = cured_ratio(
            24.0,
            np.array([20.0, 10.0, 5.0]),
            np.array([12.0, 12.0, 100.0]),
            minimum_c=10.0,
        )

        assert ratio == pytest.approx(0.75)

    def test_refuses_columns_of_different_length(self):
        with pytest.raises(SiteInputError, match="one shape"):
            cured_ratio(24.0, np.zeros(2), np.zeros(3), minimum_c=10.0)


class TestRecoatWindow:
    @pytest.mark.parametrize(
        ("elapsed_h", "state"),
        [
            (0.0, RecoatState.TOO_EARLY),
            (23.9, RecoatState.TOO_EARLY),
            (24.0, RecoatState.IN_WINDOW),
            (72.0, RecoatState.IN_WINDOW),
            (72.1, RecoatState.EXPIRED),
        ],
    )
    def test_both_ends_bind(self, elapsed_h, state):
        assert window_at(elapsed_h).state is state

    def test_heat_shortens_both_ends(self):
        window = window_at(20.0, temp_c=30.0)

        assert (window.earliest_h, window.latest_h) == (12.0, 36.0)

    def test_cold_never_lengthens_the_maximum(self):
        window = window_at(50.0, temp_c=10.0)

        assert (window.earliest_h, window.latest_h) == (48.0, 72.0)

    def test_without_a_maximum_nothing_expires(self):
        assert window_at(9999.0, sheet_max_h=None).state is RecoatState.IN_WINDOW

    def test_below_the_minimum_there_is_no_cure(self):
        assert window_at(50.0, temp_c=9.0).state is RecoatState.NO_CURE

    def test_is_labelled_an_estimate(self):
        assert "data sheet comes first" in window_at(1.0).label

    def test_refuses_a_crossed_interval(self):
        with pytest.raises(SiteInputError, match="sheet_max_h"):
            window_at(1.0, sheet_max_h=12.0)
