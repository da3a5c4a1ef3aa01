"""Readings of two attendances under one number are two spots."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from fleet.film.spots import spots_apart


def test_what_was_laid_keeps_its_numbers():
    assert spots_apart([1, 1, 2], [1, 2, 1], [None, None, None]) == [1, 2, 1]


def test_a_later_visit_gets_the_next_free_numbers_of_its_area():
    areas, spots = [1, 1, 2, 1, 1, 2], [1, 5, 1, 1, 1, 1]
    visits = [None, None, None, 7, 7, 7]

    assert spots_apart(areas, spots, visits) == [1, 5, 1, 6, 6, 2]


def test_two_later_visits_are_two_spots():
    assert spots_apart([1, 1, 1], [1, 1, 1], [7, 8, 7]) == [1, 2, 1]


READINGS = st.lists(
    st.tuples(st.integers(1, 3), st.integers(1, 4), st.sampled_from([None, 7, 8])),
    max_size=40,
)


@given(READINGS)
def test_one_number_means_one_attendance_and_one_recorded_number(readings):
    areas, spots, visits = zip(*readings, strict=True) if readings else ((), (), ())

    numbers = spots_apart(areas, spots, visits)

    told = zip(areas, numbers, visits, spots, strict=True)
    by_number = {}
    for area, number, visit, spot in told:
        assert by_number.setdefault((area, number), (visit, spot)) == (visit, spot)
    assert len(by_number) == len(set(readings))
