"""A picture's likeness: 64 bits that stay nearly the same when it is sent around."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from itertools import combinations
from math import cos, pi
from statistics import median, pstdev

EDGE_PX = 32
LOW = 8
ALIKE_DISTANCE = 8
# Below this spread of grey a picture has no shape to compare. [grey level of 256]
FLAT_SPREAD = 3.0
BANDS = 4
BAND_BITS = 16
# Of eight differing bits some band of four holds at most two.
BAND_FLIPS = ALIKE_DISTANCE // BANDS


def likeness_of(grey: Sequence[Sequence[int]]) -> int | None:
    """Return the likeness of a 32 x 32 grey picture, or None if it is flat.

    The signs of its 64 lowest cosine components against their median, the constant
    one left out of the median.

    Parameters
    ----------
    grey : sequence of rows, shape (32, 32)
        Brightness. [0, 255]

    Raises
    ------
    ValueError
        If the shape is another.

    Notes
    -----
    A hint only. It survives recompression, resizing and brightening; cropping and
    turning change it. Signs are compared, so small changes near the median flip.

    References
    ----------
    .. [1] The two-dimensional DCT-II: Ahmed, Natarajan, Rao (1974), IEEE Trans.
       Comput. C-23, 90-93. The choice of the lowest 8 x 8 is common practice.
    """
    if len(grey) != EDGE_PX or any(len(row) != EDGE_PX for row in grey):
        raise ValueError(f"grey must be {EDGE_PX} rows of {EDGE_PX} values.")
    if pstdev(value for row in grey for value in row) < FLAT_SPREAD:
        return None
    waves = _waves()
    across = [[_dot(row, wave) for wave in waves] for row in grey]
    columns = [[row[u] for row in across] for u in range(LOW)]
    low = [_dot(columns[u], waves[v]) for v in range(LOW) for u in range(LOW)]
    middle = median(low[1:])
    return sum(1 << place for place, value in enumerate(low) if value > middle)


def distance(one: int, other: int) -> int:
    """Return in how many of the 64 bits two likenesses differ."""
    return (one ^ other).bit_count()


def bands_of(likeness: int) -> tuple[int, ...]:
    """Return the likeness as four numbers of 16 bits, the lowest first."""
    mask = (1 << BAND_BITS) - 1
    return tuple(likeness >> BAND_BITS * place & mask for place in range(BANDS))


def near_bands(band: int) -> Iterator[int]:
    """Yield every band that differs in at most two bits: 137 of them.

    Two likenesses at most eight bits apart share such a band in at least one of the
    four places, so a look-up by these misses none.
    """
    for count in range(BAND_FLIPS + 1):
        for places in combinations(range(BAND_BITS), count):
            yield band ^ sum(1 << place for place in places)


@cache
def _waves() -> tuple[tuple[float, ...], ...]:
    return tuple(
        tuple(cos(pi * u * (2 * x + 1) / (2 * EDGE_PX)) for x in range(EDGE_PX))
        for u in range(LOW)
    )


def _dot(values: Sequence[float], wave: Sequence[float]) -> float:
    return sum(value * weight for value, weight in zip(values, wave, strict=True))
