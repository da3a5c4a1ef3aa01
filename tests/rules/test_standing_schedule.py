"""Inspections current, on every edge of both anchors.

The rules are this project's own; the dates are worked out by hand.
"""

from __future__ import annotations

from datetime import date

import pytest

from tests.rules.roofs import ask, make_rental_terms, make_roof, make_terms, visits
from warranty.rules.clause import Clause, Standing, Verdict
from warranty.rules.roof_facts import HolderStep
from warranty.rules.terms import HolderKind

# Completed 2022-06-15; due 2023-06-15, window from 04-16, grace until 08-14,
# reinstatement until 2024-02-10.
EDGES = [
    ("2022-06-15", Standing.IN_FORCE),
    ("2023-06-15", Standing.IN_FORCE),
    ("2023-06-16", Standing.AT_RISK),
    ("2023-08-14", Standing.AT_RISK),
    ("2023-08-15", Standing.SUSPENDED),
    ("2024-02-10", Standing.SUSPENDED),
    ("2024-02-11", Standing.ENDED),
]


def make_rental(**over):
    holder = (HolderStep(from_on=date(2022, 6, 15), kind=HolderKind.RENTAL_FLEET),)
    return make_roof(holder=holder, **{"visits": (), **over})


class TestAnniversaryAnchor:
    @pytest.mark.parametrize(("day", "standing"), EDGES)
    def test_each_limit_is_the_last_day_of_the_earlier_state(self, day, standing):
        assert ask(make_roof(), day).standing is standing

    @pytest.mark.parametrize(
        ("day", "until"),
        [
            ("2023-06-01", date(2023, 6, 15)),
            ("2023-06-15", date(2023, 6, 15)),
            ("2023-06-16", date(2023, 8, 14)),
            ("2023-08-15", date(2024, 2, 10)),
            ("2024-02-11", None),
        ],
    )
    def test_an_answer_holds_until_the_next_limit(self, day, until):
        assert ask(make_roof(), day).holds_until == until

    @pytest.mark.parametrize(
        ("visit", "due"),
        [
            ("2023-04-15", date(2023, 6, 15)),  # a day before the window opens
            ("2023-04-16", date(2024, 6, 15)),
            ("2023-08-14", date(2024, 6, 15)),
        ],
    )
    def test_a_visit_counts_from_window_to_grace(self, visit, due):
        answer = ask(make_roof(visits=visits(visit)), "2023-08-14")

        assert answer.next_due_on == due

    def test_a_reinstatement_counts_from_its_day(self):
        roof = make_roof(visits=visits("2024-02-10"))

        assert ask(roof, "2024-02-09").standing is Standing.SUSPENDED
        assert ask(roof, "2024-02-10").standing is Standing.IN_FORCE

    def test_a_reinstatement_a_day_too_late_changes_nothing(self):
        roof = make_roof(visits=visits("2024-02-11"))

        assert ask(roof, "2024-02-11").standing is Standing.ENDED
        assert ask(roof, "2030-01-01").next_due_on == date(2023, 6, 15)

    def test_after_reinstatement_the_first_due_date_past_the_window_is_next(self):
        early = make_roof(visits=visits("2024-02-10"))
        long = make_terms(reinstatement_days=300)
        # 2024-04-16 + 60 days is 2024-06-15 itself, which is therefore skipped.
        edge = make_roof(visits=visits("2024-04-16"))

        assert ask(early, "2024-03-01").next_due_on == date(2024, 6, 15)
        assert ask(edge, "2024-05-01", long).next_due_on == date(2025, 6, 15)

    def test_a_gap_stays_a_gap_after_reinstatement(self):
        roof = make_roof(visits=visits("2023-12-01"))

        assert ask(roof, "2023-10-01").standing is Standing.SUSPENDED
        assert ask(roof, "2023-12-01").standing is Standing.IN_FORCE

    def test_a_visit_outside_every_window_satisfies_nothing(self):
        roof = make_roof(visits=visits("2022-12-01"))

        assert ask(roof, "2023-06-16").standing is Standing.AT_RISK

    def test_two_visits_in_one_window_satisfy_one_due_date(self):
        roof = make_roof(visits=visits("2023-06-01", "2023-07-01"))

        assert ask(roof, "2023-07-02").next_due_on == date(2024, 6, 15)

    def test_due_dates_never_drift_from_a_month_end(self):
        completed = date(2024, 2, 29)
        years = visits("2025-02-28", "2026-02-28", "2027-02-28")
        roof = make_roof(completed_on=completed, visits=years)

        assert ask(roof, "2027-03-01").next_due_on == date(2028, 2, 29)

    def test_a_visit_on_the_morrow_of_the_due_date_hides_the_late_day(self):
        roof = make_roof(visits=visits("2023-06-16"))

        assert ask(roof, "2023-06-15").holds_until == date(2024, 6, 15)


class TestLastInspectionAnchor:
    # Completed 2022-06-15; due 2022-12-15, grace until 2023-01-14, reinstatement
    # until 2023-04-14.
    @pytest.mark.parametrize(
        ("day", "standing"),
        [
            ("2022-12-15", Standing.IN_FORCE),
            ("2022-12-16", Standing.AT_RISK),
            ("2023-01-14", Standing.AT_RISK),
            ("2023-01-15", Standing.SUSPENDED),
            ("2023-04-14", Standing.SUSPENDED),
            ("2023-04-15", Standing.ENDED),
        ],
    )
    def test_each_limit_is_the_last_day_of_the_earlier_state(self, day, standing):
        assert ask(make_rental(), day, make_rental_terms()).standing is standing

    def test_every_passing_visit_starts_the_interval_anew(self):
        roof = make_rental(visits=visits("2022-07-31"))

        due = ask(roof, "2022-08-01", make_rental_terms()).next_due_on

        assert due == date(2023, 1, 31)

    def test_a_reinstatement_on_the_last_day_counts(self):
        roof = make_rental(visits=visits("2023-04-14"))

        answer = ask(roof, "2023-04-14", make_rental_terms())

        assert answer.standing is Standing.IN_FORCE
        assert answer.next_due_on == date(2023, 10, 14)

    def test_a_visit_a_day_too_late_is_not_counted(self):
        roof = make_rental(visits=visits("2023-04-15", "2023-05-01"))

        answer = ask(roof, "2023-06-01", make_rental_terms())

        assert answer.standing is Standing.ENDED
        assert answer.next_due_on == date(2022, 12, 15)

    def test_a_visit_before_completion_counts_for_nothing(self):
        roof = make_rental(visits=visits("2022-05-01"))

        due = ask(roof, "2022-06-15", make_rental_terms()).next_due_on

        assert due == date(2022, 12, 15)

    def test_the_window_plays_no_part(self):
        roof = make_rental(visits=visits("2022-06-16"))

        due = ask(roof, "2022-07-01", make_rental_terms(window_days=0)).next_due_on

        assert due == date(2022, 12, 16)


class TestBeforeCompletion:
    @pytest.mark.parametrize("completed", [None, date(2022, 6, 15)])
    def test_there_is_no_promise_and_no_due_date(self, completed):
        answer = ask(make_roof(completed_on=completed), "2022-06-14")

        assert answer.standing is Standing.PENDING
        assert answer.next_due_on is None
        assert answer.verdict(Clause.INSPECTIONS) is Verdict.UNKNOWN

    def test_the_answer_holds_until_the_eve_of_completion(self):
        assert ask(make_roof(), "2022-01-01").holds_until == date(2022, 6, 14)


def test_a_failing_inspection_satisfies_nothing():
    # Only passing visits reach the columns; the failing one leaves a finding.
    answer = ask(make_roof(), "2023-06-16")

    assert answer.next_due_on == date(2023, 6, 15)
    assert answer.standing is Standing.AT_RISK


def test_the_due_date_stays_known_when_the_coach_is_retired():
    answer = ask(make_roof(retired_on=date(2023, 1, 1)), "2026-01-01")

    assert answer.standing is Standing.ENDED
    assert answer.next_due_on == date(2023, 6, 15)
