"""Deck moisture: bands, and what a meter cannot say."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.site.errors import SiteInputError
from fleet.site.moisture import (
    BAND_OF_CODE,
    STRICT_LIMITS,
    DeckLimits,
    MoistureBand,
    deck_dry_codes,
    equilibrium_moisture_pct,
    is_more_than_weather,
    mean_moisture_pct,
    moisture_bands,
)

NAN = float("nan")


@pytest.mark.parametrize(
    ("moisture_pct", "band"),
    [
        (0.0, MoistureBand.DRY),
        (19.0, MoistureBand.DRY),
        (19.1, MoistureBand.HOLD),
        (29.9, MoistureBand.HOLD),
        (30.0, MoistureBand.WET),
        (60.0, MoistureBand.WET),
        (NAN, None),
    ],
)
def test_bands(moisture_pct, band):
    assert BAND_OF_CODE[moisture_bands(np.array([moisture_pct]))[0]] is band


def test_verdicts_follow_the_bands():
    codes = deck_dry_codes(np.array([NAN, 12.0, 25.0, 40.0]))

    assert codes.tolist() == [0, 1, 2, 2]


def test_a_bonded_coat_may_ask_for_less():
    codes = deck_dry_codes(np.array([16.0, 17.0]), limits=STRICT_LIMITS)

    assert codes.tolist() == [1, 2]


def test_limits_keep_their_order():
    with pytest.raises(SiteInputError, match="dry_max_pct"):
        DeckLimits(dry_max_pct=31.0)


def test_a_negative_reading_is_refused():
    with pytest.raises(SiteInputError, match="moisture_pct"):
        moisture_bands(np.array([-1.0]))


class TestMeanMoisture:
    def test_averages_what_the_meter_measures(self):
        assert mean_moisture_pct(np.array([10.0, 14.0, NAN])) == 12.0

    @pytest.mark.parametrize("readings", [[10.0, 31.0], [NAN], []])
    def test_says_nothing_where_it_cannot(self, readings):
        assert mean_moisture_pct(np.array(readings)) is None


@pytest.mark.slow
@given(st.floats(-20, 70), st.floats(0, 100), st.floats(0, 100))
def test_damper_air_never_dries_wood(air_c, some, other):
    dry, damp = sorted((some, other))

    assert equilibrium_moisture_pct(air_c, dry) <= equilibrium_moisture_pct(air_c, damp)


class TestIsMoreThanWeather:
    # Own heuristic: four points above the equilibrium of 12.0 % at 70 °F and 65 %.
    @pytest.mark.parametrize(("probe_pct", "doubt"), [(15.9, False), (17.0, True)])
    def test_flags_what_the_air_does_not_explain(self, probe_pct, doubt):
        assert is_more_than_weather(probe_pct, air_c=21.1, rh_pct=65.0) is doubt
