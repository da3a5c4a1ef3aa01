"""A reasoned answer: what carries it, and its replay byte for byte."""

from __future__ import annotations

import json
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.rules.roofs import (
    COMPLETED,
    finding,
    make_rental_terms,
    make_roof,
    make_terms,
    visits,
)
from warranty.rules.cause import Cause, cause_of
from warranty.rules.clause import Clause
from warranty.rules.decision import (
    RULES,
    Answer,
    DecisionInputError,
    Outcome,
    Reason,
    RuleVersionUnknown,
    check_answer,
    inputs_text,
    read_reasons,
    reasons_text,
    results_text,
    verdict_letters,
)
from warranty.rules.explain import explain
from warranty.rules.roof_facts import RoofFacts
from warranty.rules.stored import StoredInputError, plain, read
from warranty.rules.terms import Terms
from warranty.rules.version import RULE_VERSION

ON = date(2022, 9, 1)
GOOD = explain(make_terms(), make_roof(), ON).results
SUSPENDED_ON = date(2023, 8, 15)  # due 15 June 2023, 60 days of grace until the 14th
SUSPENDED = explain(make_terms(), make_roof(), SUSPENDED_ON).results


def answer(outcome, results, *, cents=100, only=None, reason="So.", **over) -> Answer:
    cited = [r.clause for r in results if only is None or r.clause in only]
    return Answer(
        outcome=outcome,
        reasons=tuple(Reason(clause=c, reason=reason) for c in cited),
        approved_cents=cents,
        **over,
    )


def unknown(clause: Clause):
    """The good results, but for one clause that is not known."""
    roof = make_roof(**{clause.value: ()})
    return explain(make_terms(), roof, ON).results


class TestCheckAnswer:
    def test_all_met_and_all_cited_is_approved(self):
        check_answer(answer(Outcome.APPROVED, GOOD), GOOD)

    def test_an_approval_leaves_no_clause_out(self):
        only = {r.clause for r in GOOD} - {Clause.TERM}

        with pytest.raises(DecisionInputError, match="Give a reason for term too"):
            check_answer(answer(Outcome.APPROVED, GOOD, only=only), GOOD)

    @pytest.mark.parametrize("outcome", [Outcome.APPROVED, Outcome.IN_PART])
    def test_an_approval_rests_on_no_unknown_clause(self, outcome):
        results = unknown(Clause.CLIMATE)
        only = {r.clause for r in results} - {Clause.CLIMATE}

        with pytest.raises(DecisionInputError, match="Not known on that day: climate"):
            check_answer(answer(outcome, results, only=only), results)

    @pytest.mark.parametrize("outcome", Outcome)
    def test_no_answer_cites_an_unknown_clause(self, outcome):
        results = unknown(Clause.FILM)
        cents = 0 if outcome is Outcome.DECLINED else 100

        with pytest.raises(DecisionInputError, match="film is not known"):
            check_answer(answer(outcome, results, cents=cents), results)

    def test_a_gap_is_not_approved_as_a_whole(self):
        with pytest.raises(DecisionInputError, match="Not met on that day: inspec"):
            check_answer(answer(Outcome.APPROVED, SUSPENDED), SUSPENDED)

    def test_a_gap_may_be_paid_in_part_with_its_reason(self):
        check_answer(answer(Outcome.IN_PART, SUSPENDED), SUSPENDED)

    def test_declined_cites_a_clause_that_is_not_met(self):
        declined = answer(
            Outcome.DECLINED, SUSPENDED, cents=0, only={Clause.INSPECTIONS}
        )

        check_answer(declined, SUSPENDED)

    def test_declined_on_met_clauses_alone_is_refused(self):
        declined = answer(Outcome.DECLINED, GOOD, cents=0)

        with pytest.raises(DecisionInputError, match="at least one clause"):
            check_answer(declined, GOOD)

    @pytest.mark.parametrize("cause", [Cause.NOT_ROOF, Cause.CONDENSATION])
    def test_water_from_elsewhere_is_declined_though_all_is_met(self, cause):
        check_answer(answer(Outcome.DECLINED, GOOD, cents=0, cause=cause), GOOD)

    def test_water_from_elsewhere_is_not_approved(self):
        with pytest.raises(DecisionInputError, match="outside the roof"):
            check_answer(answer(Outcome.APPROVED, GOOD, cause=Cause.NOT_ROOF), GOOD)

    @pytest.mark.parametrize(
        ("outcome", "cents"),
        [(Outcome.APPROVED, 0), (Outcome.IN_PART, -1), (Outcome.DECLINED, 1)],
    )
    def test_the_amount_goes_with_the_outcome(self, outcome, cents):
        with pytest.raises(DecisionInputError) as refused:
            check_answer(answer(outcome, GOOD, cents=cents), GOOD)
        assert refused.value.field == "approved_cents"

    def test_a_blank_reason_is_none(self):
        with pytest.raises(DecisionInputError, match="Say why"):
            check_answer(answer(Outcome.APPROVED, GOOD, reason=" \n"), GOOD)

    def test_a_clause_that_is_off_cannot_be_cited(self):
        reasons = (Reason(clause=Clause.DECK_DRY, reason="Wet."),)
        declined = Answer(outcome=Outcome.DECLINED, reasons=reasons, approved_cents=0)

        with pytest.raises(DecisionInputError, match="no clause deck_dry"):
            check_answer(declined, GOOD)

    def test_a_clause_is_cited_once(self):
        reasons = (Reason(clause=Clause.FILM, reason="So."),) * 2
        declined = Answer(outcome=Outcome.DECLINED, reasons=reasons, approved_cents=0)

        with pytest.raises(DecisionInputError, match="one reason"):
            check_answer(declined, GOOD)

    @pytest.mark.parametrize("word", ["final", "Finality", "binding", "definitiva"])
    def test_no_reason_calls_the_answer_the_last(self, word):
        """16 CFR 700.8: a decision may not be called final or binding (title)."""
        with pytest.raises(DecisionInputError, match="never that"):
            check_answer(answer(Outcome.APPROVED, GOOD, reason=f"It is {word}."), GOOD)

    def test_the_finish_coat_is_no_final_word(self):
        check_answer(answer(Outcome.APPROVED, GOOD, reason="The finish coat."), GOOD)


# What version 1 said of one roof, written down once: it must never say otherwise. When
# this fails, the rules have changed: raise RULE_VERSION and keep the old engine.
VERSION_1 = (
    ("film", "1", "MET", "The film of every coat was accepted."),
    ("substrate", "2", "MET", "The roof's substrate is on the system's list."),
    ("penetrations", "3", "MET", "Every penetration on the roof plan is detailed."),
    (
        "climate",
        "4",
        "MET",
        "The weather stayed within the limits on every day of the installation.",
    ),
    ("registered", "5", "MET", None),
    ("holder", "6", "MET", None),
    ("serious_findings", "7", "MET", "No serious finding is open."),
    (
        "inspections",
        "8",
        "NOT_MET",
        "The inspection due on 2023-06-15 was not passed by 2023-08-14.",
    ),
    ("coach", "9", "MET", "The coach has not been retired."),
    ("term", "10", "MET", "The promise runs for the life of the coach."),
)


class TestReplay:
    def test_version_1_says_what_it_said(self):
        inputs = inputs_text(make_terms(), make_roof(), SUSPENDED_ON)

        told = json.loads(results_text("1", inputs))

        assert told["standing"] == "SUSPENDED"
        for said, (clause, number, verdict, because) in zip(
            told["clauses"], VERSION_1, strict=True
        ):
            assert (said["clause"], said["number"]) == (clause, number)
            assert said["verdict"] == verdict
            assert because in (None, said["because"])

    def test_the_version_of_today_is_kept(self):
        assert RULE_VERSION in RULES

    def test_an_unknown_version_is_refused(self):
        with pytest.raises(RuleVersionUnknown, match="version must be one of"):
            results_text("0", inputs_text(make_terms(), make_roof(), ON))

    @given(
        days=st.integers(0, 3000),
        inspected=st.lists(st.integers(0, 2500), max_size=4),
        found=st.integers(0, 900),
        is_rental=st.booleans(),
    )
    @settings(max_examples=60, deadline=None)
    def test_stored_inputs_give_the_same_bytes(self, days, inspected, found, is_rental):
        terms = make_rental_terms() if is_rental else make_terms()
        on = COMPLETED + timedelta(days=days)
        passed = (str(COMPLETED + timedelta(days=n)) for n in inspected)
        roof = make_roof(
            visits=visits(*passed),
            findings=(finding(str(COMPLETED + timedelta(days=found))),),
        )
        inputs = inputs_text(terms, roof, on)

        first = results_text("1", inputs)

        # Read back and written again, the inputs are the same bytes too.
        stored = json.loads(inputs)
        again = inputs_text(
            read(Terms, stored["terms"]), read(RoofFacts, stored["facts"]), on
        )
        assert again == inputs
        assert results_text("1", again) == first
        # And what is replayed is what the page explained.
        said = explain(terms, roof, on)
        told = json.loads(first)
        assert told["standing"] == said.standing
        assert [c["verdict"] for c in told["clauses"]] == [
            r.verdict for r in said.results
        ]

    def test_reasons_are_written_in_the_order_of_the_clauses(self):
        one = Reason(clause=Clause.TERM, reason="Ends.")
        two = Reason(clause=Clause.FILM, reason="Thin.")

        assert reasons_text([one, two]) == reasons_text([two, one])
        assert read_reasons(reasons_text([one, two])) == (two, one)

    def test_letters_tell_each_verdict_and_what_is_off(self):
        assert verdict_letters(SUSPENDED) == "MM-MMMMMN-MM"


class TestStored:
    def test_a_float_has_no_one_spelling(self):
        with pytest.raises(StoredInputError, match="float"):
            plain(0.1)

    def test_a_field_nobody_knows_is_refused(self):
        with pytest.raises(StoredInputError, match="must not hold"):
            read(Reason, {"clause": "film", "reason": "So.", "mood": "good"})

    def test_a_number_for_a_text_is_refused(self):
        with pytest.raises(StoredInputError, match="str was expected"):
            read(Reason, {"clause": "film", "reason": 7})

    def test_a_field_added_later_reads_as_its_default(self):
        stored = plain(make_roof())
        del stored["alterations"]

        assert read(RoofFacts, stored).alterations == ()


@pytest.mark.parametrize(
    ("code", "cause"),
    [
        ("holiday", Cause.FILM),
        ("fastener", Cause.DETAIL),
        ("split sealant", Cause.DETAIL),
        ("branch strike", Cause.IMPACT),
        ("not-roof", Cause.NOT_ROOF),
        ("condensation", Cause.CONDENSATION),
        ("dirt", Cause.UNKNOWN),
        ("", Cause.UNKNOWN),
    ],
)
def test_codes_of_findings_name_their_cause(code, cause):
    assert cause_of(code) is cause
