"""Day trips without a solver: the nearest stop next, then crossings undone."""

from __future__ import annotations

from collections.abc import Sequence

from fleet.trips.problem import Plan, Problem, arrivals, length_of, plan_of

# Reversing stretches of longer trips takes long and gains little: days are short.
TWO_OPT_STOPS_MAX = 60


def nearest_plan(problem: Problem) -> Plan:
    """Return a plan by nearest neighbour, each trip then improved by 2-opt.

    A stop that fits into no day, even alone, is left over.

    References
    ----------
    Croes (1958), A method for solving traveling-salesman problems, for 2-opt.
    """
    fitting = [
        number
        for number in range(1, len(problem.stops) + 1)
        if arrivals(problem, (number,)) is not None
    ]
    trips = []
    while fitting:
        trip = _one_trip(problem, fitting)
        fitting = [number for number in fitting if number not in trip]
        trips.append(_uncrossed(problem, trip))
    return plan_of(problem, trips)


def _one_trip(problem: Problem, waiting: Sequence[int]) -> tuple[int, ...]:
    trip: tuple[int, ...] = ()
    open_stops = list(waiting)
    while open_stops:
        here = trip[-1] if trip else 0
        # The number breaks ties, so that equal input gives an equal plan.
        open_stops.sort(key=lambda number: (problem.distance[here][number], number))
        fits = (n for n in open_stops if arrivals(problem, (*trip, n)) is not None)
        chosen = next(fits, None)
        if chosen is None:
            break
        trip = (*trip, chosen)
        open_stops.remove(chosen)
    return trip


def _uncrossed(problem: Problem, trip: tuple[int, ...]) -> tuple[int, ...]:
    if len(trip) > TWO_OPT_STOPS_MAX:
        return trip
    best, length = trip, length_of(problem, trip)
    is_better = True
    while is_better:
        is_better = False
        for first in range(len(best) - 1):
            for last in range(first + 1, len(best)):
                turned = best[first : last + 1][::-1]
                other = (*best[:first], *turned, *best[last + 1 :])
                now = length_of(problem, other)
                if now < length and arrivals(problem, other) is not None:
                    best, length, is_better = other, now, True
    return best
