"""Climate at the roof: what must hold for any weather."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.site.climate import (
    ClimateLimits,
    climate_codes,
    climate_faults,
    dew_point_c,
    rh_from_wet_bulb_pct,
    surface_margin_c,
)
from fleet.site.errors import SiteInputError

air = st.floats(min_value=-45, max_value=60)
humidity = st.floats(min_value=1, max_value=100)
LIMITS = ClimateLimits(air_min_c=10, air_max_c=35, rh_max_pct=85, dew_margin_c=3)
NAN = float("nan")


def code_of(air_c, surface_c, rh_pct, limits=LIMITS):
    codes = climate_codes(
        air_c=np.array([air_c]),
        surface_c=np.array([surface_c]),
        rh_pct=np.array([rh_pct]),
        limits=limits,
    )
    return int(codes[0])


class TestDewPoint:
    @pytest.mark.slow
    @given(air, humidity)
    def test_is_never_above_the_air(self, air_c, rh_pct):
        assert dew_point_c(air_c, rh_pct) <= air_c

    @given(air)
    def test_is_the_air_when_saturated(self, air_c):
        assert dew_point_c(air_c, 100.0) == pytest.approx(air_c, abs=1e-9)

    @pytest.mark.slow
    @given(air, humidity, humidity)
    def test_rises_with_humidity(self, air_c, some, other):
        dry, damp = sorted((some, other))

        assert dew_point_c(air_c, dry) <= dew_point_c(air_c, damp)

    @pytest.mark.parametrize("rh_pct", [0.0, -1.0, 100.1, NAN])
    def test_refuses_impossible_humidity(self, rh_pct):
        with pytest.raises(SiteInputError, match="rh_pct"):
            dew_point_c(20.0, rh_pct)

    @pytest.mark.parametrize("air_c", [-45.1, 60.1, NAN])
    def test_refuses_air_outside_the_formula(self, air_c):
        with pytest.raises(SiteInputError, match="air_c"):
            dew_point_c(air_c, 50.0)

    def test_columns_agree_with_single_values(self):
        column = dew_point_c(np.array([25.0, 20.0]), np.array([50.0, 85.0]))

        assert column.tolist() == [dew_point_c(25.0, 50.0), dew_point_c(20.0, 85.0)]


class TestClimateCodes:
    def test_fair_weather_is_met(self):
        assert code_of(20.0, 22.0, 50.0) == 1

    @pytest.mark.parametrize(
        ("air_c", "surface_c", "rh_pct"),
        [(NAN, 22.0, 50.0), (20.0, NAN, 50.0), (20.0, 22.0, NAN), (5.0, NAN, 99.0)],
    )
    def test_a_missing_reading_is_unknown_whatever_the_others_say(
        self, air_c, surface_c, rh_pct
    ):
        assert code_of(air_c, surface_c, rh_pct) == 0

    @pytest.mark.parametrize(
        ("air_c", "surface_c", "rh_pct"),
        [
            (9.9, 25.0, 50.0),
            (35.1, 40.0, 50.0),
            (20.0, 30.0, 85.1),
            (20.0, 12.0, 50.0),  # dew point 9.26 + 3 > 12
        ],
    )
    def test_each_limit_counts(self, air_c, surface_c, rh_pct):
        assert code_of(air_c, surface_c, rh_pct) == 2

    @pytest.mark.parametrize(
        ("air_c", "surface_c", "rh_pct"),
        [(10.0, 25.0, 50.0), (35.0, 40.0, 50.0), (20.0, 30.0, 85.0)],
    )
    def test_limits_are_inclusive(self, air_c, surface_c, rh_pct):
        assert code_of(air_c, surface_c, rh_pct) == 1

    def test_a_margin_of_exactly_three_passes(self):
        assert code_of(20.0, dew_point_c(20.0, 50.0) + 3.0, 50.0) == 1

    def test_a_margin_just_under_three_fails(self):
        assert code_of(20.0, dew_point_c(20.0, 50.0) + 2.99, 50.0) == 2

    def test_a_missing_limit_limits_nothing(self):
        free = ClimateLimits(
            air_min_c=NAN, air_max_c=NAN, rh_max_pct=NAN, dew_margin_c=NAN
        )

        assert code_of(-5.0, -6.0, 99.0, free) == 1

    def test_each_row_may_have_its_own_limits(self):
        limits = ClimateLimits(
            air_min_c=np.array([10.0, 15.0]),
            air_max_c=35.0,
            rh_max_pct=np.array([85.0, 85.0]),
        )

        codes = climate_codes(
            air_c=np.array([12.0, 12.0]),
            surface_c=np.array([20.0, 20.0]),
            rh_pct=np.array([50.0, 50.0]),
            limits=limits,
        )

        assert codes.tolist() == [1, 2]

    def test_refuses_columns_of_different_length(self):
        with pytest.raises(SiteInputError, match="one shape"):
            climate_codes(
                air_c=np.zeros(2),
                surface_c=np.zeros(3),
                rh_pct=np.ones(2),
                limits=LIMITS,
            )

    @pytest.mark.slow
    @given(air, st.floats(-20, 80), humidity)
    def test_faults_are_the_same_rule_in_words(self, air_c, surface_c, rh_pct):
        faults = climate_faults(
            air_c=air_c, surface_c=surface_c, rh_pct=rh_pct, limits=LIMITS
        )

        assert bool(faults) == (code_of(air_c, surface_c, rh_pct) == 2)


def test_margin_is_unknown_where_a_reading_is_missing():
    margin = surface_margin_c(
        np.array([25.0, 25.0]), np.array([50.0, NAN]), np.array([20.0, 20.0])
    )

    assert margin[0] == pytest.approx(6.15, abs=0.01)
    assert np.isnan(margin[1])


class TestWetBulb:
    @pytest.mark.slow
    @given(st.floats(0, 60), st.floats(600, 1050))
    def test_equal_bulbs_mean_saturated_air(self, air_c, pressure_hpa):
        rh_pct = rh_from_wet_bulb_pct(air_c, air_c, pressure_hpa=pressure_hpa)

        assert rh_pct == pytest.approx(100.0)

    def test_a_wet_bulb_is_never_warmer(self):
        with pytest.raises(SiteInputError, match="wet_bulb_c"):
            rh_from_wet_bulb_pct(20.0, 20.1, pressure_hpa=1013.25)

    def test_refuses_a_pair_drier_than_air_can_be(self):
        with pytest.raises(SiteInputError, match="rh_pct"):
            rh_from_wet_bulb_pct(50.0, 1.0, pressure_hpa=1013.25)
