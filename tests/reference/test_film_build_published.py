"""Film build against published numbers."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fleet.film import build, units
from fleet.film.build import ThinnerBasis


class TestDefinitions:
    """NIST Handbook 44, appendix C (from memory; each follows from its definition)."""

    def test_gallon_is_231_cubic_inches(self):
        assert Decimal("2.54") ** 3 * 231 == units.ML_PER_GAL == Decimal("3785.411784")

    def test_fluid_ounce_is_the_128th_of_a_gallon(self):
        assert units.ML_PER_GAL / 128 == units.ML_PER_FL_OZ

    def test_cubic_inch(self):
        assert Decimal("2.54") ** 3 == units.ML_PER_IN3

    def test_square_foot(self):
        assert units.M_PER_FT**2 == units.M2_PER_FT2

    def test_twelve_mils(self):
        assert units.um_from_film(Decimal(12), units.FilmUnit.MIL) == Decimal("304.8")

    def test_roof_of_264_square_feet(self):
        assert units.m2_from_ft2(Decimal(264)) == Decimal("24.52640256")

    def test_temperatures(self):
        assert units.c_from_f(Decimal(77)) == 25
        assert units.f_from_c(Decimal(-40)) == -40


class TestDryFromWet:
    # Metal finishing guidebook (2012-13) and published calculators; DFT = WFT x VS.
    @pytest.mark.parametrize(
        ("wet", "solids", "dry"),
        [
            (9.2, 0.65, 5.98),
            (12.0, 0.50, 6.00),
            (8.5, 0.75, 6.375),
            (233.6, 0.65, 151.84),
        ],
    )
    def test_published_examples(self, wet, solids, dry):
        result = build.dry_film_from_wet(wet, volume_solids=solids)

        assert result == pytest.approx(dry, abs=1e-9)

    # Published question and answer: 1.5 / 0.42 = 3.57 mil; gauge maker's examples.
    @pytest.mark.parametrize(
        ("dry", "solids", "wet"),
        [(1.5, 0.42, 3.57), (6.0, 0.30, 20.0), (125.0, 0.35, 357.1)],
    )
    def test_wet_for_dry(self, dry, solids, wet):
        result = build.wet_film_for_dry(dry, volume_solids=solids)

        assert result == pytest.approx(wet, abs=0.05)

    # Formula of the metal finishing guidebook (2012-13); numbers computed from it.
    @pytest.mark.parametrize(
        ("dry", "solids", "thinner", "wet"),
        [(5.0, 0.5, 0.1, 11.0), (3.0, 0.6, 0.2, 6.0), (8.0, 0.7, 0.1, 12.571)],
    )
    def test_wet_for_dry_with_thinner(self, dry, solids, thinner, wet):
        result = build.wet_film_for_dry(
            dry, volume_solids=solids, thinner_ratio=thinner
        )

        assert result == pytest.approx(wet, abs=5e-4)


class TestMixedSolids:
    # Derived: VS / (1 + t) = VS (1 - s).
    @pytest.mark.parametrize(
        ("solids", "thinner", "mixed"), [(0.6, 0.2, 0.5), (0.5, 0.1, 0.4545)]
    )
    def test_thinner_on_the_unthinned_basis(self, solids, thinner, mixed):
        result = build.mixed_solids(
            solids, share=thinner, basis=ThinnerBasis.OF_UNTHINNED
        )

        assert result == pytest.approx(mixed, abs=5e-5)

    def test_a_fifth_of_the_coating_is_a_sixth_of_the_mix(self):
        ratio = build.thinner_ratio_of(1 / 6, basis=ThinnerBasis.OF_MIX)

        assert ratio == pytest.approx(0.2)


class TestSpreadingRate:
    def test_constant_is_not_the_rounded_1600(self):
        # 231 in3 / 144 in2 / 0.001 in, as a published coverage page states it.
        assert pytest.approx(1604.16667, abs=1e-4) == build.COVERAGE_FT2_MIL_PER_GAL

    def test_metric_data_sheet_example(self):
        # Published spreading-rate data sheet: 65 % solids, 125 um -> 5.2 m2/l. The
        # sheet's misprinted constant of 100 would give 0.52.
        rate = build.spreading_rate_m2_per_l(dry_um=125.0, volume_solids=0.65)

        assert rate == pytest.approx(5.2, abs=1e-9)

    def test_us_data_sheet_example(self):
        # The same sheet: 65 %, 5 mil -> 208.52 with the constant cut to 1604.
        rate = build.spreading_rate_ft2_per_gal(dry_mil=5.0, volume_solids=0.65)

        assert rate == pytest.approx(208.54, abs=0.005)

    def test_paint_finishing_example_with_loss(self):
        # Paint-finishing question and answer, October 2003: 52 %, 1.5 mil, transfer
        # efficiency 30 % -> 167 ft2 per gallon.
        rate = build.spreading_rate_ft2_per_gal(
            dry_mil=1.5, volume_solids=0.52, loss_ratio=0.70
        )

        assert round(rate) == 167

    def test_wet_film_of_any_paint(self):
        # Published formula page: 10 mil wet -> 160.417 ft2/gal.
        rate = build.spreading_rate_ft2_per_gal(dry_mil=10.0, volume_solids=1.0)

        assert rate == pytest.approx(160.4167, abs=1e-4)

    def test_the_two_systems_agree(self):
        # Derived bridge: 1 m2/l = 40.745833 ft2/gal.
        metric = build.spreading_rate_m2_per_l(dry_um=127.0, volume_solids=0.65)
        us = build.spreading_rate_ft2_per_gal(dry_mil=5.0, volume_solids=0.65)

        assert us / metric == pytest.approx(40.745833, rel=1e-7)
