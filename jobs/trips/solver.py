"""Day trips by OR-Tools where the extra ``routes`` is installed."""

from __future__ import annotations

from collections.abc import Callable
from importlib.util import find_spec
from typing import Any

from fleet.trips.nearest import nearest_plan
from fleet.trips.problem import Plan, Problem, arrivals, plan_of

if find_spec("ortools") is not None:
    from ortools.constraint_solver import pywrapcp, routing_enums_pb2
else:  # the extra is not installed: nearest_plan answers alone
    pywrapcp = routing_enums_pb2 = None

WITH_SOLVER = "OR-Tools"
WITHOUT_SOLVER = "nearest stop next, with 2-opt"
# Leaving a stop out costs more than any way to it.
LEAVE_OUT = 10_000_000
SECONDS = 10

OnBetter = Callable[[int], None]


def method() -> str:
    """Return how plans are made here, in words for the page."""
    return WITH_SOLVER if pywrapcp is not None else WITHOUT_SOLVER


def solved_plan(
    problem: Problem, *, seconds: int = SECONDS, on_better: OnBetter = lambda _: None
) -> Plan:
    """Return the shorter of the solver's plan and the plain one.

    ``on_better`` hears of the length of each better plan found meanwhile.
    """
    plain = nearest_plan(problem)
    if pywrapcp is None or not plain.trips:
        return plain
    trips = _searched(problem, seconds, on_better)
    found = plan_of(problem, trips) if trips is not None else plain
    return min((found, plain), key=lambda plan: (len(plan.left_over), plan.distance))


def _searched(
    problem: Problem, seconds: int, on_better: OnBetter
) -> list[list[int]] | None:
    size = len(problem.stops) + 1
    manager = pywrapcp.RoutingIndexManager(size, size - 1, 0)
    model = pywrapcp.RoutingModel(manager)
    _lay_down(problem, manager, model)
    model.AddAtSolutionCallback(lambda: on_better(int(model.CostVar().Max())))
    search = pywrapcp.DefaultRoutingSearchParameters()
    search.first_solution_strategy = (
        routing_enums_pb2.FirstSolutionStrategy.PARALLEL_CHEAPEST_INSERTION
    )
    search.local_search_metaheuristic = (
        routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    )
    search.time_limit.FromSeconds(seconds)
    solution = model.SolveWithParameters(search)
    return None if solution is None else _trips_of(model, manager, solution, size - 1)


def _lay_down(problem: Problem, manager: Any, model: Any) -> None:
    node = manager.IndexToNode
    distance = model.RegisterTransitCallback(
        lambda a, b: problem.distance[node(a)][node(b)]
    )
    model.SetArcCostEvaluatorOfAllVehicles(distance)
    stays = (0, *(stop.stay for stop in problem.stops))
    time = model.RegisterTransitCallback(
        lambda a, b: stays[node(a)] + problem.drive[node(a)][node(b)]
    )
    loads = (0, *(stop.load for stop in problem.stops))
    load = model.RegisterUnaryTransitCallback(lambda a: loads[node(a)])
    day = problem.day
    model.AddDimension(load, 0, day.capacity, True, "load")  # noqa: FBT003  # a C++ API
    model.AddDimension(time, day.ends, day.ends, False, "time")  # noqa: FBT003  # same
    clock = model.GetDimensionOrDie("time")
    for number, stop in enumerate(problem.stops, start=1):
        index = manager.NodeToIndex(number)
        model.AddDisjunction([index], LEAVE_OUT)
        if arrivals(problem, (number,)) is None:
            model.ActiveVar(index).SetValue(0)
        else:
            clock.CumulVar(index).SetRange(stop.opens, min(stop.closes, day.ends))
    for vehicle in range(len(problem.stops)):
        clock.CumulVar(model.Start(vehicle)).SetRange(day.begins, day.begins)


def _trips_of(
    model: Any, manager: Any, solution: Any, vehicles: int
) -> list[list[int]]:
    trips = []
    for vehicle in range(vehicles):
        index, trip = solution.Value(model.NextVar(model.Start(vehicle))), []
        while not model.IsEnd(index):
            trip.append(manager.IndexToNode(index))
            index = solution.Value(model.NextVar(index))
        trips.append(trip)
    return trips
