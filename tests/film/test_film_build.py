"""Film build: what must hold for any wet film, solids and thinner."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.film.build import (
    GaugeKind,
    NotchPolicy,
    ThinnerBasis,
    dry_film_from_wet,
    is_within_gauge_range,
    mixed_solids,
    notch_interval,
    spreading_rate_ft2_per_gal,
    thinner_ratio_of,
    wet_at_policy,
    wet_film_for_dry,
)
from fleet.film.errors import FilmInputError

films = st.floats(min_value=0, max_value=5000)
solids = st.floats(min_value=0.01, max_value=1)
thinners = st.floats(min_value=0, max_value=2)


class TestDryFilmFromWet:
    @pytest.mark.slow
    @given(films, solids, thinners)
    def test_is_never_above_the_wet_film(self, wet, share, thinner):
        dry = dry_film_from_wet(wet, volume_solids=share, thinner_ratio=thinner)

        assert dry <= wet

    @pytest.mark.slow
    @given(films, solids, thinners)
    def test_is_undone_by_wet_film_for_dry(self, wet, share, thinner):
        dry = dry_film_from_wet(wet, volume_solids=share, thinner_ratio=thinner)

        again = wet_film_for_dry(dry, volume_solids=share, thinner_ratio=thinner)
        assert again == pytest.approx(wet, rel=1e-12, abs=1e-12)

    @pytest.mark.slow
    @given(films, solids, thinners, thinners)
    def test_more_thinner_never_leaves_more(self, wet, share, some, more):
        less, most = sorted((some, more))

        assert dry_film_from_wet(
            wet, volume_solids=share, thinner_ratio=most
        ) <= dry_film_from_wet(wet, volume_solids=share, thinner_ratio=less)

    def test_columns_agree_with_single_values(self):
        wet = np.array([24.0, 25.0, 26.0])
        share = np.array([0.5, 0.52, 0.35])

        dry = dry_film_from_wet(wet, volume_solids=share)

        assert dry.tolist() == [
            dry_film_from_wet(float(w), volume_solids=float(s))
            for w, s in zip(wet, share, strict=True)
        ]

    @pytest.mark.parametrize("share", [0.0, -0.1, 1.01, float("nan"), float("inf")])
    def test_refuses_impossible_solids(self, share):
        with pytest.raises(FilmInputError, match="volume_solids"):
            dry_film_from_wet(200.0, volume_solids=share)

    @pytest.mark.parametrize("wet", [-0.1, float("nan"), float("inf")])
    def test_refuses_impossible_films(self, wet):
        with pytest.raises(FilmInputError, match="wet must be finite and >= 0"):
            dry_film_from_wet(wet, volume_solids=0.5)

    def test_names_the_first_bad_value_of_a_column(self):
        with pytest.raises(FilmInputError, match="got -4"):
            dry_film_from_wet(np.array([1.0, -4.0, -5.0]), volume_solids=0.5)


class TestThinnerBasis:
    @pytest.mark.slow
    @given(solids, st.floats(min_value=0, max_value=0.9))
    def test_a_share_of_the_mix_scales_solids_directly(self, share, of_mix):
        mixed = mixed_solids(share, share=of_mix, basis=ThinnerBasis.OF_MIX)

        assert mixed == pytest.approx(share * (1 - of_mix))

    def test_a_mix_of_nothing_but_thinner_is_refused(self):
        with pytest.raises(FilmInputError, match=r"share must be finite and in \[0, 1"):
            thinner_ratio_of(1.0, basis=ThinnerBasis.OF_MIX)


class TestNotchInterval:
    def test_takes_the_last_wetted_tooth_by_default(self):
        interval = notch_interval(26.0, 28.0, volume_solids=0.5)

        assert (interval.low, interval.high, interval.estimated) == (13.0, 14.0, 13.0)

    @pytest.mark.parametrize(
        ("policy", "estimated"),
        [
            (NotchPolicy.LOWER, 13.0),
            (NotchPolicy.MIDPOINT, 13.5),
            (NotchPolicy.UPPER, 14.0),
        ],
    )
    def test_the_policy_chooses_the_point(self, policy, estimated):
        interval = notch_interval(26.0, 28.0, volume_solids=0.5, policy=policy)

        assert interval.estimated == estimated

    @pytest.mark.parametrize("first_dry", [26.0, 24.0])
    def test_refuses_a_dry_tooth_that_is_not_above(self, first_dry):
        with pytest.raises(FilmInputError, match="first_dry must be above"):
            notch_interval(26.0, first_dry, volume_solids=0.5)

    @pytest.mark.slow
    @given(films, st.floats(min_value=0.5, max_value=50), st.sampled_from(NotchPolicy))
    def test_the_estimate_lies_inside(self, last_wet, step, policy):
        interval = notch_interval(
            last_wet, last_wet + step, volume_solids=0.5, policy=policy
        )

        assert interval.low <= interval.estimated <= interval.high

    def test_columns_take_the_same_point(self):
        wet = wet_at_policy(
            np.array([24.0, 26.0]),
            np.array([26.0, 28.0]),
            policy=NotchPolicy.MIDPOINT,
        )

        assert wet.tolist() == [25.0, 27.0]


@pytest.mark.parametrize(
    ("tooth_um", "kind", "within"),
    [
        (2000.0, GaugeKind.FLAT, True),
        (2000.1, GaugeKind.FLAT, False),
        (2.9, GaugeKind.FLAT, False),
        (24.9, GaugeKind.ROUND, False),
        (2500.0, GaugeKind.ROUND, True),
    ],
)
def test_the_gauge_has_a_range(tooth_um, kind, within):
    assert is_within_gauge_range(tooth_um, kind=kind) is within


@pytest.mark.slow
@given(solids, st.floats(min_value=0.5, max_value=50))
def test_loss_shrinks_the_covered_area(share, dry_mil):
    whole = spreading_rate_ft2_per_gal(dry_mil=dry_mil, volume_solids=share)
    lossy = spreading_rate_ft2_per_gal(
        dry_mil=dry_mil, volume_solids=share, loss_ratio=0.15
    )

    assert lossy == pytest.approx(whole * 0.85)
