"""Take-off against worked examples and a published sealant estimator."""

from __future__ import annotations

from math import ceil

import pytest

from fleet.film.units import FT2_M2, FT_M, GAL_ML, IN_M, MIL_UM
from fleet.site.takeoff import (
    CARTRIDGE_10_FL_OZ_ML,
    SAUSAGE_20_FL_OZ_ML,
    Bead,
    BeadShape,
    Container,
    bead_yield_m,
    cartridges_needed,
    container_mix,
    volume_needed_ml,
)

GALLON = Container(label="1 gal", volume_ml=GAL_ML)


def gallons(dry_mil, solids, loss=0.0, area_ft2=264):
    volume_ml = volume_needed_ml(
        area_m2=area_ft2 * FT2_M2,
        dry_um=dry_mil * MIL_UM,
        volume_solids=solids,
        loss_ratio=loss,
    )
    return volume_ml / GAL_ML


class TestCoatingExample:
    """A roof of 33 x 8 ft, computed from the exact coverage constant."""

    def test_gallons_of_each_coat(self):
        assert gallons(3, 0.40) == pytest.approx(1.2343, abs=5e-5)
        assert gallons(10, 0.52) == pytest.approx(3.1648, abs=5e-5)

    def test_gallons_in_all(self):
        total = gallons(3, 0.40) + 2 * gallons(10, 0.52)

        assert total == pytest.approx(7.5640, abs=1e-4)

    def test_loss_divides_and_does_not_multiply(self):
        # Published as transfer efficiency: 7.564 / 0.85 = 8.899, not x 1.15 = 8.699.
        total = gallons(3, 0.40, 0.15) + 2 * gallons(10, 0.52, 0.15)

        assert total == pytest.approx(8.8988, abs=1e-4)
        assert ceil(total) == 9

    def test_containers_round_up_per_product(self):
        packs = [
            container_mix(needed * GAL_ML, (GALLON,)).containers
            for needed in (gallons(3, 0.40, 0.15), 2 * gallons(10, 0.52, 0.15))
        ]

        assert packs == [2, 8]


def bead(shape, width_in, height_in=None):
    return Bead(
        shape=shape,
        width_mm=width_in * IN_M * 1000,
        height_mm=None if height_in is None else height_in * IN_M * 1000,
    )


# Formula of a published estimator page: ft = in3 / (12 x in2); 10.1 fl oz = 18.23 in3.
@pytest.mark.parametrize(
    ("cross_section", "feet"),
    [
        (bead(BeadShape.RECTANGLE, 1 / 4, 1 / 4), 24.3),
        (bead(BeadShape.RECTANGLE, 3 / 8, 1 / 4), 16.2),
        (bead(BeadShape.TRIANGLE, 1 / 4, 1 / 4), 48.6),
        (bead(BeadShape.TRIANGLE, 3 / 8, 3 / 8), 21.6),
        (bead(BeadShape.TRIANGLE, 1 / 2, 1 / 2), 12.2),
        (bead(BeadShape.ROUND, 1 / 4), 30.9),
        (bead(BeadShape.ROUND, 3 / 8), 13.8),
        (bead(BeadShape.HALF_ELLIPSE, 1, 1 / 8), 15.5),
    ],
)
def test_yield_of_a_cartridge(cross_section, feet):
    result = bead_yield_m(CARTRIDGE_10_FL_OZ_ML, cross_section) / FT_M

    assert result == pytest.approx(feet, abs=0.1)


@pytest.mark.parametrize(
    ("volume_ml", "height_in", "width_in", "feet"),
    [
        (SAUSAGE_20_FL_OZ_ML, 1 / 4, 1 / 4, 48.1),
        (GAL_ML, 1 / 4, 1 / 4, 308.0),
        (GAL_ML, 1 / 4, 1 / 2, 154.0),
    ],
)
def test_yield_of_larger_packs(volume_ml, height_in, width_in, feet):
    cross_section = bead(BeadShape.RECTANGLE, width_in, height_in)

    result = bead_yield_m(volume_ml, cross_section) / FT_M
    assert result == pytest.approx(feet, abs=0.1)


@pytest.mark.parametrize(("side_mm", "metres"), [(6, 8.33), (10, 3.0)])
def test_yield_of_the_metric_cartridge(side_mm, metres):
    square = Bead(shape=BeadShape.RECTANGLE, width_mm=side_mm, height_mm=side_mm)

    assert bead_yield_m(300.0, square) == pytest.approx(metres, abs=0.005)


def test_cartridges_for_a_roof():
    # 82 ft of perimeter and 24 ft around openings, 3/8 in triangle, 10 % waste:
    # 106 x 1.10 / 21.6 = 5.40 -> 6.
    needed = cartridges_needed(
        106 * FT_M,
        bead(BeadShape.TRIANGLE, 3 / 8, 3 / 8),
        cartridge_ml=CARTRIDGE_10_FL_OZ_ML,
        waste_ratio=0.10,
    )

    assert needed == 6
