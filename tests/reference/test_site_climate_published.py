"""Dew point against a reference library and published values."""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest

from fleet.film.units import c_from_f_difference
from fleet.site.climate import (
    ClimateLimits,
    climate_codes,
    dew_point_c,
    rh_from_wet_bulb_pct,
)

psychrolib.SetUnitSystem(psychrolib.SI)


# psychrolib 2.5.0 (ASHRAE Handbook of Fundamentals 2017, chapter 1) | Magnus with
# 17.62 / 243.12 (WMO-No. 8), computed independently. 25/50 is also printed as 13.9.
@pytest.mark.parametrize(
    ("air_c", "rh_pct", "dew_c"),
    [
        (25, 50, 13.85),
        (20, 50, 9.26),
        (20, 85, 17.40),
        (25, 85, 22.30),
        (30, 50, 18.44),
        (10, 70, 4.78),
        (40, 20, 12.78),
    ],
)
def test_dew_point_table(air_c, rh_pct, dew_c):
    assert dew_point_c(float(air_c), float(rh_pct)) == pytest.approx(dew_c, abs=0.006)


@pytest.mark.parametrize("rh_pct", [20.0, 35.0, 50.0, 65.0, 80.0, 95.0])
@pytest.mark.parametrize("air_c", [5.0, 10.0, 20.0, 30.0, 40.0])
def test_within_a_twentieth_of_a_degree_of_ashrae(air_c, rh_pct):
    # ASHRAE gives the frost point below freezing and we give the dew point over
    # water, so the two are compared only where no ice is involved.
    reference = psychrolib.GetTDewPointFromRelHum(air_c, rh_pct / 100)
    if reference > 0:
        assert dew_point_c(air_c, rh_pct) == pytest.approx(reference, abs=0.05)


def test_below_freezing_is_over_water():
    # Computed: Magnus over water -7.92, frost point over ice -7.59 (psychrolib).
    assert dew_point_c(-5.0, 80.0) == pytest.approx(-7.92, abs=0.01)
    assert psychrolib.GetTDewPointFromRelHum(-5.0, 0.8) == pytest.approx(-7.59, abs=0.1)


# Both engines agree to 0.1 °F.
@pytest.mark.parametrize(
    ("air_f", "rh_pct", "dew_f"),
    [
        (70, 50, 50.5),
        (77, 50, 57.0),
        (80, 60, 64.9),
        (90, 60, 74.2),
        (60, 70, 50.2),
        (50, 80, 44.1),
    ],
)
def test_dew_point_table_in_fahrenheit(air_f, rh_pct, dew_f):
    dew_c = dew_point_c((air_f - 32) / 1.8, float(rh_pct))

    assert dew_c * 1.8 + 32 == pytest.approx(dew_f, abs=0.1)


def test_five_fahrenheit_degrees_are_not_three_celsius():
    # ISO 8502-4:2017 guidance is 3 °C; US practice says 5 °F. At 77 °F and 50 % a
    # surface at 62.1 °F passes the second and fails the first (computed).
    for margin_c, code in ((c_from_f_difference(5.0), 1), (3.0, 2)):
        codes = climate_codes(
            air_c=np.array([25.0]),
            surface_c=np.array([(62.1 - 32) / 1.8]),
            rh_pct=np.array([50.0]),
            limits=ClimateLimits(
                air_min_c=10, air_max_c=35, rh_max_pct=85, dew_margin_c=margin_c
            ),
        )

        assert codes.tolist() == [code]


# ASTM E337 (title from memory), values from psychrolib 2.5.0: the same pair of bulbs
# means another humidity at another height.
@pytest.mark.parametrize(
    ("pressure_hpa", "rh_pct", "dew_c"),
    [(1013.25, 50.7, 14.07), (843.07, 53.2, 14.81)],
)
def test_sling_psychrometer(pressure_hpa, rh_pct, dew_c):
    result = rh_from_wet_bulb_pct(25.0, 18.0, pressure_hpa=pressure_hpa)

    # The two engines use different psychrometric coefficients: half a per cent.
    assert result == pytest.approx(rh_pct, abs=0.5)
    assert dew_point_c(25.0, result) == pytest.approx(dew_c, abs=0.15)


@pytest.mark.parametrize("depression_c", [0.0, 2.0, 5.0, 8.0])
@pytest.mark.parametrize("air_c", [10.0, 20.0, 30.0])
def test_wet_bulb_agrees_with_psychrolib(air_c, depression_c):
    wet_c = air_c - depression_c
    reference = psychrolib.GetRelHumFromTWetBulb(air_c, wet_c, 101325) * 100

    # The two use different psychrometric coefficients, which part most in cold dry air
    # (0.7 at 10 °C and 14 %); a sling psychrometer itself is good to a few per cent.
    result = rh_from_wet_bulb_pct(air_c, wet_c, pressure_hpa=1013.25)
    assert result == pytest.approx(reference, abs=1.0)
