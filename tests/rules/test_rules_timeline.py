"""A coverage through time, without gap or overlap."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import pytest

from tests.rules.histories import FIRST, random_fleet
from tests.rules.roofs import ask, make_roof, make_terms, visits
from warranty.rules.clause import Clause, Standing
from warranty.rules.columns import FactsInputError
from warranty.rules.roof_facts import RoofFacts, facts_of
from warranty.rules.terms import terms_columns
from warranty.rules.timeline import Period, periods, verdicts_hold_until

TERMS = terms_columns([make_terms()])


def periods_of(roof: RoofFacts, horizon: date) -> tuple[Period, ...]:
    return periods(TERMS, facts_of([roof]), horizon=horizon)


def test_a_neglected_roof_runs_through_every_standing():
    told = periods_of(make_roof(), date(2025, 1, 1))

    assert [(p.from_on.isoformat(), p.standing) for p in told] == [
        ("2022-06-15", Standing.IN_FORCE),
        ("2023-06-16", Standing.AT_RISK),
        ("2023-08-15", Standing.SUSPENDED),
        ("2024-02-11", Standing.ENDED),
    ]


def test_a_standing_that_never_changes_is_left_open():
    assert periods_of(make_roof(), date(2025, 1, 1))[-1].until_on is None


def test_the_last_period_is_cut_at_the_horizon():
    told = periods_of(make_roof(), date(2023, 7, 1))

    assert told[-1] == Period(
        from_on=date(2023, 6, 16), until_on=date(2023, 7, 1), standing=Standing.AT_RISK
    )


def test_a_gap_stays_a_gap():
    told = periods_of(make_roof(visits=visits("2023-12-01")), date(2024, 1, 1))

    assert [p.standing for p in told][-2:] == [Standing.SUSPENDED, Standing.IN_FORCE]


@pytest.mark.parametrize("completed", [None, date(2030, 1, 1)])
def test_nothing_before_completion(completed):
    assert periods_of(make_roof(completed_on=completed), date(2025, 1, 1)) == ()


def test_more_than_one_coverage_is_refused():
    two = facts_of([make_roof(), make_roof()])

    with pytest.raises(FactsInputError, match="one coverage"):
        verdicts_hold_until(TERMS, two, date(2023, 1, 1))


def test_a_clause_holds_until_its_own_change():
    holds = verdicts_hold_until(TERMS, facts_of([make_roof()]), date(2022, 7, 1))

    assert holds[Clause.INSPECTIONS] == date(2023, 8, 14)
    assert holds[Clause.COACH] is None


@pytest.mark.slow
def test_every_day_lies_in_the_period_of_its_standing():
    editions, roofs = random_fleet(5, rows=20)
    columns = terms_columns(editions)
    for roof in roofs:
        told = periods(columns, facts_of([roof]), horizon=FIRST + timedelta(days=700))
        for before, after in pairwise(told):
            assert before.until_on == after.from_on - timedelta(days=1)
            assert before.standing is not after.standing
        for period in told:
            day = period.from_on.isoformat()
            terms = editions[roof.edition]
            alone = RoofFacts(
                **{n: getattr(roof, n) for n in RoofFacts.__slots__} | {"edition": 0}
            )
            assert ask(alone, day, terms).standing is period.standing
