"""The dry film of one coat, judged by spot and area, with every reason.

`fleet.film.bulk.judge_coats` gives the same verdict for many coats at once; a property
test holds the two together.

References
----------
.. [1] SSPC-PA 2 (2015, editorial revision 2018), 3.2, 8.1, 8.2. Written for metal:
   see `fleet.film.level.BORROWED`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from math import fsum, isfinite

from fleet.film.errors import FilmInputError
from fleet.film.level import (
    BORROWED,
    DEFAULT_LEVEL,
    LIMIT_TOLERANCE_MIL,
    READINGS_PER_SPOT,
    RULE_NAME,
    SPOTS_PER_AREA,
    FilmLimits,
    film_limits,
)
from fleet.film.verdict import Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class SpotReading:
    """One dry film value, placed in its area and spot. [mil]"""

    area: int
    spot: int
    dry_mil: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SpotJudgement:
    """One spot: `UNKNOWN` when it has too few readings and is therefore ignored."""

    area: int
    spot: int
    readings: int
    mean_mil: float
    verdict: Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class AreaJudgement:
    """One area: `UNKNOWN` when it has too few judged spots and is incomplete.

    `mean_mil` is the mean of the judged spots' means, None where no spot is judged.
    """

    area: int
    judged_spots: int
    mean_mil: float | None
    verdict: Verdict

    @property
    def is_complete(self) -> bool:
        """Whether the area has spots enough to be judged as an area."""
        return self.judged_spots >= SPOTS_PER_AREA


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatVerdict:
    """One coat's film: the verdict, and the spots, areas and limits it rests on."""

    verdict: Verdict
    because: str
    level: int
    dry_min_mil: float | None
    dry_max_mil: float | None
    limits: FilmLimits
    areas_required: int
    spots: tuple[SpotJudgement, ...]
    areas: tuple[AreaJudgement, ...]
    rule: str = RULE_NAME
    caution: str = BORROWED

    @property
    def judged_spots(self) -> tuple[SpotJudgement, ...]:
        """The spots with readings enough."""
        return tuple(spot for spot in self.spots if spot.readings >= READINGS_PER_SPOT)

    @property
    def ignored_spots(self) -> tuple[SpotJudgement, ...]:
        """The spots with fewer than three readings."""
        return tuple(spot for spot in self.spots if spot.readings < READINGS_PER_SPOT)

    @property
    def failing_spots(self) -> tuple[SpotJudgement, ...]:
        """The judged spots outside their limits."""
        return tuple(spot for spot in self.spots if spot.verdict is Verdict.NOT_MET)

    @property
    def failing_areas(self) -> tuple[AreaJudgement, ...]:
        """The complete areas outside their limits."""
        return tuple(area for area in self.areas if area.verdict is Verdict.NOT_MET)

    @property
    def complete_areas(self) -> int:
        """How many areas have spots enough."""
        return sum(area.is_complete for area in self.areas)

    @property
    def lowest_spot(self) -> SpotJudgement | None:
        """The judged spot with the thinnest mean, None when no spot is judged."""
        return min(self.judged_spots, key=lambda spot: spot.mean_mil, default=None)

    @property
    def highest_spot(self) -> SpotJudgement | None:
        """The judged spot with the thickest mean, None when no spot is judged."""
        return max(self.judged_spots, key=lambda spot: spot.mean_mil, default=None)


def judge_coat(
    readings: Iterable[SpotReading],
    *,
    dry_min_mil: float | None,
    dry_max_mil: float | None,
    areas_required: int,
    level: int = DEFAULT_LEVEL,
) -> CoatVerdict:
    """Return the verdict on one coat's dry film, with its spots, areas and limits.

    Any judged spot or complete area outside its limits is `NOT_MET`; else too few
    complete areas is `UNKNOWN`; else `MET`. Limits are inclusive.

    Parameters
    ----------
    readings : iterable of SpotReading
        Dry film values. [mil], >= 0. Equal values are separate readings.
    dry_min_mil, dry_max_mil : float or None
        Specified dry film. [mil], > 0; None where there is no such limit.
    areas_required : int
        Complete areas needed, see `fleet.film.level.areas_required_ft2`. >= 0
    level : int, default 3
        Restriction level, 1 to 5.

    Raises
    ------
    FilmInputError
        If a value lies outside its range, or neither limit is given.
    """
    limits = film_limits(dry_min_mil, dry_max_mil, level=level)
    if areas_required < 0:
        raise FilmInputError(
            f"areas_required must be >= 0, got {areas_required}. "
            "Compute it from the roof's length and width."
        )
    spots = _judge_spots(readings, limits)
    areas = _judge_areas(spots, limits)
    verdict, because = _conclude(spots, areas, areas_required)
    return CoatVerdict(
        verdict=verdict,
        because=because,
        level=level,
        dry_min_mil=dry_min_mil,
        dry_max_mil=dry_max_mil,
        limits=limits,
        areas_required=areas_required,
        spots=spots,
        areas=areas,
    )


def _judge_spots(
    readings: Iterable[SpotReading], limits: FilmLimits
) -> tuple[SpotJudgement, ...]:
    values: dict[tuple[int, int], list[float]] = defaultdict(list)
    for reading in readings:
        if not (isfinite(reading.dry_mil) and reading.dry_mil >= 0):
            raise FilmInputError(
                f"dry_mil must be finite and >= 0, got {reading.dry_mil:g} at area "
                f"{reading.area}, spot {reading.spot}. Correct the reading."
            )
        values[reading.area, reading.spot].append(reading.dry_mil)
    return tuple(
        _judge_spot(area, spot, values[area, spot], limits)
        for area, spot in sorted(values)
    )


def _judge_spot(
    area: int, spot: int, dry_mil: list[float], limits: FilmLimits
) -> SpotJudgement:
    mean_mil = fsum(dry_mil) / len(dry_mil)
    verdict = Verdict.UNKNOWN
    if len(dry_mil) >= READINGS_PER_SPOT:
        verdict = _within(mean_mil, limits.spot_low_mil, limits.spot_high_mil)
    return SpotJudgement(
        area=area,
        spot=spot,
        readings=len(dry_mil),
        mean_mil=mean_mil,
        verdict=verdict,
    )


def _judge_areas(
    spots: tuple[SpotJudgement, ...], limits: FilmLimits
) -> tuple[AreaJudgement, ...]:
    areas = []
    for number in sorted({spot.area for spot in spots}):
        means = [
            spot.mean_mil
            for spot in spots
            if spot.area == number and spot.readings >= READINGS_PER_SPOT
        ]
        mean_mil = fsum(means) / len(means) if means else None
        verdict = Verdict.UNKNOWN
        if mean_mil is not None and len(means) >= SPOTS_PER_AREA:
            verdict = _within(mean_mil, limits.area_low_mil, limits.area_high_mil)
        areas.append(
            AreaJudgement(
                area=number,
                judged_spots=len(means),
                mean_mil=mean_mil,
                verdict=verdict,
            )
        )
    return tuple(areas)


def _within(mean_mil: float, low_mil: float, high_mil: float) -> Verdict:
    above = mean_mil >= low_mil - LIMIT_TOLERANCE_MIL
    below = mean_mil <= high_mil + LIMIT_TOLERANCE_MIL
    return Verdict.MET if above and below else Verdict.NOT_MET


def _conclude(
    spots: tuple[SpotJudgement, ...],
    areas: tuple[AreaJudgement, ...],
    areas_required: int,
) -> tuple[Verdict, str]:
    failing_spots = [spot for spot in spots if spot.verdict is Verdict.NOT_MET]
    failing_areas = [area for area in areas if area.verdict is Verdict.NOT_MET]
    if failing_spots or failing_areas:
        named = [f"spot {spot.spot} of area {spot.area}" for spot in failing_spots]
        named += [f"area {area.area} as a whole" for area in failing_areas]
        return Verdict.NOT_MET, f"Outside its limits: {', '.join(named)}."
    complete = sum(area.is_complete for area in areas)
    if complete < areas_required:
        because = (
            f"{complete} of {areas_required} areas have {SPOTS_PER_AREA} spots with "
            f"{READINGS_PER_SPOT} readings each."
        )
        return Verdict.UNKNOWN, because
    return Verdict.MET, f"All spots and {complete} complete areas are within limits."
