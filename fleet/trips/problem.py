"""What has to be visited, what a day holds, and whether a plan keeps to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fleet.trips.errors import TripInputError

Trip = tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """One place to visit. Times are minutes of the day."""

    load: int  # of the day's capacity, in the unit that capacity has
    opens: int = 0
    closes: int = 24 * 60  # the last moment to arrive
    stay: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """What one day holds, from leaving the yard to being back."""

    capacity: int
    begins: int = 0
    ends: int = 24 * 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """Stops numbered from 1, the yard being 0 in both matrices."""

    stops: tuple[Stop, ...]
    day: Day
    distance: tuple[tuple[int, ...], ...]  # whole units, as they are summed
    drive: tuple[tuple[int, ...], ...]  # whole minutes

    def __post_init__(self) -> None:
        size = len(self.stops) + 1
        for name, matrix in (("distance", self.distance), ("drive", self.drive)):
            if len(matrix) != size or any(len(row) != size for row in matrix):
                raise TripInputError(f"{name} must be {size} x {size}")
            if any(value < 0 for row in matrix for value in row):
                raise TripInputError(f"{name} must not be negative")
        if self.day.capacity < 1:
            raise TripInputError(
                f"capacity must be at least 1, got {self.day.capacity}"
            )
        if any(stop.load < 0 or stop.stay < 0 for stop in self.stops):
            raise TripInputError("load and stay must not be negative")

    def stop(self, number: int) -> Stop:
        """Return the stop of this number, from 1."""
        return self.stops[number - 1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Day trips in no order of days, and the stops that fit into no day alone."""

    trips: tuple[Trip, ...]
    left_over: tuple[int, ...]
    distance: int


def arrivals(problem: Problem, trip: Sequence[int]) -> tuple[int, ...] | None:
    """Return when each stop of a trip is reached, or None if the trip does not hold.

    The last moment is the return to the yard. Early arrivals wait until it opens.
    """
    if sum(problem.stop(number).load for number in trip) > problem.day.capacity:
        return None
    now, here = problem.day.begins, 0
    reached = []
    for number in trip:
        stop = problem.stop(number)
        now = max(now + problem.drive[here][number], stop.opens)
        if now > stop.closes:
            return None
        reached.append(now)
        now, here = now + stop.stay, number
    now += problem.drive[here][0]
    return (*reached, now) if now <= problem.day.ends else None


def length_of(problem: Problem, trip: Sequence[int]) -> int:
    """Return how far a trip is, from the yard and back."""
    legs = zip((0, *trip), (*trip, 0), strict=True)
    return sum(problem.distance[a][b] for a, b in legs)


def plan_of(problem: Problem, trips: Sequence[Sequence[int]]) -> Plan:
    """Return a plan, checked: every trip holds, and no stop is visited twice.

    Raises:
        TripInputError: a trip does not hold, or a stop stands twice.
    """
    kept = tuple(tuple(trip) for trip in trips if trip)
    visited = [number for trip in kept for number in trip]
    if len(set(visited)) != len(visited):
        raise TripInputError("trips must visit a stop once")
    for trip in kept:
        if arrivals(problem, trip) is None:
            raise TripInputError(f"trips must hold, {trip} does not")
    missing = set(range(1, len(problem.stops) + 1)) - set(visited)
    return Plan(
        trips=kept,
        left_over=tuple(sorted(missing)),
        distance=sum(length_of(problem, trip) for trip in kept),
    )
