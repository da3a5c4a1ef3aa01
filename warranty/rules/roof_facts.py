"""Facts about one roof in plain Python, and the columns made from them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from fleet.film.verdict import CODE_OF_VERDICT, Verdict
from warranty.rules.calendar import NO_DAY, Days, day_number
from warranty.rules.checking import check_days
from warranty.rules.clause import CLAUSE_CODE, NEVER_WAIVED, Clause
from warranty.rules.columns import (
    Facts,
    FactsInputError,
    Findings,
    Index,
    Steps,
    Visits,
    Waivers,
)
from warranty.rules.terms import HOLDER_KINDS, HolderKind


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictStep:
    """A clause's verdict from a day on, with the sentence and records behind it."""

    from_on: date
    verdict: Verdict
    because: str = ""
    cure: str = ""
    evidence: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class HolderStep:
    """Who holds the coverage from a day on."""

    from_on: date
    kind: HolderKind
    reference: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PassingVisit:
    """A passing inspection or reinstatement.

    One by another shop counts under an edition that accepts such, or once the office
    has approved it.
    """

    on: date
    reference: str = ""
    shop: str = ""  # blank: our own
    is_approved: bool = False

    @property
    def needs_acceptance(self) -> bool:
        """Whether it counts only where the edition accepts other shops."""
        return self.shop != "" and not self.is_approved


@dataclass(frozen=True, slots=True, kw_only=True)
class SeriousFinding:
    """A serious finding and the day of the repair that names it, if any."""

    found_on: date
    cured_on: date | None = None
    reference: str = ""
    cure_reference: str = ""
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiver:
    """The office's waiver of one clause, both days included."""

    clause: Clause
    from_on: date
    until_on: date | None = None
    why: str = ""
    reference: str = ""

    def __post_init__(self) -> None:
        if self.clause in NEVER_WAIVED:
            raise FactsInputError(
                f"clause must be one that can be waived, got {self.clause}."
            )
        if self.until_on is not None and self.until_on < self.from_on:
            raise FactsInputError(
                f"until_on must not lie before {self.from_on}, got {self.until_on}."
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofFacts:
    """What is recorded about one roof's coverage, in any order of day."""

    completed_on: date | None
    edition: int = 0  # row in the terms columns
    registered_on: date | None = None  # earliest valid registration
    registered_reference: str = ""
    retired_on: date | None = None
    retired_reference: str = ""
    holder: tuple[HolderStep, ...] = ()
    film: tuple[VerdictStep, ...] = ()
    substrate: tuple[VerdictStep, ...] = ()
    deck_dry: tuple[VerdictStep, ...] = ()
    penetrations: tuple[VerdictStep, ...] = ()
    climate: tuple[VerdictStep, ...] = ()
    alterations: tuple[VerdictStep, ...] = ()
    visits: tuple[PassingVisit, ...] = ()
    findings: tuple[SeriousFinding, ...] = ()
    waivers: tuple[Waiver, ...] = ()


def facts_of(roofs: Sequence[RoofFacts]) -> Facts:
    """Return the roofs as columns, one row a roof, in the order given.

    Raises
    ------
    FactsInputError
        If a roof has two verdicts, or two holders, from the same day, or completion
        or a visit lies outside years 1900 to 2299.
    """
    facts = Facts(
        edition=np.array([r.edition for r in roofs], dtype=np.int64),
        completed_on=_days(r.completed_on for r in roofs),
        registered_on=_days(r.registered_on for r in roofs),
        retired_on=_days(r.retired_on for r in roofs),
        holder=_steps(
            [[(s.from_on, HOLDER_KINDS.index(s.kind)) for s in r.holder] for r in roofs]
        ),
        film=_verdicts(roofs, lambda r: r.film),
        substrate=_verdicts(roofs, lambda r: r.substrate),
        deck_dry=_verdicts(roofs, lambda r: r.deck_dry),
        penetrations=_verdicts(roofs, lambda r: r.penetrations),
        climate=_verdicts(roofs, lambda r: r.climate),
        alterations=_verdicts(roofs, lambda r: r.alterations),
        visits=_visits(roofs),
        findings=_findings(roofs),
        waivers=_waivers(roofs),
    )
    check_days("completed_on", facts.completed_on)
    check_days("visits.on", facts.visits.on)
    return facts


def _days(days: Iterable[date | None]) -> Days:
    return np.array(
        [NO_DAY if day is None else day_number(day) for day in days], dtype=np.int64
    )


def _offsets(counts: Iterable[int]) -> Index:
    return np.cumsum([0, *counts], dtype=np.int64)


def _steps(rows: Sequence[Sequence[tuple[date, int]]]) -> Steps:
    ordered = [sorted(row) for row in rows]
    for place, row in enumerate(ordered):
        days = [day for day, _ in row]
        if len(set(days)) != len(days):
            raise FactsInputError(
                f"steps must have one code a day, got several in row {place}."
            )
    flat = [step for row in ordered for step in row]
    return Steps(
        offsets=_offsets(map(len, ordered)),
        from_on=_days(day for day, _ in flat),
        code=np.array([code for _, code in flat], dtype=np.int8),
    )


def _verdicts(
    roofs: Sequence[RoofFacts], part: Callable[[RoofFacts], tuple[VerdictStep, ...]]
) -> Steps:
    return _steps(
        [[(s.from_on, CODE_OF_VERDICT[s.verdict]) for s in part(r)] for r in roofs]
    )


def _visits(roofs: Sequence[RoofFacts]) -> Visits:
    rows = [sorted(r.visits, key=lambda visit: visit.on) for r in roofs]
    flat = [visit for row in rows for visit in row]
    return Visits(
        offsets=_offsets(map(len, rows)),
        on=_days(visit.on for visit in flat),
        needs_acceptance=np.array([v.needs_acceptance for v in flat], dtype=np.bool_),
    )


def _findings(roofs: Sequence[RoofFacts]) -> Findings:
    rows = [sorted(r.findings, key=lambda f: f.found_on) for r in roofs]
    flat = [finding for row in rows for finding in row]
    return Findings(
        offsets=_offsets(map(len, rows)),
        found_on=_days(f.found_on for f in flat),
        cured_on=_days(f.cured_on for f in flat),
    )


def _waivers(roofs: Sequence[RoofFacts]) -> Waivers:
    rows = [sorted(r.waivers, key=lambda w: w.from_on) for r in roofs]
    flat = [waiver for row in rows for waiver in row]
    return Waivers(
        offsets=_offsets(map(len, rows)),
        clause=np.array([CLAUSE_CODE[w.clause] for w in flat], dtype=np.int8),
        from_on=_days(w.from_on for w in flat),
        until_on=_days(w.until_on for w in flat),
    )
