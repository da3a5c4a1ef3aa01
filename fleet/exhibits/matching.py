"""To which visit an old photo belongs, by its day and its place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from math import asin, cos, radians, sin, sqrt

EARTH_RADIUS_M = 6_371_008.8  # mean radius, IUGG 1980 (GRS 80)
# Project convention: a phone's fix is good to tens of metres, a storage lot is wide.
NEAR_M = 300.0

Place = tuple[Decimal, Decimal]  # latitude, longitude [degree]


class Basis(StrEnum):
    """Why a photo belongs to a visit."""

    DAY = "DAY"  # the only visit of its day
    DAY_AND_PLACE = "DAY_AND_PLACE"  # the one visit of its day near its place


class Unmatched(StrEnum):
    """Why a photo waits for a person."""

    NO_TAKEN_TIME = "NO_TAKEN_TIME"
    NO_VISIT_THAT_DAY = "NO_VISIT_THAT_DAY"
    SEVERAL_VISITS_THAT_DAY = "SEVERAL_VISITS_THAT_DAY"
    FAR_FROM_VISIT = "FAR_FROM_VISIT"


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitDay:
    """One visit: its day, and where earlier pictures of it or its coach were taken."""

    visit: int
    happened_on: date
    places: tuple[Place, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """The visit a photo belongs to and why, or why nobody can say."""

    visit: int | None = None
    basis: Basis | None = None
    unmatched: Unmatched | None = None


def match_photo(
    *, taken_on: date | None, place: Place | None, visits: Sequence[VisitDay]
) -> Match:
    """Return the one visit that a photo can belong to, or why it must wait.

    Parameters
    ----------
    taken_on : date or None
        The day on the camera's own wall clock: visits are dated by local days too.
    place : (latitude, longitude) or None
        [degree]
    visits : sequence of VisitDay
        Any days, any order.

    Notes
    -----
    Never a guess: two visits that fit equally well are none. A visit whose places
    are known is ruled out by a photo taken farther than 300 m from all of them.
    """
    if taken_on is None:
        return Match(unmatched=Unmatched.NO_TAKEN_TIME)
    that_day = [visit for visit in visits if visit.happened_on == taken_on]
    if not that_day:
        return Match(unmatched=Unmatched.NO_VISIT_THAT_DAY)
    near = [visit for visit in that_day if _is_near(place, visit) is True]
    possible = [visit for visit in that_day if _is_near(place, visit) is not False]
    if len(near) == 1:
        return Match(visit=near[0].visit, basis=Basis.DAY_AND_PLACE)
    if not possible:
        return Match(unmatched=Unmatched.FAR_FROM_VISIT)
    if len(possible) == 1 and len(that_day) == 1:
        return Match(visit=possible[0].visit, basis=Basis.DAY)
    return Match(unmatched=Unmatched.SEVERAL_VISITS_THAT_DAY)


def place_text(place: Place) -> str:
    """Return the form in which a place is kept, as a text that can be erased."""
    return f"{place[0]:.6f} {place[1]:.6f}"


def parsed_place(text: str) -> Place | None:
    """Return a kept place, or None if it was erased."""
    latitude, _, longitude = text.partition(" ")
    try:
        return Decimal(latitude), Decimal(longitude)
    except InvalidOperation:
        return None


def distance_m(one: Place, other: Place) -> float:
    """Return the great-circle distance of two places. [m]

    References
    ----------
    .. [1] Haversine formula on a sphere of the mean earth radius; within 0.6 % of
       the ellipsoid.
    """
    north, west, north_too, west_too = (
        radians(value) for value in map(float, (*one, *other))
    )
    half = (
        sin((north_too - north) / 2) ** 2
        + cos(north) * cos(north_too) * sin((west_too - west) / 2) ** 2
    )
    return 2 * EARTH_RADIUS_M * asin(min(1.0, sqrt(half)))


def _is_near(place: Place | None, visit: VisitDay) -> bool | None:
    """Return whether a photo was taken at a visit, or None if nobody knows."""
    if place is None or not visit.places:
        return None
    return any(distance_m(place, known) <= NEAR_M for known in visit.places)
