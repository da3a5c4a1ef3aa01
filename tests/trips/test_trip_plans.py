"""Every plan keeps to capacity and time windows, with and without the solver."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.trips.errors import TripInputError
from fleet.trips.nearest import nearest_plan
from fleet.trips.problem import Day, Problem, Stop, arrivals, plan_of
from jobs.trips import solver


def on_a_line(*at: int, stops=None, day=None) -> Problem:
    """Return a problem whose places lie on a line, a minute a unit."""
    places = (0, *at)
    matrix = tuple(tuple(abs(a - b) for b in places) for a in places)
    return Problem(
        stops=stops or tuple(Stop(load=1) for _ in at),
        day=day or Day(capacity=10),
        distance=matrix,
        drive=matrix,
    )


class TestArrivals:
    def test_early_waits_until_the_place_opens(self):
        problem = on_a_line(10, stops=(Stop(load=1, opens=60, stay=5),))

        assert arrivals(problem, (1,)) == (60, 75)

    def test_late_does_not_hold(self):
        problem = on_a_line(10, stops=(Stop(load=1, closes=9),))

        assert arrivals(problem, (1,)) is None

    def test_the_last_minute_still_holds(self):
        problem = on_a_line(10, stops=(Stop(load=1, closes=10),))

        assert arrivals(problem, (1,)) == (10, 20)

    def test_back_after_the_day_does_not_hold(self):
        assert arrivals(on_a_line(10, day=Day(capacity=1, ends=19)), (1,)) is None

    def test_more_than_the_day_holds_does_not_hold(self):
        assert arrivals(on_a_line(1, 2, day=Day(capacity=1)), (1, 2)) is None


class TestPlanOf:
    def test_a_stop_twice_is_refused(self):
        with pytest.raises(TripInputError, match="once"):
            plan_of(on_a_line(1, 2), [(1,), (1, 2)])

    def test_a_trip_that_does_not_hold_is_refused(self):
        with pytest.raises(TripInputError, match="hold"):
            plan_of(on_a_line(1, 2, day=Day(capacity=1)), [(1, 2)])


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"distance": ((0,),)}, "distance"),
        ({"drive": ((0, -1), (-1, 0))}, "drive"),
        ({"day": Day(capacity=0)}, "capacity"),
        ({"stops": (Stop(load=-1),)}, "load"),
    ],
)
def test_refuses_impossible_problems(change, word):
    fields = {
        "stops": (Stop(load=1),),
        "day": Day(capacity=1),
        "distance": ((0, 1), (1, 0)),
        "drive": ((0, 1), (1, 0)),
    }
    with pytest.raises(TripInputError, match=word):
        Problem(**{**fields, **change})


def test_two_opt_undoes_a_crossing():
    # A square; nearest alone may walk it crosswise, no plan is longer than its rim.
    places = [(0, 0), (0, 10), (10, 10), (10, 0)]
    matrix = tuple(
        tuple(round(((a - c) ** 2 + (b - d) ** 2) ** 0.5) for c, d in places)
        for a, b in places
    )
    problem = Problem(
        stops=tuple(Stop(load=1) for _ in range(3)),
        day=Day(capacity=3),
        distance=matrix,
        drive=matrix,
    )

    assert nearest_plan(problem).distance == 40


def test_what_fits_into_no_day_is_left_over():
    problem = on_a_line(5, 500, day=Day(capacity=5, ends=100))

    assert nearest_plan(problem).left_over == (2,)
    assert solver.solved_plan(problem, seconds=1).left_over == (2,)


def test_without_the_extra_the_plain_plan_answers(monkeypatch):
    monkeypatch.setattr(solver, "pywrapcp", None)
    problem = on_a_line(3, 1, 2)

    assert solver.solved_plan(problem) == nearest_plan(problem)
    assert solver.method() == solver.WITHOUT_SOLVER


problems = st.lists(
    st.tuples(
        st.integers(0, 60), st.integers(1, 4), st.integers(0, 200), st.integers(0, 120)
    ),
    min_size=1,
    max_size=9,
).map(
    lambda rows: on_a_line(
        *(at for at, *_ in rows),
        stops=tuple(
            Stop(load=load, opens=opens, closes=opens + wide, stay=5)
            for _, load, opens, wide in rows
        ),
        day=Day(capacity=5, ends=400),
    )
)


@given(problem=problems)
@settings(deadline=None)
def test_every_plan_visits_each_fitting_stop_once(problem):
    plan = nearest_plan(problem)

    visited = [number for trip in plan.trips for number in trip]
    assert sorted([*visited, *plan.left_over]) == list(range(1, len(problem.stops) + 1))
    assert all(arrivals(problem, trip) is not None for trip in plan.trips)
    assert all(arrivals(problem, (number,)) is None for number in plan.left_over)
