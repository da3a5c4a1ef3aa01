"""Acceptance by shares of single readings: ISO 19840 and its relatives, as data.

The second rule, beside `fleet.film.acceptance`. ISO 19840 is for rough *steel* with a
nominal dry film of 40 um or more, the IMO rules for ships' tanks: on a coach roof both
are borrowed. One point is one reading here, not a spot of three.

References
----------
.. [1] ISO 19840:2012, criteria as read in three published summaries.
.. [2] IMO MSC guideline, 3.5.5 (80/20); resolution MSC.215(82) (90/10).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, isfinite
from typing import Final

from fleet.film.bounds import ABOVE_ZERO, AT_LEAST_ZERO, FloatArray
from fleet.film.errors import FilmInputError
from fleet.film.level import LIMIT_TOLERANCE_MIL
from fleet.film.units import MIL_UM
from fleet.film.verdict import Verdict

MIN_NOMINAL_UM: Final = 40.0  # ISO 19840 scope
_TOLERANCE_UM: Final = LIMIT_TOLERANCE_MIL * MIL_UM


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareRule:
    """One rule by shares of single readings.

    `floor_ratio` times the nominal film is the least any reading may be;
    `thin_ratio` is the share that may lie between floor and nominal film, itself
    allowed only where `thin_ratio_in`; `needs_mean`: whether the mean must reach the
    nominal film; `max_ratio`: the usual maximum where the maker gives none.
    """

    name: str
    floor_ratio: float
    thin_ratio: float
    thin_ratio_in: bool
    needs_mean: bool
    max_ratio: float | None
    certainty: str


ISO_19840: Final = ShareRule(
    name="ISO 19840:2012",
    floor_ratio=0.8,
    thin_ratio=0.2,
    thin_ratio_in=False,  # "less than 20 %": four of twenty fail
    needs_mean=True,
    max_ratio=3.0,  # custom where the maker is silent, not the standard
    certainty="secondary",
)
IMO_80_20: Final = ShareRule(
    name="IMO 80/20",
    floor_ratio=0.8,
    thin_ratio=0.2,
    thin_ratio_in=True,
    needs_mean=False,
    max_ratio=None,
    certainty="confirmed",
)
IMO_90_10: Final = ShareRule(
    name="IMO 90/10",
    floor_ratio=0.9,
    thin_ratio=0.1,
    thin_ratio_in=True,
    needs_mean=False,
    max_ratio=None,
    certainty="secondary",
)

# Largest area [m2] and readings it needs: ISO 19840 table 1. The first row is from
# memory, the others were read.
_READINGS: Final = ((1.0, 5), (3.0, 10), (10.0, 15), (30.0, 20), (100.0, 30))


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareVerdict:
    """The verdict of a share rule, with the figures each criterion used. [um]"""

    rule: ShareRule
    verdict: Verdict
    failed: tuple[str, ...]
    nominal_um: float
    max_um: float | None
    readings: int
    readings_needed: int
    mean_um: float | None
    lowest_um: float | None
    highest_um: float | None
    thin_share: float | None


def readings_for_area(area_m2: float) -> int:
    """Return the readings ISO 19840 asks of an area.

    Above 100 m2: thirty, and ten more for each further 100 m2 or part.

    Raises
    ------
    FilmInputError
        If `area_m2` is not finite and above zero.
    """
    ABOVE_ZERO.require("area_m2", area_m2)
    for largest_m2, readings in _READINGS:
        if area_m2 <= largest_m2:
            return readings
    return 30 + 10 * ceil((area_m2 - 100.0) / 100.0)


def judge_by_shares(
    dry_um: FloatArray,
    *,
    nominal_um: float,
    area_m2: float,
    rule: ShareRule = ISO_19840,
    max_um: float | None = None,
) -> ShareVerdict:
    """Return the verdict of a share rule on one coat.

    Any failed criterion is `NOT_MET`; else too few readings is `UNKNOWN`; else `MET`.

    Parameters
    ----------
    dry_um : ndarray, shape (n,)
        Single readings. [um], >= 0
    nominal_um : float
        Nominal dry film. [um], > 0; ISO 19840 speaks of 40 and more.
    area_m2 : float
        Inspected area. [m2], > 0
    rule : ShareRule, default ISO_19840
    max_um : float or None
        Specified maximum [um]; None takes the rule's usual ratio, if it has one.

    Raises
    ------
    FilmInputError
        If a value lies outside its range.
    """
    AT_LEAST_ZERO.require("dry_um", dry_um)
    ABOVE_ZERO.require("nominal_um", nominal_um)
    highest_allowed_um = _maximum(rule, nominal_um, max_um)
    needed = readings_for_area(area_m2)
    failed: tuple[str, ...] = ()
    thin_share = None
    if dry_um.size:
        floor_um = rule.floor_ratio * nominal_um
        thin = (dry_um >= floor_um - _TOLERANCE_UM) & (
            dry_um < nominal_um - _TOLERANCE_UM
        )
        thin_share = float(thin.mean())
        failed = _failed(dry_um, rule, nominal_um, highest_allowed_um, int(thin.sum()))
    verdict = Verdict.MET if dry_um.size >= needed else Verdict.UNKNOWN
    return ShareVerdict(
        rule=rule,
        verdict=Verdict.NOT_MET if failed else verdict,
        failed=failed,
        nominal_um=nominal_um,
        max_um=highest_allowed_um,
        readings=dry_um.size,
        readings_needed=needed,
        mean_um=float(dry_um.mean()) if dry_um.size else None,
        lowest_um=float(dry_um.min()) if dry_um.size else None,
        highest_um=float(dry_um.max()) if dry_um.size else None,
        thin_share=thin_share,
    )


def _maximum(rule: ShareRule, nominal_um: float, max_um: float | None) -> float | None:
    if max_um is not None:
        if not (isfinite(max_um) and max_um >= nominal_um):
            raise FilmInputError(
                f"max_um must be finite and >= nominal_um ({nominal_um:g}), got "
                f"{max_um:g}. Check the coat's data sheet."
            )
        return max_um
    return None if rule.max_ratio is None else rule.max_ratio * nominal_um


def _failed(
    dry_um: FloatArray,
    rule: ShareRule,
    nominal_um: float,
    max_um: float | None,
    thin: int,
) -> tuple[str, ...]:
    """Return the names of the criteria that fail, in the rule's order."""
    failed = []
    if rule.needs_mean and dry_um.mean() < nominal_um - _TOLERANCE_UM:
        failed.append("mean")
    if dry_um.min() < rule.floor_ratio * nominal_um - _TOLERANCE_UM:
        failed.append("floor")
    # Counts, not shares: 4 of 20 must compare equal to 20 %.
    excess = thin - rule.thin_ratio * dry_um.size
    if excess > 1e-9 or (not rule.thin_ratio_in and excess > -1e-9):
        failed.append("thin share")
    if max_um is not None and dry_um.max() > max_um + _TOLERANCE_UM:
        failed.append("maximum")
    return tuple(failed)
