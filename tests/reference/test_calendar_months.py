"""Month arithmetic against published rules and python-dateutil.

The rule: add years and months first, clamping to the month's last day (XML Schema
Part 2:2004, appendix E). Values are the published ones quoted there or computed with
python-dateutil 2.9, whose ``relativedelta`` is also the oracle for random dates.
"""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from warranty.rules.calendar import (
    MAX_MONTHS,
    NO_DAY,
    CalendarInputError,
    add_months,
    add_months_to_days,
    date_of,
    day_number,
    shortest_interval_days,
)

# (anchor, months, result); the first is XML Schema's published test.
PUBLISHED = [
    ("2000-01-31", 1, "2000-02-29"),
    ("2000-03-30", 1, "2000-04-30"),
    ("2024-01-31", 1, "2024-02-29"),
    ("2023-01-31", 1, "2023-02-28"),
    ("2025-05-31", 1, "2025-06-30"),
    ("2024-03-31", -1, "2024-02-29"),
    ("2024-02-29", 12, "2025-02-28"),
    ("2024-02-29", 48, "2028-02-29"),
    ("2024-02-29", 120, "2034-02-28"),
    ("2024-02-28", 12, "2025-02-28"),
    ("2024-08-31", 6, "2025-02-28"),
]


def columns(*days: str) -> np.ndarray:
    return np.array([day_number(date.fromisoformat(day)) for day in days])


@pytest.mark.parametrize(("anchor", "months", "result"), PUBLISHED)
def test_a_published_sum(anchor, months, result):
    expected = date.fromisoformat(result)

    assert add_months(date.fromisoformat(anchor), months) == expected
    assert add_months_to_days(columns(anchor), months) == day_number(expected)


def test_order_matters_months_first_then_days():
    # XML Schema Part 2:2004, appendix E: (2000-03-30 + P1D) + P1M = 2000-04-30.
    start = date(2000, 3, 30)

    assert add_months(start + timedelta(days=1), 1) == date(2000, 4, 30)
    assert add_months(start, 1) + timedelta(days=1) == date(2000, 5, 1)


def test_anchored_dates_do_not_drift_as_chained_ones_do():
    anchored = add_months_to_days(np.repeat(columns("2024-01-31"), 3), np.arange(1, 4))

    assert (
        anchored.tolist() == columns("2024-02-29", "2024-03-31", "2024-04-30").tolist()
    )


def test_recurrence_skips_backward():
    # RFC 7529 section 4, SKIP=BACKWARD: monthly from 31 January 2014.
    anchored = add_months_to_days(np.repeat(columns("2014-01-31"), 4), np.arange(4))

    expected = columns("2014-01-31", "2014-02-28", "2014-03-31", "2014-04-30")
    assert anchored.tolist() == expected.tolist()


@given(
    anchor=st.dates(date(1900, 1, 1), date(2299, 12, 31)),
    months=st.integers(0, MAX_MONTHS),
)
def test_agrees_with_dateutil(anchor, months):
    expected = anchor + relativedelta(months=months)

    assert add_months(anchor, months) == expected
    moved = add_months_to_days(np.array([day_number(anchor)]), months)
    assert date_of(int(moved[0])) == expected


@given(
    anchor=st.dates(date(1900, 1, 1), date(2200, 12, 31)),
    interval=st.integers(1, 24),
)
def test_no_due_date_drifts(anchor, interval):
    n = np.arange(1, 41)

    due = add_months_to_days(np.full(n.size, day_number(anchor)), n * interval)

    expected = [anchor + relativedelta(months=int(k) * interval) for k in n]
    assert [date_of(int(day)) for day in due] == expected


def test_none_stays_none():
    assert add_months_to_days(np.array([NO_DAY]), 12) == NO_DAY


@pytest.mark.parametrize(
    ("months", "days"), [(1, 28), (2, 59), (3, 89), (6, 181), (12, 365), (48, 1460)]
)
def test_the_shortest_interval(months, days):
    # Counted by hand: February; January and February; February to April; a half-year
    # with February in it; a common year; four years over 2100, which is no leap year.
    assert shortest_interval_days(months) == days


@pytest.mark.parametrize("day", ["1899-12-31", "2600-01-01"])
def test_days_outside_the_tables_are_refused(day):
    with pytest.raises(CalendarInputError, match="anchor"):
        add_months_to_days(columns(day), 1)


def test_results_outside_the_tables_are_refused():
    with pytest.raises(CalendarInputError, match="months"):
        add_months_to_days(columns("2599-12-01"), 1)


def test_years_past_9999_are_refused():
    with pytest.raises(CalendarInputError, match="year"):
        add_months(date(9999, 12, 1), 1)
