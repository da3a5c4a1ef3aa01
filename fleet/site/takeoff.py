"""How much to load: litres and containers per coat, sealant by bead.

Coating loss is a share of what leaves the container, so volumes divide by
``1 - loss`` (published as transfer efficiency); sealant waste is added to the length,
as its published guide does. The two conventions give different numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import ceil, pi, prod
from typing import Final

from fleet.film.bounds import (
    ABOVE_ZERO,
    AT_LEAST_ZERO,
    SHARE,
    SHARE_ABOVE_ZERO,
    SHARE_BELOW_ONE,
)
from fleet.site.errors import SiteInputError

CARTRIDGE_ML: Final = 300.0  # the metric cartridge
CARTRIDGE_10_FL_OZ_ML: Final = 298.6926485  # 10.1 US fl oz, sold as 300 ml [ml]
SAUSAGE_20_FL_OZ_ML: Final = 591.47059125  # 20 US fl oz, sold as 600 ml [ml]
_SLACK: Final = 1e-9  # float error must not open one more container [1]
_MOST_MIXES: Final = 200_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Container:
    """A size the product is sold in."""

    label: str
    volume_ml: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainerMix:
    """How many of each size to load, largest first, and what is left over. [ml]"""

    counts: tuple[tuple[Container, int], ...]
    needed_ml: float
    total_ml: float

    @property
    def waste_ml(self) -> float:
        """Volume loaded beyond the need. [ml]"""
        return max(0.0, self.total_ml - self.needed_ml)

    @property
    def containers(self) -> int:
        """Number of containers in all."""
        return sum(count for _, count in self.counts)


class BeadShape(StrEnum):
    """Cross-section of a bead of sealant."""

    RECTANGLE = "RECTANGLE"  # width x height
    TRIANGLE = "TRIANGLE"  # a right angle between two legs
    ROUND = "ROUND"  # diameter
    HALF_ELLIPSE = "HALF_ELLIPSE"  # full width x height, lying on its flat side


@dataclass(frozen=True, slots=True, kw_only=True)
class Bead:
    """One bead; `height_mm` is not used for a round one."""

    shape: BeadShape
    width_mm: float
    height_mm: float | None = None

    @property
    def area_mm2(self) -> float:
        """Cross-section. [mm2]

        Raises
        ------
        SiteInputError
            If a size is missing or not above zero.
        """
        ABOVE_ZERO.require("width_mm", self.width_mm, error=SiteInputError)
        if self.shape is BeadShape.ROUND:
            return pi * self.width_mm**2 / 4
        if self.height_mm is None:
            raise SiteInputError(
                f"height_mm must be given for a {self.shape.lower()} bead, got none. "
                "Measure the bead."
            )
        ABOVE_ZERO.require("height_mm", self.height_mm, error=SiteInputError)
        return _SHAPE_FACTOR[self.shape] * self.width_mm * self.height_mm


_SHAPE_FACTOR: Final[dict[BeadShape, float]] = {
    BeadShape.RECTANGLE: 1.0,
    BeadShape.TRIANGLE: 0.5,
    BeadShape.HALF_ELLIPSE: pi / 4,
}


def volume_needed_ml(
    *, area_m2: float, dry_um: float, volume_solids: float, loss_ratio: float = 0.0
) -> float:
    """Return the volume of unthinned product one coat needs. [ml]

    ``A * DFT / VS / (1 - loss)``; 1 um on 1 m2 is 1 ml.

    Parameters
    ----------
    area_m2 : float
        Coated area, laps included. [m2], >= 0
    dry_um : float
        Dry film wanted. [um], >= 0
    volume_solids : float
        [1], 0 < VS <= 1
    loss_ratio : float, default 0.0
        [1], 0 <= loss < 1

    Raises
    ------
    SiteInputError
        If an input lies outside its range.
    """
    AT_LEAST_ZERO.require("area_m2", area_m2, error=SiteInputError)
    AT_LEAST_ZERO.require("dry_um", dry_um, error=SiteInputError)
    SHARE_ABOVE_ZERO.require("volume_solids", volume_solids, error=SiteInputError)
    SHARE_BELOW_ONE.require("loss_ratio", loss_ratio, error=SiteInputError)
    return area_m2 * dry_um / volume_solids / (1 - loss_ratio)


def container_mix(needed_ml: float, sizes: tuple[Container, ...]) -> ContainerMix:
    """Return the containers that cover a volume with the least waste.

    Exact, by trying every mix; among equal wastes the fewest containers. Round up per
    product, not over several products.

    Parameters
    ----------
    needed_ml : float
        [ml], >= 0
    sizes : tuple of Container
        Sizes on sale, at least one, each volume > 0.

    Raises
    ------
    SiteInputError
        If there is no size, a value lies outside its range, or the order is so large
        that the mixes cannot all be tried.
    """
    AT_LEAST_ZERO.require("needed_ml", needed_ml, error=SiteInputError)
    if not sizes:
        raise SiteInputError(
            "sizes must hold at least one container, got none. "
            "Enter the sizes the product is sold in."
        )
    for size in sizes:
        ABOVE_ZERO.require("volume_ml", size.volume_ml, error=SiteInputError)
    ordered = tuple(sorted(sizes, key=lambda size: -size.volume_ml))
    # The smallest size fills the rest, so only the others are varied.
    mixes = prod(_fewest(needed_ml, size.volume_ml) + 1 for size in ordered[:-1])
    if mixes > _MOST_MIXES:
        raise SiteInputError(
            f"needed_ml must need fewer than {_MOST_MIXES} mixes to try, got {mixes}. "
            "Order for fewer roofs at a time, or leave small sizes out."
        )
    counts = _least_waste(needed_ml, tuple(size.volume_ml for size in ordered))
    return ContainerMix(
        counts=tuple(zip(ordered, counts, strict=True)),
        needed_ml=needed_ml,
        total_ml=_volume(counts, ordered),
    )


def _volume(counts: tuple[int, ...], sizes: tuple[Container, ...]) -> float:
    pairs = zip(counts, sizes, strict=True)
    return sum(count * size.volume_ml for count, size in pairs)


def _fewest(needed_ml: float, volume_ml: float) -> int:
    """Return how many of one size cover a volume."""
    return max(0, ceil(needed_ml / volume_ml * (1 - _SLACK) - _SLACK))


def _least_waste(needed_ml: float, volumes_ml: tuple[float, ...]) -> tuple[int, ...]:
    if len(volumes_ml) == 1:
        return (_fewest(needed_ml, volumes_ml[0]),)
    first_ml, rest_ml = volumes_ml[0], volumes_ml[1:]
    mixes = (
        (count, *_least_waste(max(0.0, needed_ml - count * first_ml), rest_ml))
        for count in range(_fewest(needed_ml, first_ml) + 1)
    )

    def waste_then_containers(counts: tuple[int, ...]) -> tuple[float, int]:
        total_ml = sum(n * ml for n, ml in zip(counts, volumes_ml, strict=True))
        return round(total_ml - needed_ml, 3), sum(counts)

    return min(mixes, key=waste_then_containers)


def bead_yield_m(cartridge_ml: float, bead: Bead) -> float:
    """Return the length of bead one cartridge gives, without waste. [m]

    ``V / A``; 1 ml over 1 mm2 is 1 m.

    Raises
    ------
    SiteInputError
        If the cartridge or the bead has no size.
    """
    ABOVE_ZERO.require("cartridge_ml", cartridge_ml, error=SiteInputError)
    return cartridge_ml / bead.area_mm2


def cartridges_needed(
    length_m: float, bead: Bead, *, cartridge_ml: float, waste_ratio: float
) -> int:
    """Return how many cartridges a length of bead needs.

    ``ceil(length * (1 + waste) / yield)``.

    Parameters
    ----------
    length_m : float
        [m], >= 0
    waste_ratio : float
        [1], 0 to 1; a published guide gives up to 0.05 for an expert, 0.10 to 0.15 as
        usual, 0.20 to 0.25 for a beginner.

    Raises
    ------
    SiteInputError
        If an input lies outside its range.
    """
    AT_LEAST_ZERO.require("length_m", length_m, error=SiteInputError)
    SHARE.require("waste_ratio", waste_ratio, error=SiteInputError)
    return _fewest(length_m * (1 + waste_ratio), bead_yield_m(cartridge_ml, bead))
