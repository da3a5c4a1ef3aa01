"""The film map: a picture of readings that says where it does not know."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.film.errors import FilmInputError
from fleet.film.map import film_map, inverse_distance

places = st.lists(
    st.tuples(st.floats(0, 10), st.floats(0, 2.5), st.floats(100, 600)),
    min_size=1,
    max_size=15,
)


def map_of(readings, *, length_m=10.0, width_m=2.5):
    x_m, y_m, dry_um = np.array(readings, dtype=np.float64).T
    return film_map(x_m, y_m, dry_um, length_m=length_m, width_m=width_m)


class TestFilmMap:
    @pytest.mark.slow
    @given(places)
    def test_stays_within_the_readings(self, readings):
        film = map_of(readings)

        assert film.dry_um.min() >= min(value for *_, value in readings)
        assert film.dry_um.max() <= max(value for *_, value in readings)

    def test_covers_the_outline_with_quarter_metre_cells(self):
        film = map_of([(1.0, 1.0, 300.0)], length_m=10.1, width_m=2.5)

        assert film.dry_um.shape == (10, 41)
        assert film.x_m[:2].tolist() == [0.125, 0.375]

    def test_gives_the_reading_where_it_was_taken(self):
        film = map_of([(0.125, 0.125, 250.0), (3.0, 1.0, 400.0)])

        assert film.dry_um[0, 0] == 250.0

    def test_averages_readings_of_one_place(self):
        film = map_of([(0.125, 0.125, 250.0), (0.125, 0.125, 350.0), (3.0, 1.0, 900.0)])

        assert film.dry_um[0, 0] == 300.0

    def test_marks_cells_beyond_reach_as_not_measured(self):
        film = map_of([(0.125, 0.125, 250.0)])

        assert film.is_measured[0].tolist() == [x <= 0.125 + 1.5 for x in film.x_m]
        assert 0 < film.measured_ratio < 1

    def test_leaves_each_reading_out_in_turn(self):
        film = map_of([(1.0, 1.0, 100.0), (2.0, 1.0, 200.0), (4.0, 1.0, 400.0)])

        weights = {(0, 1): 1.0, (0, 2): 1 / 9, (1, 2): 1 / 4}
        values = (100.0, 200.0, 400.0)
        errors = []
        for left_out in range(3):
            pairs = [
                (weights[min(left_out, other), max(left_out, other)], values[other])
                for other in range(3)
                if other != left_out
            ]
            predicted = sum(w * v for w, v in pairs) / sum(w for w, _ in pairs)
            errors.append(predicted - values[left_out])
        assert film.left_out_rmse_um == pytest.approx(
            np.sqrt(np.mean(np.square(errors)))
        )

    def test_compares_with_the_mean_of_the_others(self):
        film = map_of([(1.0, 1.0, 100.0), (2.0, 1.0, 200.0), (4.0, 1.0, 400.0)])

        expected = np.sqrt(np.mean([200.0**2, 50.0**2, 250.0**2]))
        assert film.mean_rmse_um == pytest.approx(expected)

    def test_a_smooth_slope_is_explained(self):
        slope = [(x, y, 200.0 + 30 * x) for x in range(10) for y in (0.5, 2.0)]

        assert not map_of(slope).explains_little

    def test_a_checkerboard_is_not(self):
        board = [
            (float(x), float(y), 300.0 + 100 * ((x + y) % 2))
            for x in range(10)
            for y in range(3)
        ]

        assert map_of(board).explains_little

    def test_one_reading_has_no_error_and_explains_little(self):
        film = map_of([(1.0, 1.0, 300.0)])

        assert film.left_out_rmse_um is film.mean_rmse_um is None
        assert film.explains_little

    def test_refuses_no_readings(self):
        empty = np.array([])

        with pytest.raises(FilmInputError, match="at least one reading"):
            film_map(empty, empty, empty, length_m=10.0, width_m=2.5)

    @pytest.mark.parametrize("length_m", [0.0, -1.0, float("nan")])
    def test_refuses_no_outline(self, length_m):
        with pytest.raises(FilmInputError, match="length_m"):
            map_of([(1.0, 1.0, 300.0)], length_m=length_m)

    def test_refuses_millimetres(self):
        with pytest.raises(FilmInputError, match="outline in metres"):
            map_of([(1.0, 1.0, 300.0)], length_m=10000.0, width_m=2500.0)


class TestInverseDistance:
    def test_halfway_is_the_mean(self):
        at = np.array([1.0])

        middle = inverse_distance(
            np.array([0.0, 2.0]), np.zeros(2), np.array([10.0, 20.0]), at_x=at, at_y=at
        )

        assert middle[0] == pytest.approx(15.0)
