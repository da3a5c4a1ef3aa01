"""Adhesion checks: which tape test, which grades exist, and which may be compared.

ASTM D3359 is for coatings on *metal*; on a membrane or fibreglass roof the tape test
is borrowed. Grades of different methods run in opposite directions and are never
compared as numbers.

References
----------
.. [1] ASTM D3359-23, scope, 5.2; lower grades of scale B and scale A from memory.
.. [2] ISO 2409 (0 is best), from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from fleet.film.bounds import AT_LEAST_ZERO, Bounds
from fleet.site.errors import SiteInputError

CROSS_HATCH_MAX_UM: Final = 125.0  # ASTM D3359, scope: 5 mil
TAPE_S: Final = Bounds(low=60.0, high=120.0)  # remove within 90 s, give or take 30
PSI_PER_MPA: Final = 145.03773773
N_PER_M_PER_LBF_PER_IN: Final = 175.12683525
_REMOVED_PCT: Final = Bounds(low=0.0, high=100.0)


class AdhesionMethod(StrEnum):
    """How adhesion was read."""

    D3359_A = "D3359_A"  # X-cut, 5A best
    D3359_B = "D3359_B"  # cross-hatch, 5B best
    ISO_2409 = "ISO_2409"  # cross-cut, 0 best


@dataclass(frozen=True, slots=True, kw_only=True)
class AdhesionGrade:
    """A whole grade of one method; higher is better only where the method says so."""

    method: AdhesionMethod
    grade: int

    def __post_init__(self) -> None:
        """Refuse a grade the method does not have."""
        if not 0 <= self.grade <= 5:
            raise SiteInputError(
                f"grade must be 0 to 5, got {self.grade}. "
                "Compare the cut with the method's pictures again."
            )

    @property
    def steps_from_best(self) -> int:
        """Grades below the best of its own method, 0 to 5."""
        return self.grade if self.method is AdhesionMethod.ISO_2409 else 5 - self.grade

    @property
    def text(self) -> str:
        """The grade as people write it, e.g. ``4B``."""
        letter = {AdhesionMethod.D3359_A: "A", AdhesionMethod.D3359_B: "B"}
        return f"{self.grade}{letter.get(self.method, '')}"


def tape_method_for(dry_um: float, *, wider_spacing_agreed: bool) -> AdhesionMethod:
    """Return the tape test for a film.

    X-cut above 125 um (5 mil), which a roof film nearly always is; cross-hatch up to
    it, or above it where a wider spacing was agreed.

    Raises
    ------
    SiteInputError
        If `dry_um` is negative or not finite.
    """
    AT_LEAST_ZERO.require("dry_um", dry_um, error=SiteInputError)
    if dry_um > CROSS_HATCH_MAX_UM and not wider_spacing_agreed:
        return AdhesionMethod.D3359_A
    return AdhesionMethod.D3359_B


def require_tape_method(
    method: AdhesionMethod, *, dry_um: float, wider_spacing_agreed: bool
) -> None:
    """Refuse a cross-hatch on a film too thick for it.

    Raises
    ------
    SiteInputError
        If `method` is the cross-hatch and the film asks for the X-cut.
    """
    wanted = tape_method_for(dry_um, wider_spacing_agreed=wider_spacing_agreed)
    if method is AdhesionMethod.D3359_B and wanted is AdhesionMethod.D3359_A:
        raise SiteInputError(
            f"method must be the X-cut (D3359 A) above {CROSS_HATCH_MAX_UM:g} um, got "
            f"the cross-hatch at {dry_um:g} um. Cut an X, or agree a wider spacing."
        )


def cross_hatch_grade(removed_pct: float) -> AdhesionGrade:
    """Return the D3359 B grade for a share of the lattice removed.

    5B none; 4B below 5 %; 3B from 5 to 15; 2B over 15 to 35; 1B over 35 to 65; 0B
    more. A share on a shared limit takes the better grade.

    Raises
    ------
    SiteInputError
        If `removed_pct` is not in [0, 100].
    """
    _REMOVED_PCT.require("removed_pct", removed_pct, error=SiteInputError)
    if removed_pct == 0:
        grade = 5
    elif removed_pct < 5:
        grade = 4
    else:
        grade = sum(removed_pct <= limit for limit in (15, 35, 65))
    return AdhesionGrade(method=AdhesionMethod.D3359_B, grade=grade)


def adhesion_grade(method: AdhesionMethod, grade: float) -> AdhesionGrade:
    """Return a grade as read; whole grades only.

    Raises
    ------
    SiteInputError
        If the grade lies between two grades (D3359-23, 5.2) or off the scale.
    """
    if grade != int(grade):
        raise SiteInputError(
            f"grade must be a whole grade, got {grade:g}. "
            "The method has no grades in between: take the nearer, or repeat the cut."
        )
    return AdhesionGrade(method=method, grade=int(grade))


def is_tape_time_right(seconds: float) -> bool:
    """Return whether the tape came off within 90 s, give or take 30 (D3359-23)."""
    AT_LEAST_ZERO.require("seconds", seconds, error=SiteInputError)
    return bool(TAPE_S.allows(seconds))


def compare(one: AdhesionGrade, other: AdhesionGrade) -> int:
    """Return grades by which `one` is better than `other`, of the same method.

    Raises
    ------
    SiteInputError
        If the methods differ: their scales run in opposite directions.
    """
    if one.method is not other.method:
        raise SiteInputError(
            f"methods must be equal to compare grades, got {one.method} and "
            f"{other.method}. Repeat the check with one method."
        )
    return other.steps_from_best - one.steps_from_best


def psi_from_mpa(mpa: float) -> float:
    """Return pounds per square inch from megapascals. [psi]"""
    return mpa * PSI_PER_MPA


def n_per_m_from_lbf_per_in(lbf_per_in: float) -> float:
    """Return newtons per metre from pounds-force per inch (peel). [N/m]"""
    return lbf_per_in * N_PER_M_PER_LBF_PER_IN
