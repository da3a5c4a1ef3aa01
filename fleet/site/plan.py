"""The roof plan: outline, laps, crown, penetrations, and what looks odd about them.

Coordinates are metres, x from the front cap and y from the left gutter.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from fleet.film.bounds import ABOVE_ZERO, AT_LEAST_ZERO, Bounds
from fleet.film.units import FT_M, IN_M
from fleet.site.errors import SiteInputError

# Common practice, no source: two to three inches over each cap.
USUAL_LAP_M: Final = 2.5 * IN_M
# Bodies are usually 90 to 102 in wide. 102 in is the federal width of *commercial*
# vehicles (23 CFR 658.15), no legal test for a coach: warnings only.
NARROW_M: Final = 90 * IN_M
WIDE_M: Final = 102 * IN_M
TOO_WIDE_M: Final = 114 * IN_M  # 102 in and two 6 in appurtenances
SHORT_M: Final = 8 * FT_M  # common practice, no source
LONG_M: Final = 45 * FT_M  # common practice, no source
_FINITE: Final = Bounds()
_EDGE_TOLERANCE_M: Final = 1e-6


class PlanDoubt(StrEnum):
    """What may be wrong with a roof plan; shown as a question, never a refusal."""

    NARROW = "NARROW"
    WIDE = "WIDE"
    TOO_WIDE = "TOO_WIDE"
    SHORT = "SHORT"
    LONG = "LONG"
    WIDER_THAN_LONG = "WIDER_THAN_LONG"
    PENETRATION_OUTSIDE = "PENETRATION_OUTSIDE"
    PENETRATIONS_OVERLAP = "PENETRATIONS_OVERLAP"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanWarning:
    """One doubt about a plan, with its sentence and the penetrations concerned."""

    doubt: PlanDoubt
    message: str
    labels: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPenetration:
    """One penetration: its middle, and its size along (x) and across (y) the coach.

    All in metres; a plate or pipe has the size of the square around it.
    """

    label: str
    x_m: float
    y_m: float
    length_m: float
    width_m: float

    def __post_init__(self) -> None:
        """Refuse a place or size that is no number."""
        for name in ("x_m", "y_m"):
            _FINITE.require(name, getattr(self, name), error=SiteInputError)
        for name in ("length_m", "width_m"):
            AT_LEAST_ZERO.require(name, getattr(self, name), error=SiteInputError)

    @property
    def area_m2(self) -> float:
        """Opening in plan. [m2]"""
        return self.length_m * self.width_m

    @property
    def detail_m(self) -> float:
        """Length of detail once around. [m]"""
        return 2 * (self.length_m + self.width_m)


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofPlan:
    """One roof's outline and penetrations.

    `crown_rise_m` is the height of the middle over the gutters; `edge_return_m` the
    height of a coated down-turn around the perimeter, zero where the film stops at the
    gutter.
    """

    length_m: float
    width_m: float
    front_lap_m: float = USUAL_LAP_M
    rear_lap_m: float = USUAL_LAP_M
    crown_rise_m: float = 0.0
    edge_return_m: float = 0.0
    penetrations: tuple[PlanPenetration, ...] = ()

    def __post_init__(self) -> None:
        """Refuse an outline without length or width."""
        for name in ("length_m", "width_m"):
            ABOVE_ZERO.require(name, getattr(self, name), error=SiteInputError)
        for name in ("front_lap_m", "rear_lap_m", "crown_rise_m", "edge_return_m"):
            AT_LEAST_ZERO.require(name, getattr(self, name), error=SiteInputError)

    @property
    def plan_area_m2(self) -> float:
        """Cap to cap and gutter to gutter, without laps: the area judged. [m2]"""
        return self.length_m * self.width_m

    @property
    def crown_ratio(self) -> float:
        """How much longer the crowned surface is than the plan is wide. [1], >= 1

        ``1 + (8/3) (rise / chord)^2``, good to a part in a thousand up to a rise of a
        tenth of the width.
        """
        return 1 + 8 / 3 * (self.crown_rise_m / self.width_m) ** 2

    @property
    def lap_area_m2(self) -> float:
        """What is coated over both caps. [m2]"""
        return (self.front_lap_m + self.rear_lap_m) * self.width_m

    @property
    def edge_area_m2(self) -> float:
        """Perimeter times the down-turn. [m2]"""
        return self.perimeter_m * self.edge_return_m

    @property
    def openings_area_m2(self) -> float:
        """Sum of the penetrations in plan. [m2]"""
        return sum(penetration.area_m2 for penetration in self.penetrations)

    @property
    def coated_area_m2(self) -> float:
        """Plan and laps over the crown, and the down-turn; openings not deducted. [m2]

        Openings are about one per cent of a roof and their flanges are coated, so
        leaving them in is the usual policy; subtract `openings_area_m2` where not.
        """
        flat_m2 = self.plan_area_m2 + self.lap_area_m2
        return flat_m2 * self.crown_ratio + self.edge_area_m2

    @property
    def perimeter_m(self) -> float:
        """Once around the outline. [m]"""
        return 2 * (self.length_m + self.width_m)

    @property
    def detail_m(self) -> float:
        """Length of detail around all penetrations. [m]"""
        return sum(penetration.detail_m for penetration in self.penetrations)

    @property
    def warnings(self) -> tuple[PlanWarning, ...]:
        """Everything that looks odd; empty for a plausible plan."""
        return (
            *_size_warnings(self),
            *_outside_warnings(self),
            *_overlap_warnings(self.penetrations),
        )


def _size_warnings(plan: RoofPlan) -> tuple[PlanWarning, ...]:
    width_in = plan.width_m / IN_M
    length_ft = plan.length_m / FT_M
    found = []
    if plan.width_m > TOO_WIDE_M + _EDGE_TOLERANCE_M:
        message = f"The roof is {width_in:.0f} in wide. Is the width right?"
        found.append(PlanWarning(doubt=PlanDoubt.TOO_WIDE, message=message))
    elif plan.width_m > WIDE_M + _EDGE_TOLERANCE_M:
        message = f"The roof is {width_in:.0f} in wide, more than most bodies."
        found.append(PlanWarning(doubt=PlanDoubt.WIDE, message=message))
    elif plan.width_m < NARROW_M - _EDGE_TOLERANCE_M:
        message = f"The roof is {width_in:.0f} in wide, less than most bodies."
        found.append(PlanWarning(doubt=PlanDoubt.NARROW, message=message))
    if plan.length_m > LONG_M + _EDGE_TOLERANCE_M:
        message = f"The roof is {length_ft:.1f} ft long. Is the length right?"
        found.append(PlanWarning(doubt=PlanDoubt.LONG, message=message))
    elif plan.length_m < SHORT_M - _EDGE_TOLERANCE_M:
        message = f"The roof is {length_ft:.1f} ft long. Is the length right?"
        found.append(PlanWarning(doubt=PlanDoubt.SHORT, message=message))
    if plan.width_m > plan.length_m:
        message = "The roof is wider than long. Are length and width swapped?"
        found.append(PlanWarning(doubt=PlanDoubt.WIDER_THAN_LONG, message=message))
    return tuple(found)


def _outside_warnings(plan: RoofPlan) -> tuple[PlanWarning, ...]:
    return tuple(
        PlanWarning(
            doubt=PlanDoubt.PENETRATION_OUTSIDE,
            message=f"{item.label} reaches beyond the outline. Is its place right?",
            labels=(item.label,),
        )
        for item in plan.penetrations
        if not (
            _is_inside(item.x_m, item.length_m, plan.length_m)
            and _is_inside(item.y_m, item.width_m, plan.width_m)
        )
    )


def _is_inside(middle_m: float, size_m: float, extent_m: float) -> bool:
    low_m, high_m = middle_m - size_m / 2, middle_m + size_m / 2
    return low_m >= -_EDGE_TOLERANCE_M and high_m <= extent_m + _EDGE_TOLERANCE_M


def _overlap_warnings(
    penetrations: tuple[PlanPenetration, ...],
) -> tuple[PlanWarning, ...]:
    return tuple(
        PlanWarning(
            doubt=PlanDoubt.PENETRATIONS_OVERLAP,
            message=f"{one.label} and {other.label} overlap. Is one recorded twice?",
            labels=(one.label, other.label),
        )
        for number, one in enumerate(penetrations)
        for other in penetrations[number + 1 :]
        if _overlap(one, other)
    )


def _overlap(one: PlanPenetration, other: PlanPenetration) -> bool:
    along = abs(one.x_m - other.x_m) < (one.length_m + other.length_m) / 2
    across = abs(one.y_m - other.y_m) < (one.width_m + other.width_m) / 2
    return along and across
