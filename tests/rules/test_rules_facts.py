"""Columns that do not fit together are refused before they are assessed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from tests.rules.histories import random_fleet
from tests.rules.roofs import make_roof, make_terms, steps, visits
from warranty.rules.calendar import NO_DAY, day_number
from warranty.rules.checking import check_facts
from warranty.rules.clause import CLAUSE_CODE, Clause, Verdict
from warranty.rules.columns import Facts, FactsInputError, Waivers
from warranty.rules.roof_facts import facts_of
from warranty.rules.standing import assess
from warranty.rules.terms import terms_columns

TERMS = terms_columns([make_terms()])


def two_roofs() -> Facts:
    seen = visits("2023-06-15", "2024-06-15")
    return facts_of([make_roof(visits=seen), make_roof(visits=seen)])


def test_good_columns_pass():
    editions, roofs = random_fleet(1, rows=50)

    check_facts(terms_columns(editions), facts_of(roofs))


def test_a_column_of_another_length_is_refused():
    wrong = replace(two_roofs(), retired_on=np.array([NO_DAY]))

    with pytest.raises(FactsInputError, match="retired_on"):
        check_facts(TERMS, wrong)


def test_an_edition_outside_the_columns_is_refused():
    with pytest.raises(FactsInputError, match="edition"):
        check_facts(TERMS, replace(two_roofs(), edition=np.array([0, 1])))


def test_a_day_outside_the_calendar_is_refused():
    far = np.array([day_number(date(2300, 1, 1)), NO_DAY])

    with pytest.raises(FactsInputError, match="completed_on"):
        check_facts(TERMS, replace(two_roofs(), completed_on=far))


@pytest.mark.parametrize("day", ["0202-06-01", "2923-06-01"])
def test_a_visit_in_a_mistyped_year_is_refused(day):
    with pytest.raises(FactsInputError, match=r"visits\.on"):
        facts_of([make_roof(visits=visits(day))])


@pytest.mark.parametrize("day", [date.min, date.max])
def test_any_day_can_be_asked(day):
    answer = assess(TERMS, two_roofs(), day_number(day))

    assert answer.next_due_on.size == 2


def test_a_day_that_is_only_compared_may_be_any():
    roof = make_roof(retired_on=date.max, registered_on=date.min)

    assert assess(TERMS, facts_of([roof]), 20000).standing.size == 1


def test_visits_out_of_order_are_refused():
    facts = two_roofs()
    turned = replace(facts.visits, on=facts.visits.on[::-1])

    with pytest.raises(FactsInputError, match="visits"):
        check_facts(TERMS, replace(facts, visits=turned))


def test_an_unknown_verdict_code_is_refused():
    facts = two_roofs()
    film = replace(facts.film, code=np.array([1, 7], dtype=np.int8))

    with pytest.raises(FactsInputError, match=r"film\.code"):
        check_facts(TERMS, replace(facts, film=film))


def test_a_waiver_of_the_coach_is_refused():
    waivers = Waivers(
        offsets=np.array([0, 1, 1]),
        clause=np.array([CLAUSE_CODE[Clause.COACH]], dtype=np.int8),
        from_on=np.array([0]),
        until_on=np.array([NO_DAY]),
    )

    with pytest.raises(FactsInputError, match="waivers"):
        check_facts(TERMS, replace(two_roofs(), waivers=waivers))


def test_two_verdicts_from_one_day_are_refused():
    both = steps(Verdict.MET) + steps(Verdict.NOT_MET)

    with pytest.raises(FactsInputError, match="one code a day"):
        facts_of([make_roof(film=both)])


def test_a_wrong_number_of_days_is_refused():
    with pytest.raises(FactsInputError, match="as_of"):
        assess(TERMS, two_roofs(), np.array([19000, 19001, 19002]))


def test_no_coverage_is_no_answer():
    answer = assess(TERMS, facts_of([]), 19000)

    assert len(answer) == 0
