"""Which editions can be promised."""

from __future__ import annotations

import pytest

from tests.rules.roofs import make_terms
from warranty.rules.clause import DEFAULT_CLAUSES, Clause
from warranty.rules.terms import Designation, TermsInputError, terms_columns


def test_window_and_grace_may_fill_the_interval_but_for_a_day():
    assert make_terms(window_days=200, grace_days=164).grace_days == 164


@pytest.mark.parametrize(("window", "grace"), [(200, 165), (365, 0), (0, 400)])
def test_window_and_grace_that_reach_the_interval_are_refused(window, grace):
    with pytest.raises(TermsInputError, match=r"window_days \+ grace_days"):
        make_terms(window_days=window, grace_days=grace)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("interval_months", 0),
        ("window_days", -1),
        ("grace_days", -1),
        ("reinstatement_days", 4000),
        ("registration_days", -1),
        ("serious_cure_days", -5),
        ("term_months", 0),
        ("code", " "),
        ("title", ""),
    ],
)
def test_a_value_out_of_range_is_refused_by_name(name, value):
    with pytest.raises(TermsInputError, match=name.removesuffix("_days")):
        make_terms(**{name: value})


def test_a_lifetime_must_say_whose():
    # 16 CFR 239.4.
    with pytest.raises(TermsInputError, match="life_of"):
        make_terms(life_of="")


class TestFullDesignation:
    def test_cannot_demand_registration(self):
        # 16 CFR 700.7.
        with pytest.raises(TermsInputError, match="registration"):
            make_terms(designation=Designation.FULL)

    def test_cannot_demand_paid_inspections(self):
        # 15 USC 2304(b)(1).
        kept = tuple(c for c in DEFAULT_CLAUSES if c is not Clause.REGISTERED)
        with pytest.raises(TermsInputError, match="paid inspections"):
            make_terms(designation=Designation.FULL, clauses=kept)

    def test_may_demand_free_inspections(self):
        kept = tuple(c for c in DEFAULT_CLAUSES if c is not Clause.REGISTERED)
        terms = make_terms(
            designation=Designation.FULL, clauses=kept, inspections_free=True
        )

        assert Clause.INSPECTIONS in terms.clauses


class TestNumbers:
    def test_count_from_one_by_default(self):
        assert make_terms().number_of(Clause.SUBSTRATE) == "2"

    def test_are_the_printed_ones_where_given(self):
        terms = make_terms(clauses=(Clause.FILM, Clause.COACH), numbers=("4.1", "4.2"))

        assert terms.number_of(Clause.COACH) == "4.2"

    def test_must_be_one_a_clause(self):
        with pytest.raises(TermsInputError, match="numbers"):
            make_terms(numbers=("1",))

    def test_are_refused_for_a_clause_left_out(self):
        with pytest.raises(TermsInputError, match="deck_dry"):
            make_terms().number_of(Clause.DECK_DRY)


def test_clauses_are_named_once():
    with pytest.raises(TermsInputError, match="once"):
        make_terms(clauses=(Clause.FILM, Clause.FILM))


def test_columns_need_an_edition():
    with pytest.raises(TermsInputError, match="editions"):
        terms_columns([])
