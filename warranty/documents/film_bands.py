"""The bands of a film map: which thickness gets which ink and what it is called."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from reportlab.lib.colors import Color, HexColor

from warranty.documents.facts import FilmMapFacts
from warranty.documents.wording import UM_PER_MIL

BELOW_INK: Color = HexColor("#d9a184")
ABOVE_INK: Color = HexColor("#6b6a8f")
# Light to dark with thickness, so the order survives a grey printer.
WITHIN_INKS: tuple[Color, ...] = (
    HexColor("#dbe6e4"),
    HexColor("#a9c6c4"),
    HexColor("#739f9f"),
)


class PacketFactsError(ValueError):
    """A fact that cannot be drawn; the message names it and the value received."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A half-open range of dry film, ``low <= value < high``, and its ink. [mil]"""

    low_mil: float
    high_mil: float
    ink: Color
    is_below: bool = False

    @property
    def words(self) -> str:
        """The range in both units, as the legend prints it."""
        low, high = self.low_mil, self.high_mil
        if not isfinite(low):
            return f"under {high:.1f} mil ({high * UM_PER_MIL:.0f} µm)"
        if not isfinite(high):
            return f"over {low:.1f} mil ({low * UM_PER_MIL:.0f} µm)"
        low_um, high_um = low * UM_PER_MIL, high * UM_PER_MIL
        return f"{low:.1f} to {high:.1f} mil ({low_um:.0f} to {high_um:.0f} µm)"


def check_film_map(film_map: FilmMapFacts) -> None:
    """Refuse a film map whose arrays do not fit its cells.

    Raises
    ------
    PacketFactsError
        If a count is wrong or a measured cell is not a finite number.
    """
    cells = film_map.nx * film_map.ny
    if not (film_map.nx > 0 and film_map.ny > 0 and film_map.cell_m > 0):
        raise PacketFactsError(
            "film_maps: nx, ny and cell_m must be > 0, got"
            f" {film_map.nx}, {film_map.ny}, {film_map.cell_m}."
        )
    if len(film_map.values_mil) != cells or len(film_map.measured) != cells:
        raise PacketFactsError(
            f"film_maps: {cells} cells need as many values and marks, got"
            f" {len(film_map.values_mil)} and {len(film_map.measured)}."
        )
    if not all(isfinite(value) for value in measured_values_mil(film_map)):
        raise PacketFactsError("film_maps: a measured cell must be a finite number.")


def measured_values_mil(film_map: FilmMapFacts) -> tuple[float, ...]:
    """Return the values of the measured cells. [mil]"""
    pairs = zip(film_map.values_mil, film_map.measured, strict=True)
    return tuple(value for value, is_measured in pairs if is_measured)


def bands_for(film_map: FilmMapFacts) -> tuple[Band, ...]:
    """Return the bands of the map: by the coat's limits where it has them."""
    low, high = film_map.low_mil, film_map.high_mil
    if low is None or high is None or not low < high:
        return _even_bands(measured_values_mil(film_map))
    step = (high - low) / len(WITHIN_INKS)
    # The upper limit itself is inside, so the last inner band reaches just past it.
    edges = [low + step * i for i in range(len(WITHIN_INKS))] + [high + 1e-9]
    within = tuple(
        Band(low_mil=edges[i], high_mil=edges[i + 1], ink=ink)
        for i, ink in enumerate(WITHIN_INKS)
    )
    below = Band(low_mil=-float("inf"), high_mil=low, ink=BELOW_INK, is_below=True)
    above = Band(low_mil=high + 1e-9, high_mil=float("inf"), ink=ABOVE_INK)
    return (below, *within, above)


def _even_bands(values: tuple[float, ...]) -> tuple[Band, ...]:
    if not values:
        return ()
    low, high = min(values), max(values)
    step = max((high - low) / len(WITHIN_INKS), 0.05)
    return tuple(
        Band(
            low_mil=low + step * i,
            high_mil=low + step * (i + 1) + 1e-9,
            ink=ink,
        )
        for i, ink in enumerate(WITHIN_INKS)
    )


def band_of(value_mil: float, bands: tuple[Band, ...]) -> Band:
    """Return the first band that reaches past the value; the last one else."""
    for band in bands:
        if value_mil < band.high_mil:
            return band
    return bands[-1]
