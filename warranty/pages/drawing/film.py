"""The film map on the plan: bands of thickness, and where nothing was measured."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import groupby
from math import inf, isfinite
from typing import Final

from warranty.documents import wording
from warranty.documents.facts import FilmMapFacts
from warranty.pages.drawing.svg import element

_WITHIN: Final = ("film-1", "film-2", "film-3")
_EDGE_MIL: Final = 1e-9  # the upper limit itself is within
_LEAST_STEP_MIL: Final = 0.05
NOT_MEASURED: Final = "film-none"
# These bands carry a pattern, so that they are told apart without colour.
_PATTERN_OF: Final[dict[str, str]] = {
    "film-under": "url(#film-dots)",
    "film-over": "url(#film-cross)",
    NOT_MEASURED: "url(#film-hatch)",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A range of dry film below ``below_mil``, its class and its words."""

    css: str
    below_mil: float
    words: str


def bands_of(film: FilmMapFacts) -> tuple[Band, ...]:
    """Return the bands, the thinnest first: by the coat's limits where it has both."""
    low, high = film.low_mil, film.high_mil
    if low is None or high is None or not low < high:
        return _even_bands(film)
    step = (high - low) / len(_WITHIN)
    within = [
        _band(css, low + place * step, low + (place + 1) * step)
        for place, css in enumerate(_WITHIN)
    ]
    return (_band("film-under", -inf, low), *within, _band("film-over", high, inf))


def _even_bands(film: FilmMapFacts) -> tuple[Band, ...]:
    pairs = zip(film.values_mil, film.measured, strict=True)
    values = [value for value, is_measured in pairs if is_measured]
    if not values:
        return ()
    low = min(values)
    step = max((max(values) - low) / len(_WITHIN), _LEAST_STEP_MIL)
    return tuple(
        _band(css, low + place * step, low + (place + 1) * step)
        for place, css in enumerate(_WITHIN)
    )


def _band(css: str, low: float, high: float) -> Band:
    if not isfinite(low):
        words = f"under {wording.mil_and_um(high)}"
    elif not isfinite(high):
        words = f"over {wording.mil_and_um(low)}"
    else:
        words = f"{low:.1f} to {wording.mil_and_um(high)}"
    closes = css == _WITHIN[-1]
    return Band(css=css, below_mil=high + (_EDGE_MIL if closes else 0), words=words)


def film_cells(
    film: FilmMapFacts,
    *,
    x: Callable[[float], float],
    y: Callable[[float], float],
) -> list[str]:
    """Return the cells; neighbours of one band along the coach are one rectangle."""
    bands = bands_of(film)
    cells = []
    for row in range(film.ny):
        classes = [
            _class_at(film, row * film.nx + place, bands) for place in range(film.nx)
        ]
        start = 0
        for css, run in groupby(classes):
            count = len(list(run))
            cells.extend(_strip(css, row, start, count, film.cell_m, x, y))
            start += count
    return cells


def _class_at(film: FilmMapFacts, cell: int, bands: tuple[Band, ...]) -> str:
    if not film.measured[cell]:
        return NOT_MEASURED
    value = film.values_mil[cell]
    return next((b.css for b in bands if value < b.below_mil), bands[-1].css)


def _strip(
    css: str,
    row: int,
    start: int,
    count: int,
    cell_m: float,
    x: Callable[[float], float],
    y: Callable[[float], float],
) -> list[str]:
    left, right = x(start * cell_m), x((start + count) * cell_m)
    top, bottom = y((row + 1) * cell_m), y(row * cell_m)
    place = {"x": left, "y": top, "width": right - left, "height": bottom - top}
    pattern = _PATTERN_OF.get(css)
    parts = [element("rect", css=css, **place)]
    if pattern:
        parts.append(element("rect", fill=pattern, **place))
    return parts


def film_patterns() -> tuple[str, ...]:
    """Return the patterns that mark thin, thick and unmeasured places."""
    return (
        _pattern("film-dots", 10, element("circle", css="pat-fill", cx=5, cy=5, r=1.6)),
        _pattern("film-cross", 12, element("path", css="pat-line", d="M6 3v6M3 6h6")),
        _pattern("film-hatch", 12, element("path", css="pat-line", d="M0 12L12 0")),
    )


def _pattern(name: str, size: int, inner: str) -> str:
    return element(
        "pattern",
        inner,
        id=name,
        width=size,
        height=size,
        pattern_units="userSpaceOnUse",
    )
