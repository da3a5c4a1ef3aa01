"""The roof plan is to scale, and what is not measured is not coloured."""

from __future__ import annotations

from dataclasses import replace

import pytest
from reportlab.graphics.shapes import Circle, Drawing, Path, Rect

from tests.documents.packet_facts import (
    LENGTH_M,
    WIDTH_M,
    make_film_map,
    make_penetrations,
    make_readings,
)
from warranty.documents.facts import FilmMapFacts
from warranty.documents.film_bands import (
    BELOW_INK,
    PacketFactsError,
    band_of,
    bands_for,
)
from warranty.documents.plan_drawing import roof_plan_drawing
from warranty.documents.style import INK

FOOT_M = 0.3048


def make_small_map(**over: object) -> FilmMapFacts:
    values: dict[str, object] = {
        "coat": "base",
        "cell_m": 1.0,
        "nx": 2,
        "ny": 1,
        "values_mil": (10.0, 15.0),
        "measured": (True, True),
        "loo_rmse_mil": None,
        "low_mil": 12.0,
        "high_mil": 18.0,
    }
    return FilmMapFacts(**{**values, **over})


def draw(**over: object) -> Drawing:
    values: dict[str, object] = {
        "length_m": LENGTH_M,
        "width_m": WIDTH_M,
        "width_pt": 487.0,
    }
    return roof_plan_drawing(**{**values, **over})


def shapes(drawing: Drawing, kind: type) -> list:
    return [shape for shape in drawing.contents if isinstance(shape, kind)]


def outline(drawing: Drawing) -> Rect:
    return max(shapes(drawing, Rect), key=lambda rect: rect.width)


class TestScale:
    def test_one_metre_is_as_long_in_both_directions(self):
        box = outline(draw())

        assert box.width / LENGTH_M == pytest.approx(box.height / WIDTH_M)

    def test_scale_bars_are_two_metres_and_five_feet_long(self):
        drawing = draw()
        metre = outline(drawing).width / LENGTH_M
        bars = [r for r in shapes(drawing, Rect) if r.height == 3]

        longest = sorted({round(r.width / metre, 4) for r in bars})

        assert longest == [FOOT_M, 1.0]
        assert len(bars) == 2 + 5

    def test_a_penetration_stands_where_it_was_measured(self):
        vent = replace(make_penetrations()[1], x_m=3.0, y_m=0.5, length_m=1.0)

        drawing = draw(penetrations=(vent,))

        box, metre = outline(drawing), outline(drawing).width / LENGTH_M
        mark = shapes(drawing, Rect)[-1]
        assert mark.x + mark.width / 2 == pytest.approx(box.x + 3.0 * metre)
        assert mark.y + mark.height / 2 == pytest.approx(box.y + 0.5 * metre)
        assert mark.width == pytest.approx(metre)

    def test_what_lies_off_the_roof_is_not_drawn(self):
        lost = replace(make_penetrations()[1], x_m=55.0)

        assert len(draw(penetrations=(lost,)).contents) == len(draw().contents)

    @pytest.mark.parametrize("length", [0.0, -1.0, float("nan"), float("inf")])
    def test_refuses_an_outline_without_length(self, length):
        with pytest.raises(PacketFactsError, match="length_m"):
            draw(length_m=length)


class TestFilm:
    def test_a_thin_cell_gets_the_ink_of_below_the_limit(self):
        drawing = draw(length_m=2.0, width_m=1.0, film_map=make_small_map())

        inks = [r.fillColor for r in shapes(drawing, Rect) if r.width > 100]

        assert BELOW_INK in inks

    def test_a_cell_that_is_not_measured_is_hatched_and_not_filled(self):
        film_map = make_small_map(measured=(False, False))

        drawing = draw(length_m=2.0, width_m=1.0, film_map=film_map)

        assert shapes(drawing, Path)[0].points
        metre = outline(drawing).width / 2.0
        filled = [r for r in shapes(drawing, Rect) if r.fillColor and r.height >= metre]
        assert filled == []

    def test_every_reading_of_the_coat_is_a_dot(self):
        readings = make_readings("base") + make_readings("finish")
        film_map = make_film_map(make_readings("base"))

        drawing = draw(film_map=film_map, readings=readings)

        assert len(shapes(drawing, Circle)) == 45

    def test_cells_past_the_outline_are_cut_to_it(self):
        drawing = draw(film_map=make_film_map(make_readings("base")))
        box = outline(drawing)

        cells = [r for r in shapes(drawing, Rect) if r.strokeColor is not INK]

        assert all(r.x + r.width <= box.x + box.width + 1e-6 for r in cells if r.y > 40)

    @pytest.mark.parametrize(
        "broken",
        [
            {"values_mil": (1.0,)},
            {"measured": (True,)},
            {"nx": 0},
            {"cell_m": 0.0},
            {"values_mil": (float("nan"), 1.0)},
        ],
    )
    def test_refuses_a_map_that_does_not_fit_its_cells(self, broken):
        with pytest.raises(PacketFactsError, match="film_maps"):
            draw(film_map=make_small_map(**broken))


class TestBands:
    @pytest.mark.parametrize(
        ("value_mil", "words"),
        [
            (11.99, "under 12.0 mil (305 µm)"),
            (12.0, "12.0 to 14.0 mil (305 to 356 µm)"),  # the limit itself is inside
            (18.0, "16.0 to 18.0 mil (406 to 457 µm)"),
            (18.01, "over 18.0 mil (457 µm)"),
        ],
    )
    def test_limits_belong_to_the_bands_inside_them(self, value_mil, words):
        assert band_of(value_mil, bands_for(make_small_map())).words == words

    def test_a_coat_without_limits_gets_even_bands(self):
        film_map = make_small_map(low_mil=None, high_mil=None)

        bands = bands_for(film_map)

        assert len(bands) == 3
        assert not any(band.is_below for band in bands)
