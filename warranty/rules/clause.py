"""The clauses of the promise, its standings, and their codes in columns."""

from __future__ import annotations

from enum import StrEnum
from typing import Final

from fleet.film.verdict import (
    CODE_OF_VERDICT,
    MET_CODE,
    NOT_MET_CODE,
    UNKNOWN_CODE,
    VERDICT_OF_CODE,
    Verdict,
)

__all__ = [
    "CLAUSES",
    "CLAUSE_CODE",
    "CODE_OF_VERDICT",
    "DEFAULT_CLAUSES",
    "MET_CODE",
    "NEVER_WAIVED",
    "NOT_MET_CODE",
    "OFF_CODE",
    "STANDINGS",
    "STANDING_CODE",
    "UNKNOWN_CODE",
    "VERDICT_OF_CODE",
    "Clause",
    "Standing",
    "Verdict",
]


class Clause(StrEnum):
    """One rule of an edition."""

    FILM = "film"
    SUBSTRATE = "substrate"
    DECK_DRY = "deck_dry"
    PENETRATIONS = "penetrations"
    CLIMATE = "climate"
    REGISTERED = "registered"
    HOLDER = "holder"
    SERIOUS_FINDINGS = "serious_findings"
    INSPECTIONS = "inspections"
    ALTERATIONS = "alterations"
    COACH = "coach"
    TERM = "term"


class Standing(StrEnum):
    """What the promise is worth on a day."""

    PENDING = "PENDING"
    IN_FORCE = "IN_FORCE"
    AT_RISK = "AT_RISK"
    SUSPENDED = "SUSPENDED"
    ENDED = "ENDED"


# A clause's place in these tuples is its code in a column. Codes are stored with
# decisions: add at the end, never reorder.
CLAUSES: Final[tuple[Clause, ...]] = tuple(Clause)
CLAUSE_CODE: Final[dict[Clause, int]] = {c: i for i, c in enumerate(CLAUSES)}
STANDINGS: Final[tuple[Standing, ...]] = tuple(Standing)
STANDING_CODE: Final[dict[Standing, int]] = {s: i for i, s in enumerate(STANDINGS)}
# The clause is not part of the edition: it has no verdict and blocks nothing.
OFF_CODE: Final = 3

DEFAULT_CLAUSES: Final[tuple[Clause, ...]] = tuple(
    c for c in CLAUSES if c not in (Clause.DECK_DRY, Clause.ALTERATIONS)
)
# The coach's end and the term's end are facts that no waiver undoes.
NEVER_WAIVED: Final[frozenset[Clause]] = frozenset({Clause.COACH, Clause.TERM})
