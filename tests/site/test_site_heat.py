"""Heat index against the US National Weather Service's regression."""

from __future__ import annotations

import pytest

from fleet.site.errors import SiteInputError
from fleet.site.heat import HeatCaution, heat_caution, heat_index_f


# NWS technical attachment SR 90-23 (coefficients from memory, values recomputed).
@pytest.mark.parametrize(
    ("air_f", "rh_pct", "index_f"), [(90, 60, 99.7), (96, 65, 121.0), (100, 55, 123.6)]
)
def test_regression(air_f, rh_pct, index_f):
    assert heat_index_f(float(air_f), float(rh_pct)) == pytest.approx(index_f, abs=0.1)


@pytest.mark.parametrize(
    ("air_f", "rh_pct", "caution"),
    [
        (70, 50, HeatCaution.NONE),
        (88, 50, HeatCaution.CAUTION),
        (96, 65, HeatCaution.DANGER),
    ],
)
def test_cautions(air_f, rh_pct, caution):
    assert heat_caution(float(air_f), float(rh_pct)) is caution


def test_refuses_impossible_humidity():
    with pytest.raises(SiteInputError, match="rh_pct"):
        heat_index_f(90.0, 101.0)
