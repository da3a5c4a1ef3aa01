"""The letter to the owner and the evidence list."""

from __future__ import annotations

from datetime import date

import pytest

from tests.rules.roofs import make_roof, make_terms
from warranty.rules.cause import Cause
from warranty.rules.clause import Clause, Standing, Verdict
from warranty.rules.decision import Outcome
from warranty.rules.evidence import ClaimRecords, Need, evidence_for, missing
from warranty.rules.explain import explain
from warranty.rules.letter import CitedClause, LetterFacts, LetterInputError, letter

ON = date(2022, 9, 1)


def cited(**over) -> CitedClause:
    fields = {
        "clause": Clause.INSPECTIONS,
        "number": "4.2",
        "title": "Inspections current",
        "verdict": Verdict.NOT_MET,
        "waived": False,
        "because": "The inspection due on 2023-06-15 was not passed by 2023-08-14.",
        "cure": "Pass a reinstatement inspection on or before 2024-02-10.",
        "reason": "Nobody came to see the roof in time.",
        **over,
    }
    return CitedClause(**fields)


def facts(**over) -> LetterFacts:
    fields = {
        "company": "Harrow Lake Coach Roofs",
        "address": "4 Boathouse Lane, Harrow Lake",
        "owner": "A. Person",
        "claim_ref": "C-1",
        "coach_no": "HL-0001",
        "edition": "LIFE",
        "noticed_on": date(2023, 9, 1),
        "reported_on": date(2023, 9, 2),
        "decided_on": date(2023, 9, 8),
        "standing": Standing.SUSPENDED,
        "outcome": Outcome.DECLINED,
        "approved": "USD 0.00",
        "cause": Cause.DETAIL,
        "cited": (cited(),),
        **over,
    }
    return LetterFacts(**fields)


class TestLetter:
    def test_says_the_clause_why_and_what_cures_it(self):
        text = letter(facts()).text

        assert "Clause 4.2, inspections current: not met." in text
        assert "Nobody came to see the roof in time." in text
        assert "Clause 4.2: Pass a reinstatement inspection" in text

    @pytest.mark.parametrize("outcome", Outcome)
    @pytest.mark.parametrize("standing", Standing)
    @pytest.mark.parametrize("cause", Cause)
    def test_never_calls_itself_the_last_word(self, outcome, standing, cause):
        """16 CFR 700.8 (title): no decision is final or binding."""
        text = letter(facts(outcome=outcome, standing=standing, cause=cause)).text

        assert "final" not in text.lower()
        assert "binding" not in text.lower()

    def test_refuses_a_reason_that_does(self):
        with pytest.raises(LetterInputError, match="final"):
            letter(facts(cited=(cited(reason="That is FINAL."),)))

    def test_a_person_may_be_called_so(self):
        letter(facts(owner="Final Bend Coach Hire", company="Final Bend Roofs"))

    def test_says_that_rights_vary_from_state_to_state(self):
        """16 CFR 701.3(a)(9)."""
        text = letter(facts()).text

        assert "specific legal rights" in text
        assert "vary from State to State" in text

    def test_a_waivers_own_words_stay_in_the_office(self):
        waived = cited(
            verdict=Verdict.MET,
            waived=True,
            because="Waived by the office from 2023-01-01: owner was in hospital.",
            cure="",
        )

        text = letter(facts(cited=(waived,))).text

        assert "The office has waived this clause." in text
        assert "hospital" not in text

    def test_without_a_cure_there_is_no_heading_for_it(self):
        parts = letter(facts(cited=(cited(cure=""),))).parts

        assert "What would cure it" not in [part.heading for part in parts]

    def test_names_the_amount_that_is_approved(self):
        text = letter(facts(outcome=Outcome.IN_PART, approved="USD 420.00")).text

        assert "We approve the claim in part, up to USD 420.00." in text


class TestEvidence:
    RESULTS = explain(make_terms(), make_roof(climate=()), ON).results

    def needs(self, cause: Cause) -> set[Need]:
        found = evidence_for(ClaimRecords(cause=cause), self.RESULTS)
        return {each.need for each in found}

    def test_the_cause_decides_what_is_asked(self):
        assert Need.ADHESION in self.needs(Cause.ADHESION)
        assert Need.ADHESION not in self.needs(Cause.DETAIL)
        assert Need.ALTERATIONS_ASKED in self.needs(Cause.ALTERATION)

    @pytest.mark.parametrize("cause", Cause)
    def test_place_photos_and_visit_are_always_asked(self, cause):
        assert {Need.PLACE, Need.PHOTOS, Need.LEAK_CALL} <= self.needs(cause)

    def test_a_clause_that_is_unknown_is_missing_its_records(self):
        found = evidence_for(ClaimRecords(cause=Cause.DETAIL), self.RESULTS)

        [climate] = [each for each in found if each.clause is Clause.CLIMATE]
        assert not climate.is_there
        assert "weather reading" in climate.what

    def test_one_photo_is_not_enough_and_two_are(self):
        for photos, is_there in [(1, False), (2, True)]:
            records = ClaimRecords(cause=Cause.DETAIL, photos=photos)
            [found] = [
                each for each in evidence_for(records, ()) if each.need is Need.PHOTOS
            ]
            assert found.is_there is is_there

    def test_nothing_is_missing_when_all_is_there(self):
        records = ClaimRecords(
            cause=Cause.DETAIL,
            place="vent 1",
            photos=2,
            leak_calls=("visit V1",),
            causes_found=("detail",),
            moisture_readings=4,
            inspections=("visit V0",),
            has_estimate=True,
        )

        assert missing(evidence_for(records, ())) == ()

    def test_what_the_claim_needs_comes_before_the_clauses(self):
        found = evidence_for(ClaimRecords(cause=Cause.FILM), self.RESULTS)
        clauses = [each.clause for each in found]

        assert clauses[0] is None
        assert None not in clauses[clauses.index(Clause.FILM) :]
