"""The days of the ladder, the hours of courtesy.

Calendar days are checked against python-dateutil; the zones' changes of clock against
the IANA time zone database's own tables, named beside each row (transition instants
read with ``zdump -v`` of tzdata 2025b, written out here in UTC).
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from warranty.rules.courtesy import (
    Courtesy,
    CourtesyInputError,
    instant_of,
    local_day,
    send_at,
)
from warranty.rules.ladder import (
    LadderInputError,
    Step,
    business_day_until,
    deadline_rung,
    inspection_rungs,
    next_rung_on,
    rung_of_day,
)

D = date
NEW_YEAR = date(2026, 1, 1)
HOURS_OF_15_YEARS = 131_490
NIGHT = Courtesy(quiet_from=time(20), quiet_until=time(8))


def days(due_on: date, grace: int = 60, holidays=frozenset()) -> dict[str, date]:
    rungs = inspection_rungs(due_on, grace_days=grace, holidays=holidays)
    return {rung.step.value: rung.on for rung in rungs}


class TestTheDays:
    # 29 February, the year's end, and a weekend before each; weekdays from the
    # perpetual calendar (2028-02-29 is a Tuesday, 2027-12-31 a Friday).
    @pytest.mark.parametrize(
        ("due_on", "step", "on"),
        [
            (D(2028, 2, 29), "BEFORE_60", D(2027, 12, 31)),  # Friday
            (D(2028, 2, 29), "BEFORE_30", D(2028, 1, 28)),  # 30 January is a Sunday
            (D(2028, 2, 29), "BEFORE_7", D(2028, 2, 22)),
            (D(2028, 2, 29), "ON_THE_DAY", D(2028, 2, 29)),
            (D(2028, 2, 29), "MID_GRACE", D(2028, 3, 30)),
            (D(2028, 2, 29), "LAST_GRACE_WEEK", D(2028, 4, 21)),  # 23rd is a Sunday
            (D(2027, 2, 28), "BEFORE_60", D(2026, 12, 30)),
            (D(2027, 2, 28), "ON_THE_DAY", D(2027, 2, 26)),  # a Sunday
            (D(2026, 12, 31), "ON_THE_DAY", D(2026, 12, 31)),
            (D(2026, 12, 31), "MID_GRACE", D(2027, 1, 29)),  # 30 January: Saturday
            (D(2026, 12, 31), "LAST_GRACE_WEEK", D(2027, 2, 23)),
            (D(2027, 1, 1), "BEFORE_30", D(2026, 12, 2)),
            (D(2027, 1, 3), "BEFORE_7", D(2026, 12, 25)),  # 27 December: Sunday
        ],
    )
    def test_at_month_and_year_ends(self, due_on, step, on):
        assert days(due_on)[step] == on

    @given(st.dates(D(1990, 1, 1), D(2120, 1, 1)), st.integers(0, 120))
    def test_no_step_is_later_than_its_day_or_on_a_day_of_rest(self, due_on, grace):
        for rung in inspection_rungs(due_on, grace_days=grace, holidays=()):
            wanted = {
                "BEFORE_60": due_on + relativedelta(days=-60),
                "BEFORE_30": due_on + relativedelta(days=-30),
                "BEFORE_7": due_on + relativedelta(weeks=-1),
                "ON_THE_DAY": due_on,
                "MID_GRACE": due_on + relativedelta(days=grace // 2),
                "LAST_GRACE_WEEK": due_on + relativedelta(days=grace - 6),
            }[rung.step]
            assert timedelta(0) <= wanted - rung.on <= timedelta(days=2)
            assert rung.on.isoweekday() <= 5
            assert rung.by_on >= rung.on

    def test_holidays_move_a_step_and_never_the_deadline(self):
        holidays = {D(2026, 11, 26), D(2026, 11, 27)}
        [rung] = [
            each
            for each in inspection_rungs(
                D(2026, 11, 27), grace_days=0, holidays=holidays
            )
            if each.step is Step.ON_THE_DAY
        ]

        assert (rung.on, rung.about_on, rung.by_on) == (
            D(2026, 11, 25),
            D(2026, 11, 27),
            D(2026, 11, 27),
        )

    def test_a_short_grace_has_no_steps_of_its_own(self):
        assert "MID_GRACE" not in days(D(2026, 6, 3), grace=3)
        assert "LAST_GRACE_WEEK" not in days(D(2026, 6, 3), grace=7)

    def test_two_steps_of_one_day_are_one(self):
        # Grace of 13 days: its middle, 9 June, and its last week's start, 10 June,
        # are apart; of 12 both fall on 9 June, and the later step stands.
        assert len(days(D(2026, 6, 3), grace=13)) == 6
        assert days(D(2026, 6, 3), grace=12) == {
            "BEFORE_60": D(2026, 4, 3),
            "BEFORE_30": D(2026, 5, 4),
            "BEFORE_7": D(2026, 5, 27),
            "ON_THE_DAY": D(2026, 6, 3),
            "LAST_GRACE_WEEK": D(2026, 6, 9),
        }

    def test_a_negative_grace_is_refused(self):
        with pytest.raises(LadderInputError, match="grace_days"):
            inspection_rungs(D(2026, 6, 3), grace_days=-1, holidays=())


class TestWhichStepIsDue:
    RUNGS = inspection_rungs(D(2026, 6, 3), grace_days=60, holidays=())

    def due(self, day: date, since: date = NEW_YEAR) -> str | None:
        rung = rung_of_day(self.RUNGS, day, since=since)
        return rung.step.value if rung else None

    def test_after_a_time_away_only_the_last_step_is_told(self):
        assert self.due(D(2026, 5, 30)) == "BEFORE_7"

    def test_nothing_before_the_first_step_or_after_the_grace(self):
        assert self.due(D(2026, 4, 2)) is None
        assert self.due(D(2026, 8, 2)) == "LAST_GRACE_WEEK"
        assert self.due(D(2026, 8, 3)) is None

    def test_what_came_before_we_knew_the_roof_is_not_told(self):
        assert self.due(D(2026, 5, 10), since=D(2026, 5, 5)) is None
        assert self.due(D(2026, 5, 27), since=D(2026, 5, 5)) == "BEFORE_7"

    def test_the_next_look_is_at_the_next_step(self):
        assert next_rung_on(self.RUNGS, D(2026, 5, 4)) == D(2026, 5, 27)
        assert next_rung_on(self.RUNGS, D(2026, 8, 2)) is None

    def test_a_deadline_is_told_a_week_or_half_the_time_before(self):
        long = deadline_rung(Step.CURE, D(2026, 6, 30), allowed_days=30, holidays=())
        short = deadline_rung(Step.CURE, D(2026, 6, 30), allowed_days=6, holidays=())

        assert (long.on, short.on) == (D(2026, 6, 23), D(2026, 6, 26))


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


class TestTheHours:
    # From when, in which zone, when it is sent. All days are business days.
    @pytest.mark.parametrize(
        ("zone", "now", "sent"),
        [
            # Spring forward, New York, 8 March 2026 07:00 UTC: 08:00 on Monday is EDT.
            ("America/New_York", "2026-03-07T03:00", "2026-03-09T12:00"),
            # Fall back, 1 November 2026 06:00 UTC: 08:00 on Monday is EST again.
            ("America/New_York", "2026-10-31T02:00", "2026-11-02T13:00"),
            # Phoenix keeps no summer time: 08:00 is 15:00 UTC in both.
            ("America/Phoenix", "2026-07-01T04:00", "2026-07-01T15:00"),
            ("America/Phoenix", "2026-12-31T04:00", "2026-12-31T15:00"),
            # Year's end in Honolulu: still 31 December there at 09:00 UTC, night.
            ("Pacific/Honolulu", "2027-01-01T09:00", "2027-01-01T18:00"),
            # Half an hour of summer time, Lord Howe, ends 4 April 2026 15:00 UTC.
            ("Australia/Lord_Howe", "2026-04-04T15:30", "2026-04-05T21:30"),
            ("Australia/Lord_Howe", "2026-10-04T10:00", "2026-10-04T21:00"),
            # St John's is three and a half hours behind in winter.
            ("America/St_Johns", "2026-01-05T03:00", "2026-01-05T11:30"),
            # Detroit at noon: at once.
            ("America/Detroit", "2026-06-01T16:00", "2026-06-01T16:00"),
            # Detroit at 20:00 sharp: the next morning.
            ("America/Detroit", "2026-06-02T00:00", "2026-06-02T12:00"),
            # 29 February 2028, a Tuesday, half past seven in Detroit.
            ("America/Detroit", "2028-02-29T12:30", "2028-02-29T13:00"),
            # Friday evening: Monday.
            ("America/Detroit", "2026-06-06T01:00", "2026-06-08T12:00"),
        ],
    )
    def test_in_six_zones(self, zone, now, sent):
        assert send_at(utc(now), zone=ZoneInfo(zone), courtesy=NIGHT) == utc(sent)

    def test_a_quiet_end_that_the_clocks_skip_is_read_as_rfc_5545_says(self):
        # New York, 8 March 2026: 02:30 does not exist, and is read as 03:30 EDT.
        quiet = Courtesy(quiet_from=time(1), quiet_until=time(2, 30))

        sent = send_at(
            utc("2026-03-09T05:30"), zone=ZoneInfo("America/New_York"), courtesy=quiet
        )

        assert instant_of(
            D(2026, 3, 8), time(2, 30), ZoneInfo("America/New_York")
        ) == utc("2026-03-08T07:30")
        assert sent == utc("2026-03-09T06:30")

    def test_a_day_without_midnight_begins_where_it_begins(self):
        # Cairo, 24 April 2026: the clocks go from 00:00 to 01:00.
        start = instant_of(D(2026, 4, 24), time(0), ZoneInfo("Africa/Cairo"))

        assert start == utc("2026-04-23T22:00")
        assert local_day(start, ZoneInfo("Africa/Cairo")) == D(2026, 4, 24)

    def test_holidays_are_days_of_rest(self):
        quiet = Courtesy(
            quiet_from=time(20), quiet_until=time(8), holidays={D(2026, 7, 3)}
        )

        sent = send_at(
            utc("2026-07-03T12:00"), zone=ZoneInfo("America/Detroit"), courtesy=quiet
        )

        assert sent == utc("2026-07-06T12:00")

    @pytest.mark.parametrize(
        ("by_on", "sent"),
        [
            (D(2026, 6, 7), "2026-06-06T12:00"),  # a Sunday: Saturday morning
            (D(2026, 6, 6), "2026-06-06T12:00"),
            (D(2026, 6, 8), "2026-06-08T12:00"),  # Monday itself is soon enough
            (D(2026, 6, 5), "2026-06-08T12:00"),  # passed: no hurry left
            (None, "2026-06-08T12:00"),
        ],
    )
    def test_a_deadline_waits_for_nobodys_weekend(self, by_on, sent):
        friday_evening = utc("2026-06-06T01:00")
        zone = ZoneInfo("America/Detroit")

        found = send_at(friday_evening, zone=zone, courtesy=NIGHT, by_on=by_on)

        assert found == utc(sent)

    def test_quiet_hours_within_a_day_leave_two_stretches(self):
        siesta = Courtesy(quiet_from=time(12), quiet_until=time(15))
        zone = ZoneInfo("America/Phoenix")

        morning = send_at(utc("2026-06-01T14:00"), zone=zone, courtesy=siesta)
        rest = send_at(utc("2026-06-01T20:00"), zone=zone, courtesy=siesta)

        assert morning == utc("2026-06-01T14:00")
        assert rest == utc("2026-06-01T22:00")

    def test_no_quiet_hours_at_all(self):
        never = Courtesy(quiet_from=time(0), quiet_until=time(0))
        now = utc("2026-06-01T08:00")

        assert send_at(now, zone=ZoneInfo("America/Detroit"), courtesy=never) == now

    def test_holidays_without_end_are_refused(self):
        all_days = {D(2026, 6, 1) + timedelta(days=n) for n in range(400)}
        quiet = Courtesy(quiet_from=time(20), quiet_until=time(8), holidays=all_days)

        with pytest.raises(CourtesyInputError, match="holidays"):
            send_at(utc("2026-06-01T16:00"), zone=UTC, courtesy=quiet)

    @given(
        st.integers(0, HOURS_OF_15_YEARS),
        st.sampled_from(
            ["America/Detroit", "Pacific/Honolulu", "Australia/Lord_Howe", "UTC"]
        ),
    )
    def test_it_is_never_at_night_never_on_a_weekend_and_never_in_the_past(
        self, hours, name
    ):
        zone = ZoneInfo(name)
        now = datetime(2020, 1, 1, tzinfo=UTC) + timedelta(hours=hours)

        found = send_at(now, zone=zone, courtesy=NIGHT)

        local = found.astimezone(zone)
        assert found >= now
        assert time(8) <= local.time() < time(20)
        assert local.isoweekday() <= 5
        assert found - now < timedelta(days=4)


def test_the_business_day_before():
    assert business_day_until(D(2026, 11, 29), {D(2026, 11, 27)}) == D(2026, 11, 26)
