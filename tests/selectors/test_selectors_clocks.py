"""Corrections and the two clocks, through the database."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from uuid import uuid4

import pytest

from fleet.actions.coaches import hand_over, record_about_coach, retire_coach
from fleet.actions.roofs import record, record_visit
from fleet.models import Finding, Retirement, Visit
from fleet.selectors.records import roof_records
from tests.builders import (
    COMPLETED,
    NOON,
    RECORDED,
    TODAY,
    make_claim,
    make_edition,
    make_installed_roof,
    make_owner,
    make_promised_roof,
    make_roof,
    make_user,
    office,
)
from warranty.actions.claims import claim_report, correct_claim
from warranty.actions.promises import assign_terms, register, waive
from warranty.models import Claim, Coverage, Registration, Standing
from warranty.selectors.claims import claim_standings
from warranty.selectors.explanations import explanation_of
from warranty.selectors.standings import standings_of

pytestmark = [pytest.mark.django_db, pytest.mark.slow]
FIRST, SECOND, THIRD = (NOON + timedelta(hours=n) for n in (1, 2, 3))
ORIGINAL, RIGHT, WRONG = COMPLETED, date(2026, 5, 20), date(2026, 5, 21)


def tell(roof, day, *, at, **marks) -> Registration:
    """Record a registration of this day at this moment."""
    fact = Registration(registered_on=day, **marks)
    record(roof=roof, kind="registration", facts=[fact], by=office(), now=at)
    return fact


def registered(roof, known_at: datetime) -> list[date]:
    """Return the days of the registrations that count at a moment."""
    found = explanation_of(roof.pk, as_of=TODAY, known_at=known_at)
    return [row.registered_on for row in found.coverage.promise.registrations]


def word(roof, *, as_of=TODAY, known_at=THIRD) -> str:
    return standings_of([roof.pk], as_of=as_of, known_at=known_at)[roof.pk].standing


@pytest.fixture
def roof():
    return make_promised_roof(registered_on=None)


class TestCorrections:
    def test_hide_the_older_row_only_once_they_are_known(self, roof):
        first = tell(roof, ORIGINAL, at=FIRST)
        tell(roof, RIGHT, at=SECOND, supersedes=first.uuid)

        assert registered(roof, FIRST) == [ORIGINAL]
        assert registered(roof, SECOND - timedelta(microseconds=1)) == [ORIGINAL]
        assert registered(roof, SECOND) == [RIGHT]

    def test_two_are_a_dispute_until_the_office_settles_it(self, roof):
        first = tell(roof, ORIGINAL, at=FIRST)
        for day in (RIGHT, WRONG):
            tell(roof, day, at=SECOND, supersedes=first.uuid)
        tell(roof, RIGHT, at=THIRD, supersedes=first.uuid, settles=True)

        assert registered(roof, SECOND) == [ORIGINAL]
        assert registered(roof, THIRD) == [RIGHT]

    def test_a_void_one_strikes_the_row(self, roof):
        first = tell(roof, ORIGINAL, at=FIRST)
        tell(roof, ORIGINAL, at=SECOND, supersedes=first.uuid, is_void=True)

        assert registered(roof, SECOND) == []
        assert word(roof, known_at=FIRST) == "IN_FORCE"
        assert word(roof, known_at=SECOND) == "PENDING"

    def test_one_that_arrives_first_counts_alone_and_then_hides_its_row(self, roof):
        late = uuid4()
        tell(roof, RIGHT, at=FIRST, supersedes=late)
        tell(roof, ORIGINAL, at=SECOND, uuid=late)

        assert registered(roof, FIRST) == [RIGHT]
        assert registered(roof, SECOND) == [RIGHT]

    def test_disputes_are_named(self, roof):
        told = {"roof": roof, "kind": "INSPECTION", "by": office(), "now": FIRST}
        visit = record_visit(ref="V-1", happened_on=ORIGINAL, **told)
        for day in (RIGHT, WRONG):
            record_visit(ref="V-1", happened_on=day, supersedes=visit.uuid, **told)

        assert roof_records([roof.pk], known_at=FIRST)[roof.pk].disputed == [visit.uuid]

    def test_a_cure_survives_a_correction_of_its_finding(self, roof):
        tell(roof, ORIGINAL, at=FIRST)
        told = {"roof": roof, "by": office(), "now": FIRST}
        found = Finding(happened_on=TODAY, severity="SERIOUS")
        record_visit(
            ref="V-1", kind="INSPECTION", happened_on=TODAY, findings=[found], **told
        )
        record_visit(ref="V-2", kind="REPAIR", happened_on=TODAY, cured=[found], **told)
        corrected = Finding(
            happened_on=TODAY,
            severity="SERIOUS",
            cause="split",
            supersedes=found.uuid,
            visit=found.visit,
        )

        record(kind="findings", facts=[corrected], **told)

        assert word(roof, known_at=FIRST) == "IN_FORCE"

    def test_a_struck_retirement_brings_the_coach_back(self, roof):
        tell(roof, ORIGINAL, at=FIRST)
        coach = {"coach": roof.coach, "by": office()}
        gone = retire_coach(retired_on=TODAY, now=SECOND, **coach)
        ended = Standing.objects.get(roof=roof).word

        from_day = Retirement(retired_on=TODAY, supersedes=gone.uuid, is_void=True)
        record_about_coach(fact=from_day, kind="retirement", now=THIRD, **coach)

        roof.coach.refresh_from_db()
        assert (ended, Standing.objects.get(roof=roof).word) == ("ENDED", "IN_FORCE")
        assert roof.coach.retired_on is None


class TestClocks:
    def test_a_record_typed_in_late_counts_only_from_then(self, roof):
        register(roof=roof, registered_on=ORIGINAL, by=office(), now=SECOND)

        assert word(roof, known_at=FIRST) == "PENDING"
        assert word(roof, known_at=SECOND) == "IN_FORCE"

    def test_a_standing_of_a_day_knows_nothing_of_later_days(self):
        roof = make_promised_roof()
        retire_coach(coach=roof.coach, retired_on=TODAY, by=office(), now=NOON)

        assert word(roof, as_of=TODAY - timedelta(days=1)) == "IN_FORCE"
        assert word(roof, as_of=TODAY) == "ENDED"

    def test_before_completion_everything_is_pending(self):
        roof = make_promised_roof()

        assert word(roof, as_of=COMPLETED - timedelta(days=1)) == "PENDING"

    def test_nothing_is_promised_before_the_terms_were_known(self):
        roof = make_promised_roof()
        before = RECORDED - timedelta(microseconds=1)

        assert standings_of([roof.pk], as_of=TODAY, known_at=before) == {}


class TestWaivers:
    """A loss on ``TODAY`` of a roof that was never registered, and has run late."""

    NOTICED = date(2026, 7, 1)
    AFTER = datetime(2026, 7, 10, 16, tzinfo=NOON.tzinfo)

    def judged(self, roof) -> str:
        make_claim(
            roof,
            noticed_on=self.NOTICED,
            reported_on=self.NOTICED,
            now=self.AFTER,
        )
        [answer] = claim_standings(Claim.objects.all(), known_at=self.AFTER)
        return answer.standing

    def waive(self, roof, at, **over):
        told = {"clause": "registered", "from_on": COMPLETED, "until_on": None}
        waive(roof=roof, why="posted in time", by=office(), now=at, **told, **over)

    def test_without_one_the_loss_is_not_covered(self, roof):
        assert self.judged(roof) == "PENDING"

    def test_one_recorded_before_the_loss_counts(self, roof):
        self.waive(roof, NOON)

        assert self.judged(roof) == "IN_FORCE"

    def test_one_recorded_on_the_evening_of_the_loss_counts(self, roof):
        # Half past ten at the office; by UTC it is the next day.
        self.waive(roof, datetime(2026, 7, 2, 2, 30, tzinfo=NOON.tzinfo))

        assert self.judged(roof) == "IN_FORCE"

    def test_one_recorded_after_the_loss_does_not(self, roof):
        self.waive(roof, self.AFTER)

        assert self.judged(roof) == "PENDING"
        assert word(roof, as_of=self.NOTICED, known_at=self.AFTER) == "IN_FORCE"

    def test_one_seconded_by_another_person_does(self, roof):
        self.waive(roof, self.AFTER, seconded_by=make_user())

        assert self.judged(roof) == "IN_FORCE"

    def test_the_explanation_of_a_loss_leaves_late_ones_out_too(self, roof):
        self.waive(roof, self.AFTER)

        told = explanation_of(
            roof.pk,
            as_of=self.NOTICED,
            known_at=self.AFTER,
            noticed_on=self.NOTICED,
        )

        assert told.explanation.standing == "PENDING"

    def test_one_never_moves_a_due_date(self, roof):
        before = standings_of([roof.pk], as_of=TODAY, known_at=NOON)[roof.pk]
        told = {"clause": "inspections", "from_on": COMPLETED, "until_on": None}

        waive(roof=roof, why="snowed in", by=office(), now=NOON, **told)

        after = standings_of([roof.pk], as_of=TODAY, known_at=NOON)[roof.pk]
        assert after.next_due_on == before.next_due_on


class TestCoverage:
    def test_follows_the_assignment_that_stands_and_not_the_one_sent_last(self):
        roof, first, second = make_installed_roof(), make_edition(), make_edition()
        told = {"roof": roof, "by": office()}
        uuid = uuid4()
        assign_terms(edition=first, happened_on=COMPLETED, uuid=uuid, now=NOON, **told)
        assign_terms(edition=second, happened_on=TODAY, now=NOON, **told)

        # A phone that heard no answer sends the first one again.
        assign_terms(edition=first, happened_on=COMPLETED, uuid=uuid, now=FIRST, **told)

        assert Coverage.objects.get(roof=roof).edition == second


class TestClaims:
    def test_keep_the_first_report_while_two_corrections_disagree(self):
        claim = make_claim(make_roof())
        first = claim.reports.get()
        for days in (1, 2):
            report = claim_report(
                noticed_on=TODAY - timedelta(days=days),
                reported_on=TODAY,
                description="earlier",
                estimate_cents=None,
                supersedes=first.uuid,
            )
            correct_claim(claim=claim, report=report, by=office(), now=FIRST)

        claim.refresh_from_db()
        assert claim.noticed_on == TODAY

    def test_belong_to_who_held_the_coach_when_the_loss_was_noticed(self):
        roof = make_roof()
        seller, buyer = roof.coach.holder, make_owner()
        hand_over(coach=roof.coach, owner=buyer, from_on=TODAY, by=office(), now=NOON)

        before = make_claim(roof, noticed_on=TODAY - timedelta(days=1))
        after = make_claim(roof, noticed_on=TODAY)

        assert (before.holder, after.holder) == (seller, buyer)


def test_visits_of_one_reference_are_one_visit_however_often_corrected(roof):
    told = {"roof": roof, "ref": "V-1", "kind": "INSPECTION", "by": office()}
    last = record_visit(happened_on=ORIGINAL, now=FIRST, **told)
    for at, day in ((SECOND, WRONG), (THIRD, RIGHT)):
        last = record_visit(happened_on=day, now=at, supersedes=last.uuid, **told)

    assert Visit.objects.count() == 3
    [counting] = roof_records([roof.pk], known_at=THIRD)[roof.pk].visits
    assert counting.happened_on == RIGHT
