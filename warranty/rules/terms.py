"""One immutable edition of the promise, and many editions as columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property, lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from warranty.rules.calendar import MAX_MONTHS, shortest_interval_days
from warranty.rules.clause import CLAUSES, DEFAULT_CLAUSES, Clause


class TermsInputError(ValueError):
    """An edition cannot be promised as written."""


class Anchor(StrEnum):
    """What the inspection dates are counted from."""

    ANNIVERSARY = "anniversary"
    LAST_INSPECTION = "last_inspection"


class HolderKind(StrEnum):
    """Who may hold a coverage."""

    PRIVATE = "private"
    RENTAL_FLEET = "rental_fleet"


class Designation(StrEnum):
    """The legal title of a written warranty (15 USC 2303)."""

    FULL = "full"
    LIMITED = "limited"


ANCHORS: Final[tuple[Anchor, ...]] = tuple(Anchor)
HOLDER_KINDS: Final[tuple[HolderKind, ...]] = tuple(HolderKind)
# Longest stretch of days an edition may name: ten years. Project convention.
_MAX_DAYS: Final = 3660
_MAX_INTERVAL_MONTHS: Final = 600


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """One edition of the promise.

    Parameters
    ----------
    code, title : str
        The office's key and the printed title.
    owner_kind : HolderKind
        The only kind of owner who may hold the coverage.
    anchor : Anchor
        Whether due dates count from completion or from the last passing inspection.
    interval_months : int
        Time between due dates. [month], 1..600
    window_days, grace_days, reinstatement_days : int
        Before a due date, after it, and after the grace. [d], 0..3660
    registration_days, serious_cure_days : int
        From completion, and from a serious finding. [d], 0..3660
    term_months : int or None
        Length of the promise; None is for the life named in ``life_of``. [month]
    clauses : tuple of Clause
        The clauses switched on.
    numbers : tuple of str
        Their numbers in the printed terms, in the same order; empty counts from 1.
    designation : Designation
        Full or limited.
    life_of : str
        Whose life a promise without a term runs for.
    inspections_free : bool
        Whether the required inspections cost the owner nothing.
    accepts_other_shops : bool
        Whether another shop's passing inspection satisfies a due date unapproved.

    Raises
    ------
    TermsInputError
        If a value is out of range or the edition contradicts itself or the law.

    References
    ----------
    .. [1] 16 CFR 700.7 and 15 USC 2304(b)(1): duties under a full warranty.
    .. [2] 16 CFR 239.4: a "lifetime" must say whose life.
    """

    code: str
    title: str
    owner_kind: HolderKind
    anchor: Anchor
    interval_months: int
    window_days: int
    grace_days: int
    reinstatement_days: int
    registration_days: int
    serious_cure_days: int
    term_months: int | None = None
    clauses: tuple[Clause, ...] = DEFAULT_CLAUSES
    numbers: tuple[str, ...] = ()
    designation: Designation = Designation.LIMITED
    life_of: str = "coach"
    inspections_free: bool = False
    accepts_other_shops: bool = False

    def __post_init__(self) -> None:
        _check_ranges(self)
        _check_clauses(self)
        _check_law(self)

    def number_of(self, clause: Clause) -> str:
        """Return the clause's number in the printed terms."""
        if clause not in self.clauses:
            raise TermsInputError(
                f"clause must be one of edition {self.code}'s clauses, got {clause}."
            )
        place = self.clauses.index(clause)
        return self.numbers[place] if self.numbers else str(place + 1)


def _check_ranges(terms: Terms) -> None:
    if not terms.code.strip() or not terms.title.strip():
        raise TermsInputError("code and title must not be blank.")
    for name in ("window", "grace", "reinstatement", "registration", "serious_cure"):
        value = getattr(terms, f"{name}_days")
        if not 0 <= value <= _MAX_DAYS:
            raise TermsInputError(
                f"{name}_days must be in 0..{_MAX_DAYS}, got {value}."
            )
    interval = terms.interval_months
    if not 1 <= interval <= _MAX_INTERVAL_MONTHS:
        raise TermsInputError(
            f"interval_months must be in 1..{_MAX_INTERVAL_MONTHS}, got {interval}."
        )
    # A visit must satisfy at most one due date, in the shortest interval too.
    shortest = _shortest(interval)
    if terms.window_days + terms.grace_days >= shortest:
        raise TermsInputError(
            f"window_days + grace_days must be below {shortest}, the shortest "
            f"{interval} months, got {terms.window_days + terms.grace_days}."
        )
    if terms.term_months is not None and not 1 <= terms.term_months <= MAX_MONTHS:
        raise TermsInputError(
            f"term_months must be in 1..{MAX_MONTHS} or none, got {terms.term_months}."
        )


_shortest = lru_cache(maxsize=None)(shortest_interval_days)


def _check_clauses(terms: Terms) -> None:
    if len(set(terms.clauses)) != len(terms.clauses):
        raise TermsInputError(f"clauses must be named once each, got {terms.clauses}.")
    if terms.numbers and len(terms.numbers) != len(terms.clauses):
        raise TermsInputError(
            f"numbers must be one per clause ({len(terms.clauses)}), "
            f"got {len(terms.numbers)}."
        )
    if len(set(terms.numbers)) != len(terms.numbers):
        raise TermsInputError(f"numbers must differ, got {terms.numbers}.")


def _check_law(terms: Terms) -> None:
    if terms.term_months is None and not terms.life_of.strip():
        raise TermsInputError(
            "life_of must say whose life a promise without term runs for."
        )
    if terms.designation is not Designation.FULL:
        return
    if Clause.REGISTERED in terms.clauses:
        raise TermsInputError(
            "designation full cannot demand registration: call it limited or "
            "switch the clause off."
        )
    if Clause.INSPECTIONS in terms.clauses and not terms.inspections_free:
        raise TermsInputError(
            "designation full cannot demand paid inspections: call it limited, make "
            "them free or switch the clause off."
        )


@dataclass(frozen=True, kw_only=True)
class TermsColumns:
    """Editions as columns of shape ``(e,)``; a coverage names its row. [d], [month]"""

    owner_kind: NDArray[np.int8]
    by_anniversary: NDArray[np.bool_]
    interval_months: NDArray[np.int64]
    window_days: NDArray[np.int64]
    grace_days: NDArray[np.int64]
    reinstatement_days: NDArray[np.int64]
    registration_days: NDArray[np.int64]
    serious_cure_days: NDArray[np.int64]
    term_months: NDArray[np.int64]  # -1: no term
    switched_on: NDArray[np.bool_]  # shape (e, clauses)
    accepts_other_shops: NDArray[np.bool_]

    def __len__(self) -> int:
        return self.interval_months.size

    @cached_property
    def switches(self) -> tuple[bool | None, ...]:
        """Per clause: on everywhere (True), off everywhere (False), or mixed."""
        on = self.switched_on
        return tuple(
            True if on[:, c].all() else None if on[:, c].any() else False
            for c in range(on.shape[1])
        )


def terms_columns(editions: Sequence[Terms]) -> TermsColumns:
    """Return the editions as columns, in the order given.

    Raises
    ------
    TermsInputError
        If there is no edition.
    """
    if not editions:
        raise TermsInputError("editions must hold at least one edition, got none.")

    def column(name: str) -> NDArray[np.int64]:
        return np.array([getattr(e, name) for e in editions], dtype=np.int64)

    return TermsColumns(
        owner_kind=np.array(
            [HOLDER_KINDS.index(e.owner_kind) for e in editions], dtype=np.int8
        ),
        by_anniversary=np.array([e.anchor is Anchor.ANNIVERSARY for e in editions]),
        interval_months=column("interval_months"),
        window_days=column("window_days"),
        grace_days=column("grace_days"),
        reinstatement_days=column("reinstatement_days"),
        registration_days=column("registration_days"),
        serious_cure_days=column("serious_cure_days"),
        term_months=np.array(
            [-1 if e.term_months is None else e.term_months for e in editions],
            dtype=np.int64,
        ),
        switched_on=np.array([[c in e.clauses for c in CLAUSES] for e in editions]),
        accepts_other_shops=np.array([e.accepts_other_shops for e in editions]),
    )
