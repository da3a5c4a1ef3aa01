"""The roof plan, drawn to scale in vectors: outline, film, penetrations, place of loss.

The front cap is at the left and the left gutter at the bottom, as seen from above:
x runs from the front cap, y from the left gutter.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, isfinite

from reportlab.graphics.shapes import Circle, Drawing, Line, Path, Polygon, Rect

from warranty.documents.facts import FilmMapFacts, PenetrationFacts, ReadingFacts
from warranty.documents.film_bands import (
    Band,
    PacketFactsError,
    band_of,
    bands_for,
    check_film_map,
)
from warranty.documents.style import INK, PAPER, RULE_STRONG, SOFT
from warranty.documents.text import label
from warranty.documents.typeface import BOLD, SANS
from warranty.documents.wording import M_PER_FT

_LEFT, _RIGHT, _ABOVE = 26.0, 10.0, 16.0  # room for the axis words [pt]
_BELOW_PLAIN, _BELOW_MAP = 58.0, 86.0  # scale bars, and the legend under them [pt]
_HIGHEST_PLAN = 230.0  # [pt]
_RING = 19.0  # radius of the mark at the place of loss [pt]
_SMALL = 6.4  # size of the small words [pt]
_LEEWAY_M = 0.3  # things on the caps and gutters lie a little outside the outline


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanScale:
    """Metres to points: where the outline's corner is and how long a metre is."""

    length_m: float
    width_m: float
    left: float
    bottom: float
    pt_per_m: float

    def x(self, x_m: float) -> float:
        """Return the page position of a distance from the front cap. [pt]"""
        return self.left + x_m * self.pt_per_m

    def y(self, y_m: float) -> float:
        """Return the page position of a distance from the left gutter. [pt]"""
        return self.bottom + y_m * self.pt_per_m


@dataclass(frozen=True, slots=True, kw_only=True)
class Pennant:
    """One finding on the plan: its letter, where, and whether it was cured."""

    letter: str
    x_m: float
    y_m: float
    is_cured: bool


def is_on_plan(x_m: float, y_m: float, *, length_m: float, width_m: float) -> bool:
    """Return whether a position lies on the outline or just outside it."""
    return (
        -_LEEWAY_M <= x_m <= length_m + _LEEWAY_M
        and -_LEEWAY_M <= y_m <= width_m + _LEEWAY_M
    )


def roof_plan_drawing(
    *,
    length_m: float,
    width_m: float,
    width_pt: float,
    penetrations: tuple[PenetrationFacts, ...] = (),
    film_map: FilmMapFacts | None = None,
    readings: tuple[ReadingFacts, ...] = (),
    place_m: tuple[float, float] | None = None,
    pennants: tuple[Pennant, ...] = (),
) -> Drawing:
    """Return the roof plan as a vector drawing.

    Parameters
    ----------
    length_m, width_m : float
        The outline, cap to cap and gutter to gutter. [m], > 0
    width_pt : float
        Width of the drawing. [pt]
    penetrations : tuple of PenetrationFacts
        Numbered on the plan in this order, from 1; dashed where not detailed.
    film_map : FilmMapFacts, optional
        Drawn in bands; cells that are not measured are hatched.
    readings : tuple of ReadingFacts
        Dots; those without a position, or of another coat, are left out.
    place_m : (float, float), optional
        The place of loss. [m]
    pennants : tuple of Pennant
        Findings: filled while open, hollow once cured. Those of one place stand
        beside each other.

    Returns
    -------
    Drawing
        To scale: one length for a metre in both directions.

    Raises
    ------
    PacketFactsError
        If the outline or the film map cannot be drawn.
    """
    if not (isfinite(length_m) and isfinite(width_m) and length_m > 0 and width_m > 0):
        raise PacketFactsError(
            f"coach: length_m and width_m must be > 0, got {length_m}, {width_m}."
        )
    below = _BELOW_PLAIN if film_map is None else _BELOW_MAP
    pt_per_m = min((width_pt - _LEFT - _RIGHT) / length_m, _HIGHEST_PLAN / width_m)
    scale = PlanScale(
        length_m=length_m,
        width_m=width_m,
        left=_LEFT,
        bottom=below,
        pt_per_m=pt_per_m,
    )
    height = below + width_m * pt_per_m + _ABOVE
    # Named, else a drawing starts with an un-embedded font.
    drawing = Drawing(width_pt, height, initialFontName=SANS)
    if film_map is not None:
        check_film_map(film_map)
        bands = bands_for(film_map)
        _add_film(drawing, scale, film_map, bands)
        _add_legend(drawing, bands)
    _add_outline(drawing, scale)
    _add_scale_bars(drawing, scale)
    if film_map is not None:
        _add_readings(drawing, scale, readings, film_map.coat)
    for order, penetration in enumerate(penetrations, start=1):
        _add_penetration(drawing, scale, penetration, str(order))
    if place_m is not None and is_on_plan(*place_m, length_m=length_m, width_m=width_m):
        _add_place(drawing, scale, *place_m)
    _add_pennants(drawing, scale, pennants)
    return drawing


def _add_film(
    drawing: Drawing,
    scale: PlanScale,
    film_map: FilmMapFacts,
    bands: tuple[Band, ...],
) -> None:
    hatch = Path(strokeColor=RULE_STRONG, strokeWidth=0.35, fillColor=None)
    for iy in range(film_map.ny):
        row: list[Band | None] = []
        for ix in range(film_map.nx):
            at = iy * film_map.nx + ix
            is_measured = film_map.measured[at]
            row.append(band_of(film_map.values_mil[at], bands) if is_measured else None)
        for start, stop, band in _runs(row):
            box = _cells_box(scale, film_map.cell_m, start, stop, iy)
            if box is None:
                continue
            if band is None:
                _hatch_cells(hatch, box, film_map.cell_m * scale.pt_per_m)
                continue
            x0, y0, x1, y1 = box
            # A hairline in the same ink closes the seams that viewers show.
            drawing.add(
                Rect(
                    x0,
                    y0,
                    x1 - x0,
                    y1 - y0,
                    fillColor=band.ink,
                    strokeColor=band.ink,
                    strokeWidth=0.2,
                )
            )
            if band.is_below:
                _dash_cells(drawing, box, film_map.cell_m * scale.pt_per_m)
    if hatch.points:
        drawing.add(hatch)


def _runs(row: list[Band | None]) -> list[tuple[int, int, Band | None]]:
    runs: list[tuple[int, int, Band | None]] = []
    for ix, band in enumerate(row):
        if runs and runs[-1][2] is band:
            runs[-1] = (runs[-1][0], ix + 1, band)
        else:
            runs.append((ix, ix + 1, band))
    return runs


def _cells_box(
    scale: PlanScale, cell_m: float, start: int, stop: int, iy: int
) -> tuple[float, float, float, float] | None:
    x0_m, x1_m = start * cell_m, min(stop * cell_m, scale.length_m)
    y0_m, y1_m = iy * cell_m, min((iy + 1) * cell_m, scale.width_m)
    if x0_m >= x1_m or y0_m >= y1_m:
        return None
    return scale.x(x0_m), scale.y(y0_m), scale.x(x1_m), scale.y(y1_m)


def _hatch_cells(
    hatch: Path, box: tuple[float, float, float, float], cell_pt: float
) -> None:
    x0, y0, x1, y1 = box
    half = cell_pt / 2
    # Lines through (x, y) with x - y a multiple of half a cell, cut to the box.
    first = ceil((x0 - y1) / half)
    offset = first * half
    while offset < x1 - y0:
        start_x, stop_x = max(x0, y0 + offset), min(x1, y1 + offset)
        if stop_x > start_x:
            hatch.moveTo(start_x, start_x - offset)
            hatch.lineTo(stop_x, stop_x - offset)
        offset += half


def _dash_cells(
    drawing: Drawing, box: tuple[float, float, float, float], cell_pt: float
) -> None:
    x0, y0, x1, y1 = box
    middle = (y0 + y1) / 2
    x = x0 + cell_pt / 2
    while x < x1:
        drawing.add(
            Line(
                x - cell_pt / 6,
                middle,
                x + cell_pt / 6,
                middle,
                strokeColor=INK,
                strokeWidth=0.5,
            )
        )
        x += cell_pt


def _add_outline(drawing: Drawing, scale: PlanScale) -> None:
    left, bottom = scale.x(0), scale.y(0)
    right, top = scale.x(scale.length_m), scale.y(scale.width_m)
    drawing.add(
        Rect(
            left,
            bottom,
            right - left,
            top - bottom,
            fillColor=None,
            strokeColor=INK,
            strokeWidth=1,
        )
    )
    drawing.add(label(left, top + 5, "front cap", size=_SMALL, color=SOFT))
    drawing.add(
        label(right, top + 5, "rear cap", anchor="end", size=_SMALL, color=SOFT)
    )
    middle = (left + right) / 2
    drawing.add(
        label(middle, top + 5, "right gutter", anchor="middle", size=_SMALL, color=SOFT)
    )
    drawing.add(
        label(
            middle, bottom - 20, "left gutter", anchor="middle", size=_SMALL, color=SOFT
        )
    )
    for metre in range(int(scale.length_m) + 1):
        x = scale.x(metre)
        drawing.add(Line(x, bottom, x, bottom - 3, strokeColor=SOFT, strokeWidth=0.5))
        drawing.add(
            label(x, bottom - 10, str(metre), anchor="middle", size=_SMALL, color=SOFT)
        )
    for metre in range(int(scale.width_m) + 1):
        y = scale.y(metre)
        drawing.add(Line(left - 3, y, left, y, strokeColor=SOFT, strokeWidth=0.5))
        drawing.add(
            label(left - 5, y - 2.2, str(metre), anchor="end", size=_SMALL, color=SOFT)
        )


def _add_scale_bars(drawing: Drawing, scale: PlanScale) -> None:
    top = scale.bottom - 38
    metres = 2 if scale.length_m >= 4 else 1
    feet = 5 if scale.length_m >= 4 else 2
    bars = (
        (0, metres, 1.0, f"{metres} m"),
        (14, feet, M_PER_FT, f"{feet} ft"),
    )
    for drop, count, unit_m, words in bars:
        for step in range(count):
            drawing.add(
                Rect(
                    scale.left + step * unit_m * scale.pt_per_m,
                    top - drop,
                    unit_m * scale.pt_per_m,
                    3,
                    fillColor=INK if step % 2 == 0 else PAPER,
                    strokeColor=INK,
                    strokeWidth=0.5,
                )
            )
        end = scale.left + count * unit_m * scale.pt_per_m
        drawing.add(label(end + 5, top - drop - 1, words, size=_SMALL, color=INK))
    note = "x in metres from the front cap, y in metres from the left gutter"
    right = scale.x(scale.length_m)
    drawing.add(label(right, top - 1, note, size=_SMALL, color=SOFT, anchor="end"))


def _add_legend(drawing: Drawing, bands: tuple[Band, ...]) -> None:
    columns = 3
    column_pt = (drawing.width - _LEFT) / columns
    for order, band in enumerate((*bands, None)):
        x = _LEFT + (order % columns) * column_pt
        y = 12 - (order // columns) * 11
        box = (x, y, x + 14.0, y + 7.0)
        ink = PAPER if band is None else band.ink
        drawing.add(Rect(x, y, 14, 7, fillColor=ink, strokeColor=SOFT, strokeWidth=0.4))
        if band is None:
            hatch = Path(strokeColor=RULE_STRONG, strokeWidth=0.35, fillColor=None)
            _hatch_cells(hatch, box, 6)
            drawing.add(hatch)
        elif band.is_below:
            _dash_cells(drawing, box, 14)
        words = "not measured" if band is None else band.words
        drawing.add(label(x + 19, y + 1, words, size=_SMALL, color=INK))


def _add_readings(
    drawing: Drawing,
    scale: PlanScale,
    readings: tuple[ReadingFacts, ...],
    coat: str,
) -> None:
    for reading in readings:
        if reading.coat != coat or reading.x_m is None or reading.y_m is None:
            continue
        if is_on_plan(
            reading.x_m,
            reading.y_m,
            length_m=scale.length_m,
            width_m=scale.width_m,
        ):
            drawing.add(
                Circle(
                    scale.x(reading.x_m),
                    scale.y(reading.y_m),
                    1.3,
                    fillColor=INK,
                    strokeColor=PAPER,
                    strokeWidth=0.4,
                )
            )


def _add_penetration(
    drawing: Drawing, scale: PlanScale, penetration: PenetrationFacts, words: str
) -> None:
    if not is_on_plan(
        penetration.x_m,
        penetration.y_m,
        length_m=scale.length_m,
        width_m=scale.width_m,
    ):
        return
    # Small things keep a box that its number fits into.
    width = max(min(penetration.length_m, scale.length_m) * scale.pt_per_m, 11)
    height = max(min(penetration.width_m, scale.width_m) * scale.pt_per_m, 9)
    x, y = scale.x(penetration.x_m), scale.y(penetration.y_m)
    drawing.add(
        Rect(
            x - width / 2,
            y - height / 2,
            width,
            height,
            fillColor=PAPER,
            strokeColor=INK,
            strokeWidth=0.8,
            strokeDashArray=None if penetration.detailed else [2, 1.5],
        )
    )
    drawing.add(
        label(x, y - 2.4, words, size=6.8, color=INK, font_name=BOLD, anchor="middle")
    )


def _add_place(drawing: Drawing, scale: PlanScale, x_m: float, y_m: float) -> None:
    x, y = scale.x(x_m), scale.y(y_m)
    drawing.add(Circle(x, y, _RING, fillColor=None, strokeColor=PAPER, strokeWidth=3))
    drawing.add(Circle(x, y, _RING, fillColor=None, strokeColor=INK, strokeWidth=1.2))
    for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        drawing.add(
            Line(
                x + dx * _RING,
                y + dy * _RING,
                x + dx * (_RING + 5),
                y + dy * (_RING + 5),
                strokeColor=INK,
                strokeWidth=1.2,
            )
        )


_POLE, _FLAG, _APART = 13.0, 8.0, 12.0  # of a pennant [pt]


def _add_pennants(
    drawing: Drawing, scale: PlanScale, pennants: tuple[Pennant, ...]
) -> None:
    taken: list[tuple[float, float]] = []
    for pennant in pennants:
        at = (pennant.x_m, pennant.y_m)
        if not is_on_plan(*at, length_m=scale.length_m, width_m=scale.width_m):
            continue
        x, y = scale.x(pennant.x_m), scale.y(pennant.y_m)
        while any(abs(x - a) < _APART and abs(y - b) < _POLE for a, b in taken):
            x += _APART
        taken.append((x, y))
        _add_pennant(drawing, x, y, pennant)


def _add_pennant(drawing: Drawing, x: float, y: float, pennant: Pennant) -> None:
    top = y + _POLE
    flag = [x, top, x + _FLAG, top - 3.2, x, top - 6.4]
    for ink, width in ((PAPER, 3.0), (INK, 1.0)):
        drawing.add(Line(x, y, x, top, strokeColor=ink, strokeWidth=width))
        drawing.add(
            Polygon(
                flag,
                fillColor=PAPER if pennant.is_cured else INK,
                strokeColor=ink,
                strokeWidth=width,
            )
        )
    letter = label(
        x + 1.5, y - 0.5, pennant.letter, size=_SMALL, color=INK, font_name=BOLD
    )
    room = 1.2 + 4.6 * len(pennant.letter)
    drawing.add(
        Rect(
            x + 1.0,
            y - 1.6,
            room,
            6.6,
            fillColor=PAPER,
            strokeColor=None,
            strokeWidth=0,
        )
    )
    drawing.add(letter)
