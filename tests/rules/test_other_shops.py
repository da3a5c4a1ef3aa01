"""Inspections by other shops: which day counts, and under which edition."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from tests.rules.roofs import ask, make_rental_terms, make_roof, make_terms
from warranty.rules.checking import check_facts
from warranty.rules.clause import Clause, Standing, Verdict
from warranty.rules.columns import FactsInputError
from warranty.rules.decision import inputs_text, results_text
from warranty.rules.explain import explain
from warranty.rules.roof_facts import PassingVisit, facts_of
from warranty.rules.terms import terms_columns

# Completed 15 June 2022: due 15 June 2023, window from 16 April, grace to 14 August,
# reinstatement to 10 February 2024.
SHOP = "Pine Bend RV Service"
ACCEPTING = make_terms(accepts_other_shops=True)


def by_shop(day: str, *, is_approved: bool = False) -> PassingVisit:
    return PassingVisit(
        on=date.fromisoformat(day),
        reference="visit F-1",
        shop=SHOP,
        is_approved=is_approved,
    )


@pytest.mark.parametrize(
    ("day", "next_due"),
    [
        ("2023-04-15", date(2023, 6, 15)),  # the day before the window: satisfies none
        ("2023-04-16", date(2024, 6, 15)),
        ("2023-08-14", date(2024, 6, 15)),  # the last day of the grace
    ],
)
def test_an_accepting_edition_takes_it_on_the_same_days_as_ours(day, next_due):
    told = ask(make_roof(visits=(by_shop(day),)), "2023-08-14", ACCEPTING)

    assert told.next_due_on == next_due


@pytest.mark.parametrize("day", ["2023-04-16", "2023-06-15", "2023-08-14"])
def test_another_edition_takes_it_on_no_day(day):
    roof = make_roof(visits=(by_shop(day),))

    assert ask(roof, "2023-08-14").standing is Standing.AT_RISK
    assert ask(roof, "2023-08-15").standing is Standing.SUSPENDED
    assert ask(roof, "2024-02-10").standing is Standing.SUSPENDED
    assert ask(roof, "2024-02-11").standing is Standing.ENDED


@pytest.mark.parametrize("day", ["2023-04-16", "2023-06-15", "2023-08-14"])
def test_an_approved_one_counts_under_any_edition(day):
    roof = make_roof(visits=(by_shop(day, is_approved=True),))

    assert ask(roof, "2023-08-15").standing is Standing.IN_FORCE
    assert ask(roof, "2023-08-15").next_due_on == date(2024, 6, 15)


def test_an_approved_reinstatement_counts_from_its_own_day_and_leaves_the_gap():
    roof = make_roof(visits=(by_shop("2023-09-01", is_approved=True),))

    assert ask(roof, "2023-08-31").standing is Standing.SUSPENDED
    assert ask(roof, "2023-09-01").standing is Standing.IN_FORCE


def test_the_last_inspection_anchor_moves_only_by_what_counts():
    ours = PassingVisit(on=date(2022, 12, 1))
    visits = (ours, by_shop("2023-05-01"))
    terms = make_rental_terms()
    accepting = make_rental_terms(accepts_other_shops=True)

    refused = ask(make_roof(visits=visits), "2023-05-20", terms)
    taken = ask(make_roof(visits=visits), "2023-05-20", accepting)

    assert refused.next_due_on == date(2023, 6, 1)
    assert taken.next_due_on == date(2023, 11, 1)


def test_two_editions_in_one_call_judge_the_same_visit_apart():
    roofs = [
        make_roof(visits=(by_shop("2023-06-15"),), edition=0),
        make_roof(visits=(by_shop("2023-06-15"),), edition=1),
        make_roof(visits=(), edition=1),
    ]
    facts = facts_of(roofs)

    kept = facts.visits.accepted(np.array([False, True, True]))

    assert kept.offsets.tolist() == [0, 0, 1, 1]
    assert kept.on.size == 1
    # A slice shares the flat arrays: its offsets do not start at nought.
    assert facts.visits.slice(1, 3).accepted(
        np.array([True, True])
    ).counts.tolist() == [
        1,
        0,
    ]


def test_the_sentence_names_the_shop_and_what_cures_it():
    roof = make_roof(visits=(by_shop("2023-06-15"),))

    said = explain(make_terms(), roof, date(2023, 8, 15))

    result = next(r for r in said.results if r.clause is Clause.INSPECTIONS)
    assert result.verdict is Verdict.NOT_MET
    assert f"The inspection of 2023-06-15 by {SHOP} does not count" in result.because
    assert result.cure.startswith("Ask the office to look at the other shop's report")
    assert result.evidence == ("visit F-1",)


@pytest.mark.parametrize(
    "roof",
    [
        make_roof(visits=(by_shop("2023-04-15"),)),  # would have settled nothing
        make_roof(visits=(by_shop("2023-06-15", is_approved=True),)),
    ],
)
def test_the_sentence_says_nothing_of_a_visit_that_makes_no_difference(roof):
    said = explain(make_terms(), roof, date(2023, 8, 15))

    result = next(r for r in said.results if r.clause is Clause.INSPECTIONS)
    assert SHOP not in result.because


def test_a_column_of_another_kind_is_refused():
    facts = facts_of([make_roof(visits=(by_shop("2023-06-15"),))])
    broken = facts.visits
    object.__setattr__(broken, "needs_acceptance", np.array([1], dtype=np.int64))

    with pytest.raises(FactsInputError, match="needs_acceptance"):
        check_facts(terms_columns([make_terms()]), facts)


class TestReplay:
    def test_version_1_keeps_the_shape_it_had(self):
        roof = make_roof(visits=(PassingVisit(on=date(2023, 6, 15)),))

        old = inputs_text(make_terms(), roof, date(2023, 7, 1), version="1")

        assert "shop" not in old
        assert "is_approved" not in old

    def test_what_version_1_stored_gives_the_same_answer_under_version_2(self):
        roof = make_roof(visits=(PassingVisit(on=date(2023, 6, 15)),))
        old = inputs_text(make_terms(), roof, date(2023, 7, 1), version="1")
        new = inputs_text(make_terms(), roof, date(2023, 7, 1))

        assert results_text("1", old) == results_text("2", new)
