"""The due dates a person sees agree with the schedule that decides."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.rules.roofs import ask, make_roof, make_terms
from warranty.rules.clause import Clause, Standing, Verdict
from warranty.rules.due_history import DueDate, due_history
from warranty.rules.roof_facts import PassingVisit
from warranty.rules.terms import Anchor, Terms

COMPLETED = date(2022, 1, 31)
# A little over five intervals of the longest edition.
DAYS = st.integers(min_value=-40, max_value=1500)


@st.composite
def editions(draw: st.DrawFn) -> Terms:
    interval = draw(st.sampled_from([1, 3, 6, 12]))
    window = draw(st.integers(0, 13))
    return make_terms(
        anchor=draw(st.sampled_from(list(Anchor))),
        interval_months=interval,
        window_days=window,
        grace_days=draw(st.integers(0, 27 - window)),
        reinstatement_days=draw(st.sampled_from([0, 1, 30, 200])),
    )


def visited(offsets: list[int]) -> list[date]:
    return [COMPLETED + timedelta(days=offset) for offset in offsets]


def history(terms: Terms, passing_on: list[date], as_of: date) -> tuple[DueDate, ...]:
    return due_history(
        terms, completed_on=COMPLETED, passing_on=passing_on, as_of=as_of
    )


def inspections(last: DueDate, terms: Terms, as_of: date) -> str:
    """Return the schedule's state as the last due date shows it."""
    closes = last.grace_ends_on + timedelta(days=terms.reinstatement_days)
    if as_of <= last.due_on:
        return "on time"
    if as_of <= last.grace_ends_on:
        return "in grace"
    return "lapsed" if as_of <= closes else "over"


@pytest.mark.slow
@given(terms=editions(), offsets=st.lists(DAYS, max_size=9), asked=st.integers(0, 1500))
@settings(max_examples=300, deadline=None)
def test_the_last_due_date_is_the_schedules(terms, offsets, asked):
    as_of = COMPLETED + timedelta(days=asked)
    passing = visited(offsets)
    roof = make_roof(
        completed_on=COMPLETED,
        registered_on=COMPLETED,
        visits=tuple(PassingVisit(on=day) for day in passing),
    )

    dates = history(terms, passing, as_of)
    answer = ask(roof, as_of.isoformat(), terms)

    assert dates[-1].due_on == answer.next_due_on
    state = inspections(dates[-1], terms, as_of)
    is_met = answer.verdict(Clause.INSPECTIONS) is Verdict.MET
    assert is_met == (state in {"on time", "in grace"})
    assert (answer.standing is Standing.ENDED) == (state == "over")


@pytest.mark.slow
@given(terms=editions(), offsets=st.lists(DAYS, max_size=9), asked=st.integers(0, 1500))
@settings(max_examples=200, deadline=None)
def test_every_due_date_before_the_last_was_settled(terms, offsets, asked):
    as_of = COMPLETED + timedelta(days=asked)

    dates = history(terms, visited(offsets), as_of)

    for each in dates[:-1]:
        assert (each.satisfied_on is None) != (each.reinstated_on is None)
        assert each.is_missed == (each.reinstated_on is not None)
    assert [each.due_on for each in dates] == sorted({d.due_on for d in dates})
    assert dates[-1].satisfied_on is None


@pytest.mark.slow
@given(terms=editions(), offsets=st.lists(DAYS, max_size=9), asked=st.integers(0, 1500))
@settings(max_examples=100, deadline=None)
def test_the_order_in_which_visits_are_given_does_not_matter(terms, offsets, asked):
    as_of = COMPLETED + timedelta(days=asked)
    days = visited(offsets)

    assert history(terms, days, as_of) == history(terms, days[::-1], as_of)


@pytest.mark.parametrize("anchor", list(Anchor))
def test_a_visit_on_the_last_day_of_grace_keeps_the_due_date(anchor):
    terms = make_terms(anchor=anchor)
    due = date(2023, 1, 31)
    day = due + timedelta(days=terms.grace_days)

    [kept, following] = history(terms, [day], day)

    assert (kept.due_on, kept.satisfied_on, kept.is_missed) == (due, day, False)
    assert following.due_on == (
        date(2024, 1, 31) if anchor is Anchor.ANNIVERSARY else date(2024, 4, 1)
    )


@pytest.mark.parametrize("anchor", list(Anchor))
def test_a_visit_a_day_later_reinstates(anchor):
    terms = make_terms(anchor=anchor)
    day = date(2023, 1, 31) + timedelta(days=terms.grace_days + 1)

    missed = history(terms, [day], day)[0]

    assert (missed.reinstated_on, missed.is_missed) == (day, True)
