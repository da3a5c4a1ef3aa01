"""One shape for each kind of penetration, true to its size on the plan."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from warranty.pages.drawing.svg import element

_SMALLEST: Final = 9.0  # nothing is drawn smaller, in units of the drawing
Shape = Callable[[float, float, float, float], list[str]]


def penetration_shape(
    kind: str, *, x: float, y: float, long: float, wide: float
) -> list[str]:
    """Return the elements of one penetration around its middle."""
    draw = _SHAPES.get(kind, _other)
    return draw(x, y, max(long, _SMALLEST), max(wide, _SMALLEST))


def _box(x: float, y: float, long: float, wide: float, *, rx: float = 0) -> str:
    return element(
        "rect", x=x - long / 2, y=y - wide / 2, width=long, height=wide, rx=rx or None
    )


def _lines(*pairs: tuple[float, float, float, float]) -> str:
    path = "".join(f"M{a:.1f} {b:.1f}L{c:.1f} {d:.1f}" for a, b, c, d in pairs)
    return element("path", css="pen-line", d=path)


def _vent(x: float, y: float, long: float, wide: float) -> list[str]:
    # A lid seen from above: its four folds meet short of the middle.
    a, b = long / 2, wide / 2
    folds = [
        (x + i * a, y + j * b, x + i * a / 2, y + j * b / 2)
        for i in (-1, 1)
        for j in (-1, 1)
    ]
    return [_box(x, y, long, wide), _lines(*folds)]


def _air_conditioner(x: float, y: float, long: float, wide: float) -> list[str]:
    radius = min(long, wide) * 0.38
    ring = element("circle", css="pen-line", cx=x, cy=y, r=radius)
    return [_box(x, y, long, wide, rx=10), ring]


def _skylight(x: float, y: float, long: float, wide: float) -> list[str]:
    inset = min(long, wide) * 0.14
    inner = element(
        "rect",
        css="pen-line",
        x=x - long / 2 + inset,
        y=y - wide / 2 + inset,
        width=long - 2 * inset,
        height=wide - 2 * inset,
    )
    return [_box(x, y, long, wide, rx=4), inner]


def _refrigerator_vent(x: float, y: float, long: float, wide: float) -> list[str]:
    edge = x - long / 2
    slats = [
        (edge + long * part, y - wide / 2, edge + long * part, y + wide / 2)
        for part in (0.15, 0.85)
    ]
    return [_box(x, y, long, wide), _lines(*slats)]


def _pipe(x: float, y: float, long: float, wide: float) -> list[str]:
    radius = max(long, wide) / 2
    return [
        element("circle", cx=x, cy=y, r=radius),
        element("circle", css="pen-line", cx=x, cy=y, r=radius / 2.4),
    ]


def _antenna(x: float, y: float, long: float, wide: float) -> list[str]:
    radius = max(long, wide) / 2
    arms = [
        (x - radius, y, x + radius, y),
        (x, y - radius, x, y + radius),
    ]
    return [element("circle", cx=x, cy=y, r=radius), _lines(*arms)]


def _foot(x: float, y: float, long: float, wide: float) -> list[str]:
    bolt = element("circle", css="pen-line", cx=x, cy=y, r=min(long, wide) * 0.18)
    return [_box(x, y, long, wide, rx=2), bolt]


def _seam(x: float, y: float, long: float, wide: float) -> list[str]:
    if long > wide:
        middle = (x - long / 2, y, x + long / 2, y)
    else:
        middle = (x, y - wide / 2, x, y + wide / 2)
    return [_box(x, y, long, wide), _lines(middle)]


def _light(x: float, y: float, long: float, wide: float) -> list[str]:
    a, b = long / 2, wide / 2
    corners = ((x - a, y), (x, y - b), (x + a, y), (x, y + b))
    return [element("polygon", points=" ".join(f"{p:.1f},{q:.1f}" for p, q in corners))]


def _other(x: float, y: float, long: float, wide: float) -> list[str]:
    return [_box(x, y, long, wide, rx=4)]


_SHAPES: Final[dict[str, Shape]] = {
    "VENT": _vent,
    "AIR_CONDITIONER": _air_conditioner,
    "SKYLIGHT": _skylight,
    "REFRIGERATOR_VENT": _refrigerator_vent,
    "SEWER_VENT": _pipe,
    "ANTENNA": _antenna,
    "LADDER_FOOT": _foot,
    "SOLAR_FOOT": _foot,
    "CAP_SEAM": _seam,
    "SIDE_SEAM": _seam,
    "CABLE_COVER": _seam,
    "MARKER_LIGHT": _light,
}
