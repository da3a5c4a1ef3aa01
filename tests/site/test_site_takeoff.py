"""Take-off: containers with the least waste, cartridges rounded up."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.site.errors import SiteInputError
from fleet.site.takeoff import (
    Bead,
    BeadShape,
    Container,
    cartridges_needed,
    container_mix,
    volume_needed_ml,
)

GALLON = Container(label="1 gal", volume_ml=3785.411784)
PAIL = Container(label="5 gal", volume_ml=18927.05892)
QUART = Container(label="1 qt", volume_ml=946.352946)


def counts_of(mix):
    return {size.label: count for size, count in mix.counts}


class TestContainerMix:
    def test_takes_the_mix_with_the_least_left_over(self):
        mix = container_mix(22_000, (GALLON, PAIL, QUART))

        # 22 l: a pail and four quarts hold 22.71 l, a pail and a gallon the same: the
        # gallon is one container.
        assert counts_of(mix) == {"5 gal": 1, "1 gal": 1, "1 qt": 0}

    def test_exactly_full_containers_need_no_further_one(self):
        mix = container_mix(3 * GALLON.volume_ml, (GALLON,))

        assert counts_of(mix) == {"1 gal": 3}
        assert mix.waste_ml == pytest.approx(0.0, abs=1e-6)

    def test_nothing_needs_nothing(self):
        assert container_mix(0.0, (GALLON, PAIL)).containers == 0

    @given(
        st.floats(0, 60_000),
        st.lists(
            st.sampled_from([500, 750, 1000, 2500, 4000, 10_000, 20_000]),
            min_size=1,
            max_size=3,
            unique=True,
        ),
    )
    @pytest.mark.slow
    def test_no_other_mix_wastes_less(self, needed_ml, volumes_ml):
        sizes = tuple(Container(label=str(ml), volume_ml=ml) for ml in volumes_ml)

        mix = container_mix(needed_ml, sizes)

        ranges = [range(int(needed_ml // ml) + 2) for ml in volumes_ml[:-1]]
        totals = []
        for counts in product(*ranges):
            held = sum(n * ml for n, ml in zip(counts, volumes_ml, strict=False))
            rest = max(0, -int(-(needed_ml - held) // volumes_ml[-1]))
            totals.append(held + rest * volumes_ml[-1])
        assert mix.total_ml >= needed_ml - 0.001
        assert mix.total_ml <= min(totals) + 0.001

    def test_refuses_no_sizes(self):
        with pytest.raises(SiteInputError, match="at least one container"):
            container_mix(1000.0, ())

    def test_refuses_an_empty_container(self):
        with pytest.raises(SiteInputError, match="volume_ml must be finite and > 0"):
            container_mix(1000.0, (Container(label="none", volume_ml=0.0),))

    def test_refuses_what_it_cannot_try_exactly(self):
        with pytest.raises(SiteInputError, match="mixes to try"):
            container_mix(1e9, (GALLON, PAIL, QUART))


class TestVolumeNeeded:
    @pytest.mark.slow
    @given(st.floats(0, 60), st.floats(0, 1000), st.floats(0.1, 1), st.floats(0, 0.5))
    def test_loss_never_lowers_the_need(self, area_m2, dry_um, solids, loss):
        needed = {"area_m2": area_m2, "dry_um": dry_um, "volume_solids": solids}

        assert volume_needed_ml(**needed, loss_ratio=loss) >= volume_needed_ml(**needed)

    def test_refuses_a_total_loss(self):
        with pytest.raises(SiteInputError, match="loss_ratio"):
            volume_needed_ml(area_m2=1, dry_um=1, volume_solids=0.5, loss_ratio=1)


class TestBead:
    def test_a_flat_bead_needs_a_height(self):
        with pytest.raises(SiteInputError, match="height_mm must be given"):
            _ = Bead(shape=BeadShape.TRIANGLE, width_mm=6.0).area_mm2

    def test_no_length_needs_no_cartridge(self):
        bead = Bead(shape=BeadShape.ROUND, width_mm=6.0)

        assert cartridges_needed(0.0, bead, cartridge_ml=300.0, waste_ratio=0.1) == 0
