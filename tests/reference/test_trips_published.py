"""Day trips against a published vehicle-routing instance.

A-n32-k5 of Augerat et al. (1995): 31 stops, capacity 100, distances rounded to whole
units (TSPLIB's EUC_2D). Coordinates, loads and the optimal value of 784 are those of
the instance file itself as kept in the repository ruanmartinelli/cvrp-ts,
``A-n32-k5.vrp``, commit a546de1dcaa4b28cc5b567b46a3c27cf37f7188f. The optimal routes
are from memory; that they cost 784 here shows that no coordinate is mistyped.
"""

from __future__ import annotations

from math import floor, hypot

import pytest

from fleet.trips.nearest import nearest_plan
from fleet.trips.problem import Day, Plan, Problem, Stop, arrivals, plan_of
from jobs.trips.solver import solved_plan

PLACES = (
    "82 76,96 44,50 5,49 8,13 7,29 89,58 30,84 39,14 24,2 39,3 82,5 10,98 52,84 25,"
    "61 59,1 65,88 51,91 2,19 32,93 3,50 93,98 14,5 42,42 9,61 62,9 97,80 55,57 69,"
    "23 15,20 70,85 60,98 5"
)
LOADS = (
    "19 21 6 19 7 12 16 6 16 8 14 21 16 3 22 18 19 1 24 8 12 4 8 24 24 2 20 15 2 14 9"
)
BEST_KNOWN = 784
OPTIMAL = (
    (21, 31, 19, 17, 13, 7, 26),
    (12, 1, 16, 30),
    (27, 24),
    (29, 18, 8, 9, 22, 15, 10, 25, 5, 20),
    (14, 28, 11, 4, 23, 3, 2, 6),
)


@pytest.fixture(scope="module")
def problem() -> Problem:
    places = [tuple(map(int, place.split())) for place in PLACES.split(",")]
    # TSPLIB's nint: the nearest whole number, halves up.
    distance = tuple(
        tuple(floor(hypot(a[0] - b[0], a[1] - b[1]) + 0.5) for b in places)
        for a in places
    )
    return Problem(
        stops=tuple(Stop(load=int(word), closes=10_000) for word in LOADS.split()),
        day=Day(capacity=100, ends=10_000),
        distance=distance,
        drive=distance,
    )


def assert_holds(problem: Problem, plan: Plan) -> None:
    visited = sorted(number for trip in plan.trips for number in trip)
    assert visited == list(range(1, 32))
    assert all(arrivals(problem, trip) is not None for trip in plan.trips)


def test_the_published_optimum_costs_what_is_published(problem):
    assert plan_of(problem, OPTIMAL).distance == BEST_KNOWN


@pytest.mark.slow
def test_the_solver_comes_within_five_per_cent(problem):
    better: list[int] = []

    plan = solved_plan(problem, seconds=3, on_better=better.append)

    assert_holds(problem, plan)
    assert plan.distance <= BEST_KNOWN * 1.05
    assert better


def test_the_plain_plan_holds_and_is_no_better_than_the_best(problem):
    plan = nearest_plan(problem)

    assert_holds(problem, plan)
    assert BEST_KNOWN <= plan.distance <= 2 * BEST_KNOWN
