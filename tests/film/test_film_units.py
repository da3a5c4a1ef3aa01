"""Units: spellings are read, never guessed, and conversions are exact."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.film import units
from fleet.film.errors import FilmInputError
from fleet.film.units import FilmUnit, film_unit_of, um_from_film

decimals = st.decimals(min_value=0, max_value=5000, places=3)


class TestFilmUnitOf:
    @pytest.mark.parametrize("text", ["mil", "mils", "MIL", " Mils "])
    def test_reads_mils(self, text):
        assert film_unit_of(text) is FilmUnit.MIL

    @pytest.mark.parametrize("text", ["um", "UM", "\u00b5m", "\u03bcm", "micron"])
    def test_reads_micrometres_in_both_signs(self, text):
        assert film_unit_of(text) is FilmUnit.UM

    @pytest.mark.parametrize("text", ["", "furlong", "mm", "m", "in", "mil s"])
    def test_refuses_what_it_does_not_know(self, text):
        with pytest.raises(FilmInputError, match="unit must be mil or um"):
            film_unit_of(text)


class TestUmFromFilm:
    def test_keeps_micrometres_as_they_are(self):
        assert um_from_film(Decimal("635.0"), FilmUnit.UM) == Decimal("635.0")

    @given(decimals)
    def test_a_mil_becomes_exactly_25_4_um(self, mil):
        assert um_from_film(mil, FilmUnit.MIL) == mil * Decimal("25.4")

    @given(decimals)
    def test_comes_back_exactly(self, mil):
        assert units.mil_from_um(um_from_film(mil, FilmUnit.MIL)) == mil

    @pytest.mark.parametrize("value", ["-4", "NaN", "Infinity"])
    def test_refuses_what_no_gauge_shows(self, value):
        with pytest.raises(FilmInputError, match="value must be"):
            um_from_film(Decimal(value), FilmUnit.MIL)


class TestTemperatures:
    @given(st.decimals(min_value=-60, max_value=120, places=1))
    def test_celsius_comes_back_exactly(self, temp_c):
        assert units.c_from_f(units.f_from_c(temp_c)) == temp_c

    def test_a_difference_has_no_offset(self):
        assert units.c_from_f_difference(5.0) == pytest.approx(2.7778, abs=1e-4)


@pytest.mark.parametrize(
    ("rounded", "exact"),
    [
        (units.MIL_UM, units.UM_PER_MIL),
        (units.FT_M, units.M_PER_FT),
        (units.IN_M, units.M_PER_IN),
        (units.FT2_M2, units.M2_PER_FT2),
        (units.GAL_ML, units.ML_PER_GAL),
        (units.FL_OZ_ML, units.ML_PER_FL_OZ),
    ],
)
def test_column_factors_are_the_nearest_floats(rounded, exact):
    assert rounded == float(exact)
