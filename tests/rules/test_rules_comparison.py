"""Two assessments side by side: what moved, counted and named."""

from __future__ import annotations

import numpy as np
import pytest

from tests.rules.histories import random_fleet
from warranty.rules.clause import CLAUSES, STANDINGS
from warranty.rules.comparison import ComparisonError, Tally, compare
from warranty.rules.roof_facts import facts_of
from warranty.rules.standing import assess
from warranty.rules.terms import terms_columns


def two_answers(seed: int):
    editions, roofs = random_fleet(seed, rows=60)
    facts = facts_of(roofs)
    day = 20_600  # an ordinary day in 2026 [d since 1970]
    columns = terms_columns(editions)
    return assess(columns, facts, day), assess(columns, facts, day + 200)


def aligned(seed: int):
    """Return two answers that claim to be about the same days."""
    first, second = two_answers(seed)
    object.__setattr__(second, "as_of", first.as_of)
    return first, second


@pytest.mark.parametrize("seed", range(3))
def test_the_table_counts_every_row_once(seed):
    before, after = aligned(seed)

    moves = compare(before, after).standings

    for i in range(len(STANDINGS)):
        for j in range(len(STANDINGS)):
            by_hand = sum(
                a == i and b == j
                for a, b in zip(before.standing, after.standing, strict=True)
            )
            assert moves[i, j] == by_hand


@pytest.mark.parametrize("seed", range(3))
def test_a_row_is_changed_when_standing_or_any_verdict_differs(seed):
    before, after = aligned(seed)

    changed = compare(before, after).is_changed

    for row, is_changed in enumerate(changed):
        same = before.standing[row] == after.standing[row] and all(
            before.verdict[row, c] == after.verdict[row, c] for c in range(len(CLAUSES))
        )
        assert is_changed != same


def test_nothing_changes_against_itself():
    before, _ = two_answers(1)

    assert not compare(before, before).is_changed.any()


def test_batches_add_up_to_the_whole():
    before, after = aligned(2)
    tally = Tally()

    for _ in range(2):
        tally.add(compare(before, after))

    whole = compare(before, after)
    assert (tally.standings == 2 * whole.standings).all()
    assert tally.changed == 2 * np.count_nonzero(whole.is_changed)


def test_other_days_are_no_comparison():
    with pytest.raises(ComparisonError, match="same days"):
        compare(*two_answers(3))
