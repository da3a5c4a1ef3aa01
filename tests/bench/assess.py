"""How fast standings are assessed, beside what reading the same columns costs.

Run ``python -m tests.bench.assess [--rows N]``. The ceiling is the time numpy needs to
sum every array once: no answer about all the facts can come sooner than reading them.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from dataclasses import fields
from datetime import date
from time import perf_counter

import numpy as np
from numpy.typing import NDArray

from warranty.rules.calendar import NO_DAY, Days, day_number
from warranty.rules.clause import MET_CODE, NOT_MET_CODE
from warranty.rules.columns import (
    Facts,
    Findings,
    Index,
    Ragged,
    Steps,
    Visits,
    Waivers,
)
from warranty.rules.standing import assess, judge
from warranty.rules.terms import (
    Anchor,
    HolderKind,
    Terms,
    TermsColumns,
    terms_columns,
)

SEED = 20261101
AS_OF = day_number(date(2026, 11, 1))
YEARS_AGO = AS_OF - 7 * 365
ROUNDS = 3


def editions() -> TermsColumns:
    """Two invented editions, one of each anchor."""
    life = Terms(
        code="LIFE",
        title="Limited warranty for the life of the coach",
        owner_kind=HolderKind.PRIVATE,
        anchor=Anchor.ANNIVERSARY,
        interval_months=12,
        window_days=60,
        grace_days=60,
        reinstatement_days=180,
        registration_days=30,
        serious_cure_days=30,
    )
    rental = Terms(
        code="RENT",
        title="Limited ten-year warranty for rental fleets",
        owner_kind=HolderKind.RENTAL_FLEET,
        anchor=Anchor.LAST_INSPECTION,
        interval_months=6,
        window_days=45,
        grace_days=30,
        reinstatement_days=90,
        registration_days=30,
        serious_cure_days=21,
        term_months=120,
    )
    return terms_columns([life, rental])


def one_step(rng: np.random.Generator, completed: Days, met_share: float) -> Steps:
    """One verdict a roof, from completion on."""
    rows = completed.size
    met = rng.random(rows) < met_share
    return Steps(
        offsets=np.arange(rows + 1),
        from_on=completed,
        code=np.where(met, MET_CODE, NOT_MET_CODE).astype(np.int8),
    )


def offsets_of(counts: Index) -> Index:
    return np.concatenate([[0], np.cumsum(counts)])


def regular_visits(
    rng: np.random.Generator, completed: Days, every_days: Index
) -> Visits:
    """A visit about every interval up to the day asked; some came late or never."""
    counts = (AS_OF - completed) // every_days
    quit_early = rng.random(completed.size) < 0.08
    counts = np.where(quit_early, counts // 2, counts)
    rank = np.arange(counts.sum()) - np.repeat(offsets_of(counts)[:-1], counts)
    planned = np.repeat(completed, counts) + (rank + 1) * np.repeat(every_days, counts)
    jitter = rng.integers(-25, 15, planned.size)
    on = np.minimum(planned + jitter, AS_OF)
    # One in a hundred by another shop, which no edition here accepts.
    foreign = np.arange(on.size) % 100 == 99
    return Visits(offsets=offsets_of(counts), on=on, needs_acceptance=foreign)


def some_findings(rng: np.random.Generator, completed: Days) -> Findings:
    """A serious finding on one roof in ten, most of them repaired in time."""
    counts = (rng.random(completed.size) < 0.1).astype(np.int64)
    found = np.repeat(completed, counts) + 400
    cured = found + rng.integers(1, 28, found.size)
    open_still = rng.random(found.size) < 0.1
    return Findings(
        offsets=offsets_of(counts),
        found_on=found,
        cured_on=np.where(open_still, NO_DAY, cured),
    )


def some_waivers(rng: np.random.Generator, completed: Days) -> Waivers:
    """A waiver of one condition on one roof in a hundred."""
    counts = (rng.random(completed.size) < 0.01).astype(np.int64)
    starts = np.repeat(completed, counts)
    return Waivers(
        offsets=offsets_of(counts),
        clause=rng.integers(0, 5, starts.size).astype(np.int8),
        from_on=starts + 10,
        until_on=starts + 3000,
    )


def synthetic_facts(rows: int) -> Facts:
    """Return an invented fleet of coverages, seven years deep."""
    rng = np.random.default_rng(SEED)
    edition = (rng.random(rows) < 0.3).astype(np.int64)
    completed = rng.integers(YEARS_AGO, AS_OF - 40, rows)
    late = rng.random(rows) < 0.03
    registered = completed + np.where(late, 60, rng.integers(0, 30, rows))
    retired = np.where(rng.random(rows) < 0.03, completed + 900, NO_DAY)
    return Facts(
        edition=edition,
        completed_on=completed,
        registered_on=registered,
        retired_on=retired,
        holder=Steps(
            offsets=np.arange(rows + 1),
            from_on=completed,
            code=edition.astype(np.int8),
        ),
        film=one_step(rng, completed, 0.93),
        substrate=one_step(rng, completed, 0.99),
        deck_dry=Steps.none(rows),
        penetrations=one_step(rng, completed, 0.97),
        climate=one_step(rng, completed, 0.96),
        alterations=Steps.none(rows),
        visits=regular_visits(rng, completed, np.where(edition == 0, 365, 182)),
        findings=some_findings(rng, completed),
        waivers=some_waivers(rng, completed),
    )


def arrays_of(facts: Facts) -> Iterator[NDArray[np.generic]]:
    """Yield every array the facts hold."""
    for field in fields(facts):
        part = getattr(facts, field.name)
        if isinstance(part, Ragged):
            yield from (getattr(part, inner.name) for inner in fields(part))
        else:
            yield part


def best_seconds(work: Callable[[], object]) -> float:
    """Return the fastest of a few rounds. [s]"""

    def once() -> float:
        start = perf_counter()
        work()
        return perf_counter() - start

    return min(once() for _ in range(ROUNDS))


def main() -> None:
    """Print rows per second of each question, and of the ceiling."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=1_000_000)
    rows = parser.parse_args().rows
    terms, facts = editions(), synthetic_facts(rows)
    arrays = list(arrays_of(facts))
    size_mb = sum(a.nbytes for a in arrays) / 1e6
    ceiling = best_seconds(lambda: [a.sum() for a in arrays])
    questions = {
        "standing and verdicts": lambda: judge(terms, facts, AS_OF),
        "with holds_until": lambda: assess(terms, facts, AS_OF),
        "with holds_until, two years ago": lambda: assess(terms, facts, AS_OF - 730),
    }
    lines = [
        f"{rows} coverages, {facts.visits.on.size} visits, {size_mb:.0f} MB of columns",
        f"ceiling (reading them once): {rows / ceiling:,.0f} rows/s",
    ]
    for name, work in questions.items():
        seconds = best_seconds(work)
        lines.append(
            f"{name}: {rows / seconds:,.0f} rows/s, {ceiling / seconds:.1%} of ceiling"
        )
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
