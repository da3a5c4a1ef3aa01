"""Mass balance: pails against gauge."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.film.balance import are_doubts, expected_dry_um, mass_balance
from fleet.film.errors import FilmInputError
from fleet.site.takeoff import volume_needed_ml


def balance_of(mean_dry_um):
    # 20 l at 50 % on 20 m2 leave 500 um.
    return mass_balance(
        volume_ml=20_000, volume_solids=0.5, area_m2=20.0, mean_dry_um=mean_dry_um
    )


@pytest.mark.parametrize("mean_dry_um", [500.0, 425.0, 575.0])
def test_up_to_fifteen_per_cent_is_no_doubt(mean_dry_um):
    assert not balance_of(mean_dry_um).is_doubt


@pytest.mark.parametrize("mean_dry_um", [424.0, 576.0])
def test_more_than_fifteen_per_cent_is_a_doubt(mean_dry_um):
    assert balance_of(mean_dry_um).is_doubt


def test_says_which_side_is_larger():
    assert balance_of(600.0).because == (
        "The readings average 600 um, 20% more than the 500 um that the volume used "
        "explains."
    )


def test_a_gap_that_is_not_known_is_no_doubt():
    assert are_doubts(np.array([np.nan, 0.2, -0.2])).tolist() == [False, True, True]


def test_columns_agree_with_single_values():
    volumes = np.array([10_000.0, 20_000.0])

    assert expected_dry_um(
        volume_ml=volumes, volume_solids=0.5, area_m2=20.0, loss_ratio=0.1
    ).tolist() == [225.0, 450.0]


@pytest.mark.slow
@given(st.floats(1, 60), st.floats(10, 1000), st.floats(0.1, 1), st.floats(0, 0.5))
def test_the_volume_of_the_take_off_explains_its_film(area_m2, dry_um, solids, loss):
    volume_ml = volume_needed_ml(
        area_m2=area_m2, dry_um=dry_um, volume_solids=solids, loss_ratio=loss
    )

    assert expected_dry_um(
        volume_ml=volume_ml, volume_solids=solids, area_m2=area_m2, loss_ratio=loss
    ) == pytest.approx(dry_um)


def test_refuses_a_total_loss():
    with pytest.raises(FilmInputError, match="loss_ratio"):
        expected_dry_um(volume_ml=1.0, volume_solids=0.5, area_m2=1.0, loss_ratio=1.0)
