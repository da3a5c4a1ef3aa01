"""What must be true of every history, not only of the golden ones."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.rules import oracle
from tests.rules.histories import FIRST, SPAN_DAYS, random_fleet
from warranty.rules import standing as engine
from warranty.rules.calendar import NO_DAY, date_of, day_number
from warranty.rules.clause import CLAUSES, OFF_CODE, STANDINGS, VERDICT_OF_CODE
from warranty.rules.roof_facts import facts_of
from warranty.rules.standing import Assessment, assess
from warranty.rules.terms import terms_columns

FIRST_DAY = day_number(FIRST)
seeds = st.integers(min_value=0, max_value=2**32 - 1)


def words_of(answer: Assessment, row: int) -> dict[str, str]:
    return {
        clause: VERDICT_OF_CODE[code]
        for clause, code in zip(CLAUSES, answer.verdict[row], strict=True)
        if code != OFF_CODE
    }


@pytest.mark.slow
@settings(max_examples=60, deadline=None)
@given(seed=seeds)
def test_columns_answer_as_the_plain_reading_does(seed):
    editions, roofs = random_fleet(seed, rows=10)
    days = FIRST_DAY + np.random.default_rng(seed).integers(-9, SPAN_DAYS, 10)

    answer = assess(terms_columns(editions), facts_of(roofs), days)

    for row, (roof, number) in enumerate(zip(roofs, days, strict=True)):
        terms, day = editions[roof.edition], date_of(number)
        assert words_of(answer, row) == oracle.verdicts_on(roof, terms, day)
        assert STANDINGS[answer.standing[row]] is oracle.standing_on(roof, terms, day)


@pytest.mark.slow
@settings(max_examples=60, deadline=None)
@given(seed=seeds)
def test_next_due_is_the_smallest_n_not_satisfied(seed):
    editions, roofs = random_fleet(seed, rows=10)
    day = FIRST_DAY + int(np.random.default_rng(seed).integers(120, SPAN_DAYS))

    answer = assess(terms_columns(editions), facts_of(roofs), day)

    for row, roof in enumerate(roofs):
        terms = editions[roof.edition]
        if roof.completed_on is None or "inspections" not in terms.clauses:
            assert answer.next_due_on[row] == NO_DAY
        else:
            due = oracle.inspections_on(roof, terms, date_of(day))[1]
            assert date_of(int(answer.next_due_on[row])) == due


@pytest.mark.slow
@settings(max_examples=60, deadline=None)
@given(seed=seeds)
def test_an_answer_holds_exactly_until_it_says(seed):
    editions, roofs = random_fleet(seed, rows=8)
    terms, facts = terms_columns(editions), facts_of(roofs)
    # Every roof on every day, long past the last recorded fact.
    days = np.arange(FIRST_DAY - 5, FIRST_DAY + 3 * SPAN_DAYS)
    for row in range(len(roofs)):
        answer = assess(terms, facts.take(np.full(days.size, row)), days)
        differs = (answer.standing[1:] != answer.standing[:-1]) | (
            answer.verdict[1:] != answer.verdict[:-1]
        ).any(axis=1)
        changes = np.append(days[1:][differs], NO_DAY)
        following = changes[np.searchsorted(changes, days, side="right")]
        expected = np.where(following == NO_DAY, NO_DAY, following - 1)
        # The last change of a term may lie past the days looked at.
        inside = answer.holds_until < days[-1]
        assert (answer.holds_until[inside] == expected[inside]).all()
        assert (expected[~inside] == NO_DAY).all()


@pytest.mark.slow
@settings(max_examples=20, deadline=None)
@given(seed=seeds)
def test_the_order_of_rows_does_not_matter(seed):
    editions, roofs = random_fleet(seed, rows=30)
    terms, facts = terms_columns(editions), facts_of(roofs)
    order = np.random.default_rng(seed).permutation(len(roofs))
    day = FIRST_DAY + 300

    mixed = assess(terms, facts.take(order), day)
    plain = assess(terms, facts, day)

    assert (mixed.verdict == plain.verdict[order]).all()
    assert (mixed.standing == plain.standing[order]).all()
    assert (mixed.next_due_on == plain.next_due_on[order]).all()
    assert (mixed.holds_until == plain.holds_until[order]).all()


@pytest.mark.slow
def test_one_roof_alone_answers_as_it_does_among_a_million():
    editions, roofs = random_fleet(7, rows=200)
    terms, facts = terms_columns(editions), facts_of(roofs)
    crowd = facts.take(np.arange(1_000_000) % 200)
    day = FIRST_DAY + 400

    among = assess(terms, crowd, day)

    for row in (0, 57, 199):
        alone = assess(terms, facts_of([roofs[row]]), day)
        places = np.arange(row, 1_000_000, 200)
        assert (among.verdict[places] == alone.verdict[0]).all()
        assert (among.standing[places] == alone.standing[0]).all()
        assert (among.next_due_on[places] == alone.next_due_on[0]).all()
        assert (among.holds_until[places] == alone.holds_until[0]).all()


def test_the_size_of_a_block_does_not_matter(monkeypatch):
    editions, roofs = random_fleet(11, rows=100)
    terms, facts = terms_columns(editions), facts_of(roofs)
    whole = assess(terms, facts, FIRST_DAY + 350)

    monkeypatch.setattr(engine, "BLOCK_ROWS", 7)
    parts = assess(terms, facts, FIRST_DAY + 350)

    assert (whole.verdict == parts.verdict).all()
    assert (whole.holds_until == parts.holds_until).all()
