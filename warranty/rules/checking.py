"""Do columns fit together? Asked once where they are made, not in every assessment."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from fleet.film.verdict import VERDICT_OF_CODE
from warranty.rules.calendar import FIRST_DAY, LAST_FACT_DAY, NO_DAY, Days
from warranty.rules.clause import CLAUSE_CODE, CLAUSES, NEVER_WAIVED
from warranty.rules.columns import Facts, FactsInputError, Ragged, Steps
from warranty.rules.terms import HOLDER_KINDS, TermsColumns


def check_facts(terms: TermsColumns, facts: Facts) -> None:
    """Raise unless the columns can be assessed.

    Raises
    ------
    FactsInputError
        If shapes differ, completion or a visit lies outside years 1900 to 2299, a
        code is unknown, values of a row are not in order of day, or a waiver names
        the coach or the term.
    """
    rows = len(facts)
    for field in fields(facts):
        part = getattr(facts, field.name)
        if isinstance(part, Ragged):
            _check_ragged(field.name, part, rows)
        elif part.shape != (rows,):
            _refuse(field.name, f"must have shape ({rows},)", part.shape)
    # Months are added to these; every other day is only compared.
    check_days("completed_on", facts.completed_on)
    check_days("visits.on", facts.visits.on)
    _check_codes("edition", facts.edition, len(terms))
    never = [CLAUSE_CODE[clause] for clause in NEVER_WAIVED]
    if np.isin(facts.waivers.clause, never).any():
        _refuse("waivers.clause", "must not name the coach or the term", never)


def _refuse(name: str, demand: str, got: object) -> None:
    raise FactsInputError(f"{name} {demand}, got {got}.")


def check_days(name: str, days: Days) -> None:
    """Raise unless months can be added to the days.

    Raises
    ------
    FactsInputError
        If a day lies outside years 1900 to 2299.
    """
    known = days[days != NO_DAY]
    if known.size and not FIRST_DAY <= known.min() <= known.max() <= LAST_FACT_DAY:
        demand = f"must lie in {FIRST_DAY}..{LAST_FACT_DAY} days since 1970-01-01"
        _refuse(name, demand, (int(known.min()), int(known.max())))


def _check_codes(name: str, codes: NDArray[np.integer], count: int) -> None:
    if codes.size and not 0 <= codes.min() <= codes.max() < count:
        _refuse(name, f"must be in 0..{count - 1}", (codes.min(), codes.max()))


def _check_ragged(name: str, part: Ragged, rows: int) -> None:
    if part.offsets.shape != (rows + 1,) or (part.counts < 0).any():
        _refuse(name, f"must have {rows + 1} offsets that never fall", part.offsets)
    for field in fields(part)[1:]:
        values = getattr(part, field.name)
        whole = f"{name}.{field.name}"
        if values.ndim != 1 or values.size < part.offsets[-1]:
            _refuse(whole, "must reach the last offset", values.shape)
        if field.name.endswith("on"):
            continue
        if field.name == "needs_acceptance":
            if values.dtype != np.bool_:
                _refuse(whole, "must be yes or no", values.dtype)
            continue
        if field.name == "clause":
            _check_codes(whole, values, len(CLAUSES))
        else:
            kinds = HOLDER_KINDS if name == "holder" else VERDICT_OF_CODE
            _check_codes(whole, values, len(kinds))
    _check_order(name, part)


def _check_order(name: str, part: Ragged) -> None:
    first, last = part.offsets[0], part.offsets[-1]
    days = getattr(part, fields(part)[1].name)[first:last]
    if name == "waivers" or days.size < 2:
        return
    gaps = np.diff(days)
    inside = np.ones(gaps.size, dtype=np.bool_)
    starts = part.offsets[1:-1] - first
    inside[starts[(starts > 0) & (starts < days.size)] - 1] = False
    # Two steps from one day would leave open which of them holds.
    least = 1 if isinstance(part, Steps) else 0
    if (gaps[inside] < least).any():
        _refuse(name, "must be in order of day within each row", "other order")
