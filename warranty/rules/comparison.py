"""What changes between two assessments of the same coverages."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from warranty.rules.clause import CLAUSES, STANDINGS
from warranty.rules.standing import Assessment

# Verdict codes 0 to 2, and 3 for a clause that the edition does not have.
VERDICT_CODES = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """Counts of what changed, and which rows.

    Parameters
    ----------
    standings : ndarray of int64, shape (s, s)
        How many coverages went from the row's standing to the column's.
    clauses : ndarray of int64, shape (c, 4, 4)
        Per clause, how many went from one verdict code to another.
    is_changed : ndarray of bool, shape (n,)
        Whether a coverage's standing or any verdict differs.
    """

    standings: NDArray[np.int64]
    clauses: NDArray[np.int64]
    is_changed: NDArray[np.bool_]


class ComparisonError(ValueError):
    """Two assessments are not about the same coverages on the same days."""


def compare(before: Assessment, after: Assessment) -> Changes:
    """Return what changed between two assessments, row by row and counted.

    Raises
    ------
    ComparisonError
        If they differ in length or in the days asked.
    """
    if len(before) != len(after) or (before.as_of != after.as_of).any():
        raise ComparisonError(
            f"before and after must be the same coverages on the same days, got"
            f" {len(before)} and {len(after)} rows."
        )
    return Changes(
        standings=_crossed(before.standing, after.standing, len(STANDINGS)),
        clauses=np.stack(
            [
                _crossed(before.verdict[:, c], after.verdict[:, c], VERDICT_CODES)
                for c in range(len(CLAUSES))
            ]
        ),
        is_changed=(before.standing != after.standing)
        | (before.verdict != after.verdict).any(axis=1),
    )


def _crossed(
    before: NDArray[np.int8], after: NDArray[np.int8], codes: int
) -> NDArray[np.int64]:
    pairs = before.astype(np.int64) * codes + after
    return np.bincount(pairs, minlength=codes * codes).reshape(codes, codes)


@dataclass(slots=True, kw_only=True)
class Tally:
    """Changes summed over batches."""

    standings: NDArray[np.int64] = field(
        default_factory=lambda: np.zeros((len(STANDINGS),) * 2, dtype=np.int64)
    )
    clauses: NDArray[np.int64] = field(
        default_factory=lambda: np.zeros(
            (len(CLAUSES), VERDICT_CODES, VERDICT_CODES), dtype=np.int64
        )
    )
    changed: int = 0

    def add(self, changes: Changes) -> None:
        """Count one batch."""
        self.standings += changes.standings
        self.clauses += changes.clauses
        self.changed += int(changes.is_changed.sum())
