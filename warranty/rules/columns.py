"""Facts about many coverages as columns: one row a coverage, ragged parts as CSR.

A ragged part keeps its values in flat arrays and, per row, where its values start:
row ``i`` owns ``offsets[i]:offsets[i + 1]``, sorted by day. Facts later than the day
asked belong in the columns; they only affect until when an answer holds.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, Final, Self

import numpy as np
from numpy.typing import NDArray

from warranty.rules.calendar import Days
from warranty.rules.clause import Clause

Codes = NDArray[np.int8]
Index = NDArray[np.int64]
Mask = NDArray[np.bool_]


class FactsInputError(ValueError):
    """Columns do not fit together, or hold a day that cannot be."""


def gathered(offsets: Index, rows: Index) -> tuple[Index, Index]:
    """Return the offsets of the chosen rows, and the flat places they own.

    Parameters
    ----------
    offsets : ndarray of int64, shape (n + 1,)
        Where each row's values start.
    rows : ndarray of int64, shape (m,)
        The rows wanted, in any order, repeats allowed.

    Returns
    -------
    offsets : ndarray of int64, shape (m + 1,)
    places : ndarray of int64, shape (k,)
        Indices into the old flat arrays, row after row.
    """
    first = offsets[rows]
    counts = offsets[rows + 1] - first
    chosen = np.zeros(rows.size + 1, dtype=np.int64)
    np.cumsum(counts, out=chosen[1:])
    places = np.arange(chosen[-1]) + np.repeat(first - chosen[:-1], counts)
    return chosen, places


@dataclass(frozen=True, slots=True, kw_only=True)
class Ragged:
    """The base of every ragged part: offsets, then flat arrays of one length."""

    offsets: Index  # shape (n + 1,)

    @property
    def counts(self) -> Index:
        """How many values each row owns, shape ``(n,)``."""
        return np.diff(self.offsets)

    def slice(self, start: int, stop: int) -> Self:
        """Return rows ``start:stop`` as views; flat arrays stay whole."""
        flat = self._flat()
        return type(self)(offsets=self.offsets[start : stop + 1], **flat)

    def take(self, rows: Index) -> Self:
        """Return the chosen rows, copied."""
        offsets, places = gathered(self.offsets, rows)
        flat = {name: values[places] for name, values in self._flat().items()}
        return type(self)(offsets=offsets, **flat)

    def row_of_each(self) -> Index:
        """Return the row that owns each flat value from the first offset on."""
        return np.repeat(np.arange(self.offsets.size - 1), self.counts)

    def _flat(self) -> dict[str, NDArray[Any]]:
        names = [f.name for f in fields(self) if f.name != "offsets"]
        return {name: getattr(self, name) for name in names}


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps(Ragged):
    """A code that holds from a day until the next step; unknown before the first.

    At most one step a day and row.
    """

    from_on: Days
    code: Codes

    @classmethod
    def none(cls, rows: int) -> Self:
        """Return steps for rows about which nothing is recorded."""
        return cls(
            offsets=np.zeros(rows + 1, dtype=np.int64),
            from_on=np.empty(0, dtype=np.int64),
            code=np.empty(0, dtype=np.int8),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Visits(Ragged):
    """Days of passing inspections and reinstatements.

    One that needs acceptance, by another shop and not approved by the office, counts
    only under an edition that accepts such.
    """

    on: Days
    needs_acceptance: Mask

    def accepted(self, accepts: Mask) -> Self:
        """Return the visits that count, given which rows accept other shops'."""
        first, last = self.offsets[0], self.offsets[-1]
        waits = self.needs_acceptance[first:last]
        if not waits.any():
            return self
        counts = ~waits | np.repeat(accepts, self.counts)
        before = np.zeros(counts.size + 1, dtype=np.int64)
        np.cumsum(counts, out=before[1:])
        return type(self)(
            offsets=before[self.offsets - first],
            on=self.on[first:last][counts],
            needs_acceptance=waits[counts],
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings(Ragged):
    """Serious findings, by day found; ``cured_on`` is ``NO_DAY`` while open.

    Only a cure dated from the finding onwards counts.
    """

    found_on: Days
    cured_on: Days


@dataclass(frozen=True, slots=True, kw_only=True)
class Waivers(Ragged):
    """Waivers of one clause, from a day to a day, both included."""

    clause: Codes
    from_on: Days
    until_on: Days  # NO_DAY: without end


# The clauses that follow a verdict someone worked out from records, step by step.
STEP_CLAUSES: Final[tuple[Clause, ...]] = (
    Clause.FILM,
    Clause.SUBSTRATE,
    Clause.DECK_DRY,
    Clause.PENETRATIONS,
    Clause.CLIMATE,
    Clause.ALTERATIONS,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What is recorded about ``n`` coverages. [d] since 1970-01-01, ``NO_DAY`` = none.

    Parameters
    ----------
    edition : ndarray of int, shape (n,)
        Each coverage's row in the terms columns.
    completed_on, registered_on, retired_on : ndarray of int64, shape (n,)
        Completion; the earliest valid registration; the coach's end.
    holder : Steps
        Kind of owner, as an index into ``terms.HOLDER_KINDS``.
    film, substrate, deck_dry, penetrations, climate, alterations : Steps
        Verdict codes from a day on.
    visits : Visits
    findings : Findings
    waivers : Waivers
    """

    edition: NDArray[np.integer]
    completed_on: Days
    registered_on: Days
    retired_on: Days
    holder: Steps
    film: Steps
    substrate: Steps
    deck_dry: Steps
    penetrations: Steps
    climate: Steps
    alterations: Steps
    visits: Visits
    findings: Findings
    waivers: Waivers

    def __len__(self) -> int:
        return self.completed_on.size

    def slice(self, start: int, stop: int) -> Facts:
        """Return rows ``start:stop`` as views, without copying."""
        parts: dict[str, Any] = {
            f.name: part.slice(start, stop)
            if isinstance(part := getattr(self, f.name), Ragged)
            else part[start:stop]
            for f in fields(self)
        }
        return Facts(**parts)

    def take(self, rows: Index) -> Facts:
        """Return the chosen rows in the order given, copied."""
        parts: dict[str, Any] = {
            f.name: part.take(rows)
            if isinstance(part := getattr(self, f.name), Ragged)
            else part[rows]
            for f in fields(self)
        }
        return Facts(**parts)
