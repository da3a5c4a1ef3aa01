"""The clock in which a claim is answered, in business days."""

from __future__ import annotations

from datetime import date

import pytest

from warranty.rules.response import ResponseInputError, Wait, response_clock

# Wednesday 1 July 2026; the office observes Saturday's holiday on Friday the 3rd.
WEDNESDAY = date(2026, 7, 1)
CLOSED = frozenset({date(2026, 7, 3)})


def clock(as_of, *, waits=(), allowed=5, started=WEDNESDAY, holidays=CLOSED):
    return response_clock(
        started_on=started,
        waits=waits,
        allowed_days=allowed,
        holidays=holidays,
        as_of=as_of,
    )


def test_weekends_and_holidays_do_not_count():
    # Thu 2, Mon 6, Tue 7, Wed 8, Thu 9.
    assert clock(WEDNESDAY).due_on == date(2026, 7, 9)


def test_without_the_holiday_it_is_a_day_earlier():
    assert clock(WEDNESDAY, holidays=frozenset()).due_on == date(2026, 7, 8)


def test_the_third_business_day_of_the_cooling_off_rule():
    """16 CFR 429.0 counts Saturdays; ours does not: Fri 5 June 2026 to Wed 10 June."""
    assert clock(date(2026, 6, 5), started=date(2026, 6, 5), allowed=3).due_on == date(
        2026, 6, 10
    )


def test_the_last_day_is_in_time_and_the_next_is_not():
    assert not clock(date(2026, 7, 9)).is_over
    assert clock(date(2026, 7, 10)).is_over


def test_a_claim_told_on_a_saturday_counts_from_monday():
    assert clock(WEDNESDAY, started=date(2026, 7, 11), allowed=1).due_on == date(
        2026, 7, 13
    )


def test_while_we_wait_there_is_no_last_day():
    waiting = clock(date(2026, 7, 20), waits=[Wait(from_on=date(2026, 7, 6))])

    assert waiting.due_on is None
    assert waiting.waiting_since == date(2026, 7, 6)
    assert waiting.used_days == 1
    assert not waiting.is_over


def test_time_that_had_run_out_before_the_wait_stays_over():
    late = clock(date(2026, 7, 20), waits=[Wait(from_on=date(2026, 7, 10))])

    assert late.due_on == date(2026, 7, 9)
    assert late.is_over


def test_the_days_waited_are_added():
    # Mon 6 to Wed 8 stand still; it runs on from Thursday the 9th.
    waits = [Wait(from_on=date(2026, 7, 6), until_on=date(2026, 7, 9))]

    assert clock(WEDNESDAY, waits=waits).due_on is not None
    assert clock(date(2026, 7, 9), waits=waits).due_on == date(2026, 7, 14)


def test_waits_that_overlap_stop_each_day_once():
    one = [Wait(from_on=date(2026, 7, 6), until_on=date(2026, 7, 9))]
    two = [*one, Wait(from_on=date(2026, 7, 7), until_on=date(2026, 7, 8))]

    day = date(2026, 7, 9)
    assert clock(day, waits=one) == clock(day, waits=two)


def test_a_wait_answered_the_same_day_changes_nothing():
    waits = [Wait(from_on=date(2026, 7, 6), until_on=date(2026, 7, 6))]

    assert clock(date(2026, 7, 6), waits=waits) == clock(date(2026, 7, 6))


def test_what_is_left_is_never_below_none():
    assert clock(date(2027, 1, 1)).days_left == 0


@pytest.mark.parametrize("allowed", [0, -1, 261])
def test_refuses_a_time_no_clock_runs_by(allowed):
    with pytest.raises(ResponseInputError, match="allowed_days"):
        clock(WEDNESDAY, allowed=allowed)


def test_refuses_a_wait_that_ends_before_it_starts():
    with pytest.raises(ResponseInputError, match="until_on"):
        Wait(from_on=date(2026, 7, 6), until_on=date(2026, 7, 5))
