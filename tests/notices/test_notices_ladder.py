"""A year of one roof, day by day: who is told what, when, and never twice."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core import mail

from fleet.actions.attendance import record_attendance
from fleet.actions.attendance import visit as attendance
from fleet.actions.coaches import hand_over
from fleet.models import Finding, OwnerKind, Severity, VisitKind, VisitResult
from jobs.models import Message, MessageState, Notice, NoticeWatch, Wish
from tests import builders
from tests.builders import NOON, office

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("kept")]

# Completed on 5 May 2026, so the first inspection is due on 5 May 2027, a Wednesday.
DUE = date(2027, 5, 5)


def make_roof(**over):
    owner = over.pop("owner", None) or builders.make_owner(
        name="Odessa Ferrymoor", email="odessa@harrow-lake.example"
    )
    described = builders.make_description(**over.pop("described", {}))
    coach = builders.make_coach(owner=owner, unit_no="HL-0001", described=described)
    return builders.make_promised_roof(coach=coach, **over)


def told() -> list[tuple[str, str]]:
    """Return when which step was sent: the day in UTC, and the step."""
    rows = Notice.objects.filter(message__state=MessageState.SENT).order_by(
        "message__sent_at", "pk"
    )
    return [
        (row.message.sent_at.date().isoformat(), row.step)
        for row in rows.select_related("message")
    ]


def noon(day: str) -> datetime:
    return datetime.fromisoformat(f"{day}T16:00").replace(tzinfo=UTC)


@pytest.mark.slow
def test_a_neglected_roof_climbs_the_whole_ladder(days):
    make_roof()
    days.work()

    # Every day around the steps, and now and then in the quiet months between.
    for at in (*range(18, 270, 40), *range(270, 405), *range(405, 570, 30), 579, 580):
        days.clock.at = NOON + timedelta(days=at)
        days.work()
    days.clock.at = noon("2028-01-03")
    days.work()

    assert told() == [
        ("2027-03-05", "BEFORE_60"),  # 6 March is a Saturday
        ("2027-04-05", "BEFORE_30"),
        ("2027-04-28", "BEFORE_7"),
        ("2027-05-05", "ON_THE_DAY"),
        ("2027-06-04", "MID_GRACE"),
        ("2027-06-28", "LAST_GRACE_WEEK"),
        ("2027-07-05", "SUSPENDED"),
        # 60 + 180 days after 5 May 2027 is 31 December; 1 January is a Saturday.
        ("2028-01-03", "ENDED"),
    ]
    assert len(mail.outbox) == 8
    assert Message.objects.exclude(state=MessageState.SENT).count() == 0


def test_nothing_is_sent_twice_however_often_the_sweep_runs(days):
    roof = make_roof()
    days.clock.at = noon("2027-04-05")
    NoticeWatch.objects.update(since_at=noon("2027-04-01"))
    for _ in range(4):
        NoticeWatch.objects.filter(roof=roof).update(look_at=days.clock.at)
        days.go(minutes=5)

    assert told() == [("2027-04-05", "BEFORE_30")]
    assert len(mail.outbox) == 1


def test_it_goes_out_by_the_coachs_clock_not_by_ours(days):
    make_roof(described={"time_zone": "Pacific/Honolulu"})
    NoticeWatch.objects.update(since_at=noon("2027-04-01"))
    # 5 April 2027, 05:00 in Honolulu: 11:00 in Detroit.
    days.clock.at = datetime(2027, 4, 5, 15, 0, tzinfo=UTC)

    days.work()
    assert told() == []
    days.clock.at = datetime(2027, 4, 5, 18, 0, tzinfo=UTC)
    days.work()

    assert told() == [("2027-04-05", "BEFORE_30")]


def test_a_coach_in_no_known_zone_keeps_the_offices(days):
    make_roof(described={"time_zone": "Harrow/Lake"})
    NoticeWatch.objects.update(since_at=noon("2027-04-01"))
    days.clock.at = datetime(2027, 4, 5, 12, 0, tzinfo=UTC)  # 08:00 in Detroit

    days.work()

    assert told() == [("2027-04-05", "BEFORE_30")]


def test_an_inspection_in_time_ends_the_reminders(days):
    roof = make_roof()
    days.work()
    days.clock.at = noon("2027-04-05")
    days.work()
    visit(roof, "2027-04-10", by_now=noon("2027-04-10"))

    for at in range(6, 90):
        days.clock.at = noon("2027-04-05") + timedelta(days=at)
        days.work()

    assert told() == [("2027-04-05", "BEFORE_30")]


def test_what_is_no_longer_true_is_not_sent(days):
    roof = make_roof()
    days.work()
    days.clock.at = datetime(2027, 4, 5, 5, 0, tzinfo=UTC)  # 01:00: waits for morning
    days.work()
    assert Message.objects.get().state == MessageState.WAITING
    visit(roof, "2027-04-05", by_now=days.clock.at)

    days.clock.at = noon("2027-04-05")
    days.work()

    assert Message.objects.get().state == MessageState.MOOT
    assert mail.outbox == []


def test_a_sold_coachs_former_holder_is_left_in_peace(days):
    roof = make_roof()
    days.work()
    days.clock.at = datetime(2027, 4, 5, 5, 0, tzinfo=UTC)
    days.work()
    heir = builders.make_owner(name="Ulla Brook", email="ulla@harrow-lake.example")
    hand_over(
        coach=roof.coach,
        owner=heir,
        from_on=date(2027, 4, 5),
        by=office(),
        now=days.clock.at,
    )

    days.clock.at = noon("2027-04-05")
    days.work()
    days.go(minutes=5)

    assert [each.to for each in mail.outbox] == [["ulla@harrow-lake.example"]]


def test_a_suspended_roof_that_is_reinstated_is_told_so(days):
    roof = make_roof()
    days.work()
    days.clock.at = noon("2027-07-06")
    days.work()
    days.go(minutes=10)
    visit(roof, "2027-07-08", by_now=noon("2027-07-08"), kind=VisitKind.REINSTATEMENT)
    days.clock.at = noon("2027-07-08")
    days.go(minutes=2)

    assert told()[-2:] == [("2027-07-06", "SUSPENDED"), ("2027-07-08", "REINSTATED")]


def test_after_days_away_only_the_latest_step_is_told(days):
    make_roof()
    days.work()
    days.clock.at = noon("2027-05-03")

    days.work()

    assert told() == [("2027-05-03", "BEFORE_7")]


def test_history_that_is_loaded_tells_nobody_of_its_past(days):
    make_roof()
    days.clock.at = noon("2027-05-03")
    NoticeWatch.objects.update(since_at=noon("2027-05-03"))

    days.work()

    assert told() == []


def test_an_unregistered_roof_is_told_a_week_before_the_limit(days):
    # Thirty days from 5 May: 4 June 2026. A week before is 28 May.
    make_roof(registered_on=None)
    NoticeWatch.objects.update(since_at=noon("2026-05-20"))
    days.clock.at = noon("2026-05-29")

    days.work()

    [notice] = Notice.objects.all()
    assert (notice.step, notice.about_on) == ("REGISTRATION", date(2026, 6, 4))
    assert "4 June 2026" in mail.outbox[0].body


def test_a_serious_finding_is_told_before_its_deadline(days):
    roof = make_roof()
    days.work()
    visit(roof, "2026-06-02", by_now=noon("2026-06-02"), serious=True)
    days.clock.at = noon("2026-06-02")
    days.work()
    assert Notice.objects.count() == 0
    # Thirty days: 2 July 2026. A week before is 25 June.
    days.clock.at = noon("2026-06-25")

    days.work()

    [notice] = Notice.objects.all()
    assert (notice.step, notice.about_on) == ("CURE", date(2026, 7, 2))


class TestClaims:
    def test_each_news_of_a_claim_is_told_once_to_who_made_it(self, days):
        roof = make_roof()
        days.work()
        days.go(hours=1)
        claim = builders.make_claim(roof, now=days.clock.at, ref="C-77")
        days.go(minutes=2)
        days.go(minutes=2)

        [sent] = mail.outbox
        assert sent.subject == "We have your claim C-77: coach HL-0001"
        assert Notice.objects.get().claim == claim
        assert "List-Unsubscribe" not in sent.extra_headers

    def test_it_is_told_to_who_wants_no_reminders(self, days):
        roof = make_roof()
        days.work()
        Wish.objects.create(owner=roof.coach.holder, reminders_off_at=NOON)
        days.go(hours=1)
        builders.make_claim(roof, now=days.clock.at)
        days.go(minutes=2)

        assert len(mail.outbox) == 1

    def test_a_claim_of_long_ago_is_no_news(self, days):
        roof = make_roof()
        days.work()
        builders.make_claim(roof, now=NOON - timedelta(days=1))
        NoticeWatch.objects.update(since_at=NOON)

        days.go(minutes=2)

        assert mail.outbox == []


def test_who_wants_no_reminders_gets_none(days):
    roof = make_roof()
    days.work()
    Wish.objects.create(owner=roof.coach.holder, reminders_off_at=NOON)
    days.clock.at = noon("2027-04-05")

    days.work()

    assert mail.outbox == []
    assert Message.objects.get().state == MessageState.SILENCED


def test_an_owner_without_an_address_is_shown_to_the_office(days):
    make_roof(owner=builders.make_owner(email=""))
    days.work()
    days.clock.at = noon("2027-04-05")

    days.work()

    assert Message.objects.get().state == MessageState.UNREACHABLE


class TestAFleet:
    @pytest.fixture
    def fleet(self):
        return builders.make_owner(
            name="Sandbar Coach Hire",
            kind=OwnerKind.RENTAL_FLEET,
            email="desk@sandbar.example",
        )

    @pytest.fixture
    def roofs(self, fleet):
        edition = builders.make_edition(owner_kind=OwnerKind.RENTAL_FLEET)
        zones = ("America/Detroit", "Pacific/Honolulu", "America/New_York")
        return [
            builders.make_promised_roof(
                coach=builders.make_coach(
                    owner=fleet,
                    unit_no=f"SB-{number}",
                    described=builders.make_description(time_zone=zone),
                ),
                edition=edition,
            )
            for number, zone in enumerate(zones, start=1)
        ]

    def test_it_gets_one_digest_a_morning_with_the_table_attached(self, days, roofs):
        days.work()
        # From midnight in New York to midnight in Honolulu, then to the morning.
        days.clock.at = datetime(2027, 4, 5, 3, 0, tzinfo=UTC)
        days.until(datetime(2027, 4, 5, 16, 0, tzinfo=UTC))

        [digest] = mail.outbox
        assert digest.subject == "3 coaches need a look at their roof"
        names = [name for name, _, _ in digest.attachments]
        assert names == ["roofs.xlsx", "roofs.csv", "roof-dates.ics"]
        assert digest.body.count("* SB-") == 3
        assert Message.objects.get().sent_at.hour == 12  # 08:00 at the office

    def test_what_comes_later_that_day_waits_for_the_next_morning(self, days, roofs):
        days.work()
        days.clock.at = noon("2027-04-05")
        days.work()
        assert mail.outbox == []

        days.until(noon("2027-04-06"))

        assert len(mail.outbox) == 1


def visit(roof, day: str, *, by_now, kind=VisitKind.INSPECTION, serious=False):
    """Record a passing visit, or one that found something serious."""
    on = date.fromisoformat(day)
    attended = attendance(
        ref=f"V-{day}",
        kind=kind,
        happened_on=on,
        result=VisitResult.FAIL if serious else VisitResult.PASS,
    )
    found = [Finding(happened_on=on, severity=Severity.SERIOUS)] if serious else []
    record_attendance(
        roof=roof, attended=attended, findings=found, by=office(), now=by_now
    )
