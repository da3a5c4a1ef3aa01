"""The invented fleet is whole, plausible and tells of everything."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from statistics import fmean, stdev

import pytest
from django.conf import settings
from django.db import transaction
from django.utils import timezone

from fleet.civil import office_day
from fleet.models import (
    ClimateReading,
    Coach,
    CoatLog,
    FilmReading,
    Installation,
    Owner,
    Retirement,
    Roof,
    Visit,
)
from fleet.selectors.records import roof_records
from fleet.selectors.verification import verify_ledgers
from fleet.vin import read_vin
from warranty.demo.build import Made, build, calendar_of
from warranty.demo.fates import FEWEST_COACHES
from warranty.models import Claim, ClaimWait, Decision, Standing, Waiver
from warranty.rules.claim import ClaimStatus
from warranty.rules.clause import STANDINGS
from warranty.selectors.decisions import replay
from warranty.selectors.standings import standings_of

# In winter: nothing is being coated, and no yearly visit is due.
TODAY = date(2027, 2, 9)

pytestmark = pytest.mark.slow


def noon(day: date) -> datetime:
    return datetime.combine(day, time(12), calendar_of(day).zone)


def silent(line: str) -> None:
    """Say nothing."""


@pytest.fixture(scope="module")
def made(django_db_setup, django_db_blocker) -> Iterator[Made]:
    """Yield one small fleet for all tests here: they only read it."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield build(
            coaches=FEWEST_COACHES, seed=7, today=TODAY, now=noon(TODAY), say=silent
        )
        transaction.set_rollback(True)


@pytest.mark.usefixtures("made")
class TestStandings:
    def test_every_standing_occurs(self):
        words = set(Standing.objects.values_list("word", flat=True))

        assert words == {word.value for word in STANDINGS}

    def test_what_is_stored_is_what_the_rules_say_today(self):
        stored = dict(Standing.objects.values_list("roof_id", "word"))

        now = noon(TODAY)
        told = standings_of(list(stored), as_of=TODAY, known_at=now)

        assert stored == {pk: told[pk].standing.value for pk in told}

    def test_a_record_typed_late_was_not_known_before(self):
        late = [
            visit
            for visit in Visit.objects.all()
            if (office_day(visit.recorded_at) - visit.happened_on).days > 90
        ]

        assert late
        for visit in late:
            before = visit.recorded_at - timedelta(minutes=1)
            known = roof_records([visit.roof_id], known_at=before)[visit.roof_id]
            assert visit not in known.visits

    def test_the_thin_lot_fails_its_film(self, made):
        logs = CoatLog.objects.filter(lot=made.thin_lot)
        words = Standing.objects.filter(roof__in=logs.values("roof"))

        failed = [word for word in words if word.verdicts[0] == "N"]

        assert len(failed) > len(words) / 2


@pytest.mark.usefixtures("made")
class TestLedger:
    def test_it_verifies(self):
        checked = verify_ledgers()

        assert checked.faults == []
        assert checked.roofs == Roof.objects.count()

    def test_a_visit_is_disputed_and_a_film_reading_corrected(self):
        ids = Roof.objects.values_list("pk", flat=True)

        records = roof_records(ids, known_at=noon(TODAY)).values()

        assert any(record.disputed for record in records)
        assert FilmReading.objects.filter(supersedes__isnull=False).exists()

    def test_chains_are_in_the_order_of_time(self):
        for roof in Roof.objects.prefetch_related("entries"):
            entries = sorted(roof.entries.all(), key=lambda entry: entry.seq)
            times = [entry.recorded_at for entry in entries]
            assert times == sorted(times)


@pytest.mark.usefixtures("made")
class TestDates:
    def test_nothing_happens_today_or_later(self):
        for table in (Visit, FilmReading, ClimateReading, Installation):
            day = "completed_on" if table is Installation else "happened_on"
            for row in table.objects.all():
                assert getattr(row, day) < TODAY
                assert getattr(row, day) <= office_day(row.recorded_at) < TODAY

    def test_no_roof_is_coated_in_winter(self):
        for work in Installation.objects.all():
            assert work.started_on.month >= 4
            assert work.completed_on.month <= 10
            assert work.started_on < work.completed_on

    def test_the_history_is_years_deep(self):
        first = Installation.objects.order_by("completed_on").first()

        assert first.completed_on < TODAY - timedelta(days=5 * 365)

    def test_no_visit_follows_the_end_of_a_coach(self):
        for gone in Retirement.objects.all():
            visits = Visit.objects.filter(roof__coach=gone.coach)
            assert not visits.filter(happened_on__gt=gone.retired_on).exists()

    def test_some_claims_are_open_and_fresh(self):
        week_ago = TODAY - timedelta(days=7)

        assert Claim.objects.filter(reported_on__gte=week_ago).exists()
        assert not Claim.objects.filter(reported_on__gte=TODAY).exists()


@pytest.mark.usefixtures("made")
class TestClaims:
    def test_each_place_where_a_claim_can_stand_is_there(self):
        stand = set(Claim.objects.values_list("status", flat=True))

        assert stand == {status.value for status in ClaimStatus}

    def test_some_are_approved_and_some_declined_for_what_the_clauses_say(self):
        outcomes = set(Decision.objects.values_list("outcome", flat=True))

        assert {"APPROVED", "DECLINED"} <= outcomes
        for decision in Decision.objects.filter(outcome="DECLINED"):
            assert "N" in decision.verdicts

    def test_what_was_decided_replays_to_the_same_bytes(self):
        replays = [replay(decision) for decision in Decision.objects.all()]

        assert all(each.is_same for each in replays)

    def test_one_waits_for_its_owner(self):
        assert ClaimWait.objects.exists()


@pytest.mark.usefixtures("made")
class TestReadings:
    def test_film_is_read_in_whole_mils_between_two_teeth(self):
        wet = FilmReading.objects.filter(method="NOTCH")

        for row in wet:
            assert row.last_wet == int(row.last_wet)
            assert row.first_dry - row.last_wet == 2

    def test_film_spreads_as_a_roller_leaves_it(self):
        """Common practice, no source: about a mil and a half over one coat."""
        by_coat = defaultdict(list)
        for row in FilmReading.objects.filter(method="NOTCH", last_wet__gt=10):
            by_coat[row.roof_id, row.coat].append(float(row.last_wet))

        spreads = [stdev(values) for values in by_coat.values()]

        assert fmean(spreads) == pytest.approx(1.5, abs=0.25)

    def test_newer_readings_lie_on_the_plan_and_older_have_no_place(self):
        placed = FilmReading.objects.filter(x_m__isnull=False)
        for row in placed.select_related("roof__coach"):
            assert 0 <= row.x_m <= row.roof.coach.length_m
            assert 0 <= row.y_m <= row.roof.coach.width_m

        newest_without = FilmReading.objects.filter(method="NOTCH", x_m__isnull=True)
        assert placed.exists()
        assert (
            newest_without.latest("happened_on").happened_on
            < placed.earliest("happened_on").happened_on
        )

    def test_a_few_climate_readings_are_incomplete(self):
        rows = ClimateReading.objects.all()
        blank = [row for row in rows if None in (row.air, row.surface, row.rh_ratio)]

        assert 0 < len(blank) < len(rows) / 10


@pytest.mark.usefixtures("made")
class TestPeople:
    def test_mail_would_reach_nobody(self):
        for owner in Owner.objects.all():
            assert owner.email.endswith("@example.org")

    def test_four_fleets_and_private_owners_hold_coaches(self):
        held = Owner.objects.filter(coaches__isnull=False)

        assert held.filter(kind="private").exists()
        assert Owner.objects.filter(kind="rental_fleet").count() == 4

    def test_numbers_fit_their_year_or_were_mistyped(self):
        for coach in Coach.objects.exclude(vin=""):
            read = read_vin(coach.vin, model_year=coach.model_year)
            assert not read.warnings or "O" in coach.vin

    def test_every_waiver_says_why(self):
        waivers = Waiver.objects.select_related("why")

        assert waivers.exists()
        assert all(waiver.why.body for waiver in waivers)


def heads() -> dict[str, str]:
    # What is answered, moved and paid gets its ids and salts from the actions.
    answered = Roof.objects.filter(claims__moves__isnull=False)
    waiting = Roof.objects.filter(claims__waits__isnull=False)
    others = Roof.objects.exclude(pk__in=answered).exclude(pk__in=waiting)
    rows = others.values_list("uuid", "head__entry_sha256")
    return {str(uuid): sha256 for uuid, sha256 in rows}


def heads_of(seed: int, today: date) -> dict[str, str]:
    with transaction.atomic():
        build(
            coaches=FEWEST_COACHES, seed=seed, today=today, now=noon(today), say=silent
        )
        found = heads()
        words = set(Standing.objects.values_list("word", flat=True))
        transaction.set_rollback(True)
    assert words == {word.value for word in STANDINGS}
    return found


@pytest.mark.django_db
def test_the_same_seed_makes_the_same_ledgers_and_another_others():
    summer = date(2026, 7, 15)

    first, again, other = (heads_of(seed, summer) for seed in (3, 3, 4))

    assert first == again
    assert not set(first.values()) & set(other.values())


def test_the_demo_day_is_the_office_day():
    assert str(calendar_of(timezone.now().date()).zone) == settings.OFFICE_TIME_ZONE
