"""Each clause on its edges, and the order of the standings.

The rules are this project's own; the dates are worked out by hand.
"""

from __future__ import annotations

from datetime import date

import pytest

from tests.rules.roofs import (
    ask,
    finding,
    make_rental_terms,
    make_roof,
    make_terms,
    steps,
    visits,
)
from warranty.rules.clause import CLAUSES, DEFAULT_CLAUSES, Clause, Standing, Verdict
from warranty.rules.columns import FactsInputError
from warranty.rules.roof_facts import HolderStep, VerdictStep, Waiver
from warranty.rules.terms import HolderKind

CONDITIONS = ["film", "substrate", "penetrations", "climate"]
ALL_CLAUSES = make_terms(clauses=CLAUSES)


def waive(clause: Clause, start: str, end: str | None = None) -> tuple[Waiver, ...]:
    until = None if end is None else date.fromisoformat(end)
    return (Waiver(clause=clause, from_on=date.fromisoformat(start), until_on=until),)


class TestConditions:
    @pytest.mark.parametrize("clause", CONDITIONS)
    @pytest.mark.parametrize("verdict", [Verdict.NOT_MET, Verdict.UNKNOWN])
    def test_unless_met_leave_the_promise_pending(self, clause, verdict):
        answer = ask(make_roof(**{clause: steps(verdict)}), "2022-07-01")

        assert answer.standing is Standing.PENDING
        assert answer.verdict(Clause(clause)) is verdict

    @pytest.mark.parametrize("clause", CONDITIONS)
    def test_nothing_recorded_is_unknown(self, clause):
        answer = ask(make_roof(**{clause: ()}), "2022-07-01")

        assert answer.verdict(Clause(clause)) is Verdict.UNKNOWN

    def test_a_verdict_counts_from_its_day(self):
        film = (
            VerdictStep(from_on=date(2022, 6, 15), verdict=Verdict.NOT_MET),
            VerdictStep(from_on=date(2022, 7, 10), verdict=Verdict.MET),
        )

        before = ask(make_roof(film=film), "2022-07-09")

        assert before.standing is Standing.PENDING
        assert before.holds_until == date(2022, 7, 9)
        assert ask(make_roof(film=film), "2022-07-10").standing is Standing.IN_FORCE

    def test_the_grace_is_not_seen_while_pending_but_its_end_is(self):
        answer = ask(make_roof(film=steps(Verdict.NOT_MET)), "2022-07-01")

        assert answer.holds_until == date(2023, 8, 14)


class TestRegistered:
    @pytest.mark.parametrize(
        ("registered", "day", "verdict"),
        [
            (None, "2022-07-15", Verdict.UNKNOWN),  # the limit itself
            (None, "2022-07-16", Verdict.NOT_MET),
            ("2022-07-15", "2022-07-14", Verdict.UNKNOWN),
            ("2022-07-15", "2022-07-15", Verdict.MET),
            ("2022-07-16", "2022-07-16", Verdict.NOT_MET),
            ("2022-06-01", "2022-06-15", Verdict.MET),
        ],
    )
    def test_on_each_edge(self, registered, day, verdict):
        on = None if registered is None else date.fromisoformat(registered)

        answer = ask(make_roof(registered_on=on), day)

        assert answer.verdict(Clause.REGISTERED) is verdict

    def test_unknown_holds_until_the_limit(self):
        answer = ask(make_roof(registered_on=None), "2022-06-20")

        assert answer.holds_until == date(2022, 7, 15)


class TestHolder:
    def test_the_wrong_kind_of_owner_leaves_the_promise_pending(self):
        sold = (
            HolderStep(from_on=date(2022, 6, 15), kind=HolderKind.PRIVATE),
            HolderStep(from_on=date(2022, 9, 1), kind=HolderKind.RENTAL_FLEET),
        )

        assert ask(make_roof(holder=sold), "2022-08-31").standing is Standing.IN_FORCE
        assert ask(make_roof(holder=sold), "2022-09-01").standing is Standing.PENDING

    def test_nobody_recorded_is_unknown(self):
        answer = ask(make_roof(holder=()), "2022-07-01")

        assert answer.verdict(Clause.HOLDER) is Verdict.UNKNOWN


class TestSeriousFindings:
    # Found 2022-08-01, cure days 30: the last day in time is 2022-08-31.
    @pytest.mark.parametrize(
        ("day", "standing", "verdict"),
        [
            ("2022-07-31", Standing.IN_FORCE, Verdict.MET),
            ("2022-08-01", Standing.AT_RISK, Verdict.MET),
            ("2022-08-31", Standing.AT_RISK, Verdict.MET),
            ("2022-09-01", Standing.SUSPENDED, Verdict.NOT_MET),
        ],
    )
    def test_on_each_edge(self, day, standing, verdict):
        answer = ask(make_roof(findings=(finding("2022-08-01"),)), day)

        assert answer.standing is standing
        assert answer.verdict(Clause.SERIOUS_FINDINGS) is verdict

    def test_a_late_cure_counts_from_its_day(self):
        roof = make_roof(findings=(finding("2022-08-01", "2022-10-05"),))

        assert ask(roof, "2022-10-04").standing is Standing.SUSPENDED
        assert ask(roof, "2022-10-04").holds_until == date(2022, 10, 4)
        assert ask(roof, "2022-10-05").standing is Standing.IN_FORCE

    def test_a_repair_before_the_finding_cures_nothing(self):
        roof = make_roof(findings=(finding("2022-08-01", "2022-07-20"),))

        assert ask(roof, "2022-08-02").standing is Standing.AT_RISK

    def test_a_finding_cured_on_its_day_is_never_open(self):
        roof = make_roof(findings=(finding("2022-08-01", "2022-08-01"),))

        assert ask(roof, "2022-08-01").standing is Standing.IN_FORCE
        assert ask(roof, "2022-07-01").holds_until == date(2023, 6, 15)

    def test_overlapping_findings_hold_as_one(self):
        both = (
            finding("2022-08-01", "2022-08-20"),
            finding("2022-08-10", "2022-08-25"),
        )

        assert ask(make_roof(findings=both), "2022-08-02").holds_until == date(
            2022, 8, 24
        )


class TestCoachAndTerm:
    def test_retirement_counts_on_the_day_itself(self):
        roof = make_roof(retired_on=date(2022, 12, 1))

        assert ask(roof, "2022-11-30").holds_until == date(2022, 11, 30)
        assert ask(roof, "2022-11-30").standing is Standing.IN_FORCE
        assert ask(roof, "2022-12-01").standing is Standing.ENDED

    def test_the_end_of_the_term_counts_on_the_day_itself(self):
        terms = make_rental_terms(owner_kind=HolderKind.PRIVATE, term_months=6)
        roof = make_roof()

        assert ask(roof, "2022-12-14", terms).standing is Standing.IN_FORCE
        assert ask(roof, "2022-12-15", terms).standing is Standing.ENDED
        assert ask(roof, "2022-12-15", terms).verdict(Clause.TERM) is Verdict.NOT_MET

    def test_clauses_still_answer_after_the_end(self):
        answer = ask(make_roof(retired_on=date(2022, 12, 1)), "2023-01-01")

        assert answer.verdict(Clause.INSPECTIONS) is Verdict.MET
        assert answer.holds_until == date(2023, 8, 14)


class TestAlterations:
    def test_an_unapproved_one_suspends(self):
        roof = make_roof(alterations=steps(Verdict.NOT_MET, date(2022, 9, 1)))

        assert ask(roof, "2022-09-01", ALL_CLAUSES).standing is Standing.SUSPENDED

    def test_does_not_matter_where_the_edition_leaves_it_out(self):
        roof = make_roof(alterations=steps(Verdict.NOT_MET))

        assert ask(roof, "2022-09-01").standing is Standing.IN_FORCE


class TestWaiver:
    def test_lifts_a_clause_on_its_days_only(self):
        roof = make_roof(
            film=steps(Verdict.NOT_MET),
            waivers=waive(Clause.FILM, "2022-07-01", "2022-07-31"),
        )

        assert ask(roof, "2022-06-30").standing is Standing.PENDING
        assert ask(roof, "2022-07-01").standing is Standing.IN_FORCE
        assert ask(roof, "2022-07-31").verdict(Clause.FILM) is Verdict.MET
        assert ask(roof, "2022-07-31").is_waived(Clause.FILM)
        assert ask(roof, "2022-08-01").standing is Standing.PENDING

    def test_its_start_and_end_bound_the_answer(self):
        roof = make_roof(
            film=steps(Verdict.NOT_MET),
            waivers=waive(Clause.FILM, "2022-07-01", "2022-07-31"),
        )

        assert ask(roof, "2022-06-20").holds_until == date(2022, 6, 30)
        assert ask(roof, "2022-07-01").holds_until == date(2022, 7, 31)

    def test_of_a_met_clause_shows_no_change(self):
        roof = make_roof(waivers=waive(Clause.FILM, "2022-07-01", "2022-07-31"))

        assert ask(roof, "2022-06-20").holds_until == date(2023, 6, 15)

    def test_never_moves_a_due_date(self):
        roof = make_roof(waivers=waive(Clause.INSPECTIONS, "2023-01-01"))

        answer = ask(roof, "2025-01-01")

        assert answer.next_due_on == date(2023, 6, 15)

    def test_of_late_inspections_leaves_them_a_risk(self):
        roof = make_roof(waivers=waive(Clause.INSPECTIONS, "2023-01-01", "2023-12-31"))

        assert ask(roof, "2023-12-31").standing is Standing.AT_RISK
        assert ask(roof, "2024-01-01").standing is Standing.SUSPENDED

    @pytest.mark.parametrize("clause", [Clause.COACH, Clause.TERM])
    def test_never_covers_the_coach_or_the_term(self, clause):
        with pytest.raises(FactsInputError, match="can be waived"):
            waive(clause, "2022-07-01")


class TestOrderOfStandings:
    def test_ended_comes_before_pending(self):
        roof = make_roof(film=steps(Verdict.NOT_MET), retired_on=date(2022, 8, 1))

        assert ask(roof, "2022-08-01").standing is Standing.ENDED

    def test_pending_comes_before_suspended(self):
        roof = make_roof(film=steps(Verdict.NOT_MET), findings=(finding("2022-08-01"),))

        assert ask(roof, "2022-12-01").standing is Standing.PENDING

    def test_suspended_comes_before_at_risk(self):
        roof = make_roof(findings=(finding("2022-08-01"),))

        assert ask(roof, "2023-07-01").standing is Standing.SUSPENDED

    def test_reinstatement_does_not_cure_a_finding(self):
        roof = make_roof(findings=(finding("2022-08-01"),), visits=visits("2023-06-15"))

        assert ask(roof, "2023-07-01").standing is Standing.SUSPENDED


def test_an_edition_without_inspections_has_no_due_date():
    kept = tuple(c for c in DEFAULT_CLAUSES if c is not Clause.INSPECTIONS)
    answer = ask(make_roof(), "2030-01-01", make_terms(clauses=kept))

    assert answer.standing is Standing.IN_FORCE
    assert answer.next_due_on is None
    assert answer.holds_until is None
