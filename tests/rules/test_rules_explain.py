"""The words of a standing: they follow the verdict and name their records."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.rules.histories import FIRST, random_fleet
from tests.rules.roofs import (
    finding,
    make_rental_terms,
    make_roof,
    make_terms,
    steps,
    visits,
)
from warranty.rules.calendar import day_number
from warranty.rules.clause import OFF_CODE, Clause, Verdict
from warranty.rules.explain import ClauseResult, explain
from warranty.rules.roof_facts import (
    PassingVisit,
    RoofFacts,
    VerdictStep,
    Waiver,
    facts_of,
)
from warranty.rules.standing import assess
from warranty.rules.terms import Terms, terms_columns


def result_of(
    clause: Clause, roof: RoofFacts, day: str, terms: Terms | None = None
) -> ClauseResult:
    told = explain(terms or make_terms(), roof, date.fromisoformat(day))
    return next(result for result in told.results if result.clause is clause)


class TestInspections:
    @pytest.mark.parametrize(
        ("day", "said"),
        [
            ("2023-06-15", "the next one is due on 2023-06-15"),
            ("2023-06-16", "due on 2023-06-15 is late; it still counts until 2023-08"),
            ("2023-08-15", "was not passed by 2023-08-14"),
            ("2024-02-11", "nor a reinstatement by 2024-02-10"),
        ],
    )
    def test_the_sentence_names_the_limit(self, day, said):
        assert said in result_of(Clause.INSPECTIONS, make_roof(), day).because

    def test_the_cure_names_the_last_day_for_reinstatement(self):
        told = result_of(Clause.INSPECTIONS, make_roof(), "2023-09-01")

        assert told.cure == "Pass a reinstatement inspection on or before 2024-02-10."

    def test_the_last_passing_visit_is_the_evidence(self):
        seen = (
            PassingVisit(on=date(2023, 6, 1), reference="V2"),
            PassingVisit(on=date(2022, 12, 1), reference="V1"),
            PassingVisit(on=date(2024, 6, 1), reference="V3"),
        )

        told = result_of(Clause.INSPECTIONS, make_roof(visits=seen), "2023-07-01")

        assert told.evidence == ("V2",)


class TestRegistered:
    def test_before_the_limit_it_says_what_to_do(self):
        told = result_of(Clause.REGISTERED, make_roof(registered_on=None), "2022-07-01")

        assert told.verdict is Verdict.UNKNOWN
        assert told.cure == "Register the roof on or before 2022-07-15."

    def test_too_late_names_both_days(self):
        late = make_roof(registered_on=date(2022, 8, 1))

        told = result_of(Clause.REGISTERED, late, "2022-08-01")

        assert "2022-08-01, after the limit of 2022-07-15" in told.because


class TestJudgedClauses:
    def test_take_the_callers_sentence_and_evidence(self):
        film = (
            VerdictStep(
                from_on=date(2022, 6, 15),
                verdict=Verdict.NOT_MET,
                because="Spot 3 of the base coat is 7.1 mil; the least is 9.6 mil.",
                cure="Recoat area 1.",
                evidence=("R17",),
            ),
        )

        told = result_of(Clause.FILM, make_roof(film=film), "2022-07-01")

        assert told.because.startswith("Spot 3")
        assert (told.cure, told.evidence) == ("Recoat area 1.", ("R17",))

    def test_have_words_of_their_own_without_one(self):
        roof = make_roof(climate=steps(Verdict.UNKNOWN))

        assert "no complete weather reading" in (
            result_of(Clause.CLIMATE, roof, "2022-07-01").because
        )


class TestSeriousFindings:
    def test_open_names_the_last_day(self):
        roof = make_roof(findings=(finding("2022-08-01"),))

        told = result_of(Clause.SERIOUS_FINDINGS, roof, "2022-08-10")

        assert "on or before 2022-08-31" in told.because
        assert told.holds_until == date(2022, 8, 31)

    def test_overdue_says_how_to_cure(self):
        roof = make_roof(findings=(finding("2022-08-01"),))

        told = result_of(Clause.SERIOUS_FINDINGS, roof, "2022-10-01")

        assert told.cure == "Have every open serious finding repaired."


class TestWaived:
    def test_says_so_with_its_days_and_reason(self):
        waiver = Waiver(
            clause=Clause.FILM,
            from_on=date(2022, 7, 1),
            until_on=date(2022, 7, 31),
            why="Gauge at repair.",
            reference="W1",
        )
        roof = make_roof(film=steps(Verdict.UNKNOWN), waivers=(waiver,))

        told = result_of(Clause.FILM, roof, "2022-07-05")

        assert told.waived
        assert told.because == (
            "Waived by the office from 2022-07-01 until 2022-07-31: Gauge at repair."
        )
        assert told.evidence == ("W1",)
        assert told.holds_until == date(2022, 7, 31)


def test_each_clause_says_until_when_its_own_verdict_holds():
    roof = make_roof(visits=visits("2023-06-15"))
    terms = make_rental_terms(owner_kind="private", term_months=120)

    assert result_of(Clause.TERM, roof, "2022-07-01", terms).holds_until == date(
        2032, 6, 14
    )
    assert result_of(Clause.FILM, roof, "2022-07-01", terms).holds_until is None


def test_every_clause_of_the_edition_is_told_with_its_number():
    terms = make_terms(
        clauses=(Clause.FILM, Clause.INSPECTIONS), numbers=("3.1", "5.2")
    )

    told = explain(terms, make_roof(), date(2022, 7, 1))

    assert [result.number for result in told.results] == ["3.1", "5.2"]


@pytest.mark.slow
def test_the_words_never_disagree_with_the_columns():
    editions, roofs = random_fleet(3, rows=60)
    day = 300 + day_number(FIRST)
    columns = assess(terms_columns(editions), facts_of(roofs), day)

    for row, roof in enumerate(roofs):
        told = explain(editions[roof.edition], roof, FIRST + timedelta(days=300))
        on = [code for code in columns.verdict[row].tolist() if code != OFF_CODE]
        assert len(told.results) == len(on)
        for result in told.results:
            assert result.because.endswith(".")
            assert (result.cure == "") is (result.verdict is Verdict.MET)
