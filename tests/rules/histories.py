"""Random editions and roof histories, dense enough that every edge is met."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from tests.rules import oracle
from tests.rules.roofs import make_terms
from warranty.rules.calendar import shortest_interval_days
from warranty.rules.clause import CLAUSES, NEVER_WAIVED, Verdict
from warranty.rules.roof_facts import (
    HolderStep,
    PassingVisit,
    RoofFacts,
    SeriousFinding,
    VerdictStep,
    Waiver,
)
from warranty.rules.terms import ANCHORS, HOLDER_KINDS, Terms

FIRST = date(2023, 12, 20)
SPAN_DAYS = 700
_WAIVABLE = [c for c in CLAUSES if c not in NEVER_WAIVED]


def random_terms(rng: np.random.Generator) -> Terms:
    """An edition with short times, and some clauses left out."""
    interval = int(rng.integers(1, 7))
    room = shortest_interval_days(interval) - 1
    window = int(rng.integers(0, room + 1))
    kept = [c for c in CLAUSES if rng.random() < 0.9]
    return make_terms(
        owner_kind=HOLDER_KINDS[rng.integers(2)],
        anchor=ANCHORS[rng.integers(2)],
        interval_months=interval,
        window_days=window,
        grace_days=int(rng.integers(0, room - window + 1)),
        reinstatement_days=int(rng.choice([0, 1, 20, 90, 300])),
        registration_days=int(rng.integers(0, 40)),
        serious_cure_days=int(rng.integers(0, 40)),
        term_months=None if rng.random() < 0.5 else int(rng.integers(1, 30)),
        clauses=tuple(kept),
        accepts_other_shops=bool(rng.random() < 0.4),
    )


def _day(rng: np.random.Generator) -> date:
    return FIRST + timedelta(days=int(rng.integers(SPAN_DAYS)))


def _maybe(rng: np.random.Generator, share: float) -> date | None:
    return _day(rng) if rng.random() < share else None


def _verdicts(rng: np.random.Generator) -> tuple[VerdictStep, ...]:
    """Mostly met from early on, sometimes several changes."""
    if rng.random() < 0.9:
        return (VerdictStep(from_on=FIRST, verdict=Verdict.MET),)
    days = {_day(rng) for _ in range(rng.integers(0, 4))}
    return tuple(
        VerdictStep(from_on=day, verdict=list(Verdict)[rng.integers(3)]) for day in days
    )


def _visits(
    rng: np.random.Generator, terms: Terms, completed: date | None
) -> tuple[PassingVisit, ...]:
    """Visits anywhere, and more of them on the edges of the next due date."""
    grace, late = terms.grace_days, terms.grace_days + terms.reinstatement_days
    edges = [-terms.window_days, 0, grace, late]
    visits: tuple[PassingVisit, ...] = ()
    for _ in range(rng.integers(0, 9)):
        day = _day(rng)
        if completed is not None and rng.random() < 0.7:
            known = RoofFacts(completed_on=completed, visits=visits)
            last = max([completed, *(visit.on for visit in visits)])
            due = oracle.inspections_on(known, terms, last)[1]
            edge = int(rng.choice(edges)) + int(rng.integers(-1, 2))
            day = due + timedelta(days=edge)
        shop = "Hilltop RV" if rng.random() < 0.2 else ""
        approved = bool(shop) and rng.random() < 0.3
        visits += (PassingVisit(on=day, shop=shop, is_approved=approved),)
    return visits


def _finding(rng: np.random.Generator) -> SeriousFinding:
    found = _day(rng)
    after = timedelta(days=int(rng.integers(-3, 80)))
    cured = found + after if rng.random() < 0.8 else None
    return SeriousFinding(found_on=found, cured_on=cured)


def _waiver(rng: np.random.Generator) -> Waiver:
    start = _day(rng)
    length = timedelta(days=int(rng.integers(0, 120)))
    return Waiver(
        clause=_WAIVABLE[rng.integers(len(_WAIVABLE))],
        from_on=start,
        until_on=start + length if rng.random() < 0.8 else None,
    )


def random_roof(rng: np.random.Generator, terms: Terms, edition: int) -> RoofFacts:
    """A roof whose facts fall anywhere in two years."""
    completed = None
    if rng.random() > 0.05:
        completed = FIRST + timedelta(days=int(rng.integers(0, 120)))
    holders = {FIRST if rng.random() < 0.8 else _day(rng) for _ in range(2)}
    kind = terms.owner_kind
    return RoofFacts(
        edition=edition,
        completed_on=completed,
        registered_on=FIRST if rng.random() < 0.6 else _maybe(rng, 0.7),
        retired_on=_maybe(rng, 0.2),
        holder=tuple(
            HolderStep(
                from_on=day,
                kind=kind if rng.random() < 0.9 else HOLDER_KINDS[rng.integers(2)],
            )
            for day in holders
        ),
        film=_verdicts(rng),
        substrate=_verdicts(rng),
        deck_dry=_verdicts(rng),
        penetrations=_verdicts(rng),
        climate=_verdicts(rng),
        alterations=_verdicts(rng),
        visits=_visits(rng, terms, completed),
        findings=tuple(_finding(rng) for _ in range(max(0, int(rng.integers(-4, 4))))),
        waivers=tuple(_waiver(rng) for _ in range(max(0, int(rng.integers(-3, 3))))),
    )


def random_fleet(seed: int, rows: int) -> tuple[list[Terms], list[RoofFacts]]:
    """Some editions, and roofs spread over them."""
    rng = np.random.default_rng(seed)
    editions = [random_terms(rng) for _ in range(4)]
    roofs = []
    for _ in range(rows):
        edition = int(rng.integers(len(editions)))
        roofs.append(random_roof(rng, editions[edition], edition))
    return editions, roofs
