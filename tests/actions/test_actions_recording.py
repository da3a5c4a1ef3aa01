"""One recording is all or nothing, tells its subscribers once, and columns follow."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from fleet.actions.coaches import describe_coach, hand_over, retire_coach
from fleet.actions.errors import InvalidValue
from fleet.actions.readings import coat_log, moisture_reading
from fleet.actions.recording import recording
from fleet.actions.roofs import open_roof, record, record_installation, record_visit
from fleet.models import (
    CoatLog,
    FilmReading,
    Finding,
    Installation,
    LedgerEntry,
    LedgerHead,
    MoistureReading,
    PrivateText,
    Visit,
)
from fleet.selectors.verification import verify_ledgers
from tests.builders import (
    COMPLETED,
    NOON,
    TODAY,
    make_coach,
    make_description,
    make_installation,
    make_installed_roof,
    make_owner,
    make_promised_roof,
    make_reading,
    make_roof,
    office,
)
from warranty.models import Standing

pytestmark = pytest.mark.django_db
HEARD: list[tuple[int, ...]] = []


def hear(*, roof_ids, entry_ids, now) -> None:
    """A subscriber that remembers what it was told."""
    HEARD.append(roof_ids)


def fail(*, roof_ids, entry_ids, now) -> None:
    """A subscriber that cannot do its part."""
    raise RuntimeError("no")


@pytest.fixture
def heard(settings) -> list[tuple[int, ...]]:
    HEARD.clear()
    settings.LEDGER_SUBSCRIBERS = [f"{__name__}.hear"]
    return HEARD


def counts() -> tuple[int, ...]:
    """Return how many rows, entries, texts and links of heads there are."""
    heads = sum(LedgerHead.objects.values_list("seq", flat=True))
    tables = (FilmReading, Visit, LedgerEntry, PrivateText)
    return (*(table.objects.count() for table in tables), heads)


def log(**over) -> CoatLog:
    return coat_log(**{"coat": "base", "lot": "L", "happened_on": TODAY, **over})


class TestAllOrNothing:
    def test_an_error_inside_leaves_nothing(self):
        roof = make_roof()
        before = counts()

        def act():
            with recording(by=office(), now=NOON) as made:
                facts = [make_reading()]
                record(roof=roof, kind="film", facts=facts, by=office(), now=NOON)
                made.flush()
                raise ZeroDivisionError

        with pytest.raises(ZeroDivisionError):
            act()

        assert counts() == before

    def test_an_error_of_a_subscriber_leaves_nothing(self, settings):
        roof = make_roof()
        before = counts()
        settings.LEDGER_SUBSCRIBERS = [f"{__name__}.fail"]

        with pytest.raises(RuntimeError):
            record_visit(
                roof=roof,
                ref="V-1",
                kind="SURVEY",
                happened_on=TODAY,
                note="dry",
                by=office(),
                now=NOON,
            )

        assert counts() == before

    def test_after_an_error_the_next_recording_starts_afresh(self):
        roof = make_roof()
        with pytest.raises(ZeroDivisionError), recording(by=office(), now=NOON):
            raise ZeroDivisionError

        record(roof=roof, kind="film", facts=[make_reading()], by=office(), now=NOON)

        assert FilmReading.objects.count() == 1
        assert verify_ledgers().faults == []


class TestSubscribers:
    def test_are_called_once_with_all_roofs_in_order(self, heard):
        first, second = make_roof(), make_roof()
        heard.clear()

        with recording(by=office(), now=NOON):
            for roof in (second, first, second):
                record(roof=roof, kind="coats", facts=[log()], by=office(), now=NOON)

        assert heard == [(first.pk, second.pk)]

    def test_are_not_called_for_nothing(self, heard):
        with recording(by=office(), now=NOON):
            pass

        assert heard == []

    def test_hear_of_every_roof_of_a_coach(self, heard):
        coach = make_coach()
        roofs = [make_roof(coach=coach) for _ in range(2)]
        heard.clear()

        retire_coach(coach=coach, retired_on=TODAY, by=office(), now=NOON)

        assert heard == [tuple(roof.pk for roof in roofs)]


class TestJoining:
    def test_facts_of_joined_recordings_are_one_chain(self):
        roof = make_roof()

        with recording(by=office(), now=NOON):
            record(roof=roof, kind="coats", facts=[log()], by=office(), now=NOON)
            record(
                roof=roof, kind="film", facts=[make_reading()], by=office(), now=NOON
            )

        assert list(roof.entries.order_by("seq").values_list("seq", "kind")) == [
            (1, "opened"),
            (2, "coats"),
            (3, "film"),
        ]
        assert verify_ledgers().faults == []

    def test_the_scope_of_the_outer_one_is_written_and_looked_up(self):
        roof, fact = make_roof(), log()
        again = log(uuid=fact.uuid)

        with recording(by=office(), now=NOON, scope="owner:1"):
            record(roof=roof, kind="coats", facts=[fact], by=office(), now=NOON)
        with recording(by=office(), now=NOON, scope="owner:1"):
            [kept] = record(
                roof=roof, kind="coats", facts=[again], by=office(), now=NOON
            )

        assert kept.pk == fact.pk
        assert CoatLog.objects.get().scope == "owner:1"

    def test_a_finding_recorded_before_the_visit_of_another_is_written(self):
        roof = make_roof()
        told = {"roof": roof, "by": office(), "now": NOON}
        reported = Finding(happened_on=TODAY, severity="MINOR")

        with recording(by=office(), now=NOON):
            record(kind="findings", facts=[reported], **told)
            record_visit(
                ref="V-1",
                kind="SURVEY",
                happened_on=TODAY,
                findings=[Finding(happened_on=TODAY, severity="NOTE")],
                **told,
            )

        assert Finding.objects.count() == 2

    def test_a_roof_opened_half_way_tells_what_was_said_of_its_coach(self):
        with recording(by=office(), now=NOON):
            coach = make_coach()
            open_roof(coach=coach, by=office(), now=NOON)

        assert verify_ledgers().faults == []


class TestStanding:
    def test_is_reassessed_in_the_same_transaction(self):
        roof = make_promised_roof()
        before = Standing.objects.get(roof=roof).word

        record_visit(
            roof=roof,
            ref="V-1",
            kind="INSPECTION",
            happened_on=TODAY,
            result="FAIL",
            findings=[Finding(happened_on=TODAY, severity="SERIOUS")],
            by=office(),
            now=NOON,
        )

        assert (before, Standing.objects.get(roof=roof).word) == ("IN_FORCE", "AT_RISK")

    def test_counts_what_another_clock_recorded_later(self):
        roof = make_promised_roof()
        told = {"roof": roof, "kind": "INSPECTION", "happened_on": TODAY}
        serious = Finding(happened_on=TODAY, severity="SERIOUS")
        record_visit(ref="V-1", findings=[serious], by=office(), now=NOON, **told)

        # This writer looked at its clock before it waited for the other.
        earlier = NOON - timedelta(seconds=1)
        record_visit(ref="V-2", by=office(), now=earlier, **told)

        assert Standing.objects.get(roof=roof).word == "AT_RISK"

    def test_goes_when_the_terms_were_struck(self):
        roof = make_promised_roof()
        terms = roof.termsassignments.get()
        void = type(terms)(
            edition=terms.edition,
            happened_on=terms.happened_on,
            supersedes=terms.uuid,
            is_void=True,
        )

        record(roof=roof, kind="terms", facts=[void], by=office(), now=NOON)

        assert not Standing.objects.filter(roof=roof).exists()


class TestColumns:
    def test_the_holder_is_who_holds_it_today(self):
        coach, buyer, heir = make_coach(), make_owner(), make_owner()
        told = {"coach": coach, "by": office(), "now": NOON}

        hand_over(owner=buyer, from_on=TODAY, **told)
        hand_over(owner=heir, from_on=TODAY + timedelta(days=1), **told)

        coach.refresh_from_db()
        assert coach.holder == buyer

    def test_today_is_the_day_at_the_office(self):
        coach, buyer = make_coach(), make_owner()
        # Half past three in the morning by UTC is still the evening before.
        late_evening = NOON.replace(hour=3, minute=30)

        hand_over(
            coach=coach, owner=buyer, from_on=TODAY, by=office(), now=late_evening
        )

        coach.refresh_from_db()
        assert coach.holder != buyer

    def test_the_newest_description_is_the_coachs(self):
        coach = make_coach()

        describe_coach(
            coach=coach,
            described=make_description(make="Heron", length=Decimal(14)),
            by=office(),
            now=NOON,
        )

        coach.refresh_from_db()
        assert (coach.make, coach.length_m) == ("Heron", Decimal("4.2672"))

    def test_the_earliest_retirement_counts(self):
        coach = make_coach()

        for day in (date(2030, 1, 1), date(2029, 1, 1)):
            retire_coach(coach=coach, retired_on=day, by=office(), now=NOON)

        coach.refresh_from_db()
        assert coach.retired_on == date(2029, 1, 1)

    def test_a_roof_takes_its_days_from_the_installation(self):
        roof = make_installed_roof()

        assert (roof.completed_on, roof.substrate) == (COMPLETED, "EPDM")

    def test_a_struck_installation_leaves_the_roof_as_surveyed(self):
        roof = make_installed_roof()
        laid = roof.installations.get()
        void = Installation(
            system=laid.system,
            substrate=laid.substrate,
            started_on=laid.started_on,
            supersedes=laid.uuid,
            is_void=True,
        )

        record(roof=roof, kind="installation", facts=[void], by=office(), now=NOON)

        roof.refresh_from_db()
        assert (roof.system, roof.substrate, roof.completed_on) == (None, "", None)

    def test_each_recording_moves_the_version(self):
        roof = make_roof()
        laid = make_installation()

        record_installation(
            roof=roof,
            system=laid.system,
            substrate="EPDM",
            started_on=COMPLETED,
            completed_on=None,
            by=office(),
            now=NOON,
        )

        before = roof.version
        roof.refresh_from_db()
        assert roof.version == before + 1


class TestFitting:
    @pytest.mark.parametrize("typed", ["30.0005", "30.0015"])
    def test_half_a_digit_too_many_is_rounded_once_for_row_and_ledger(self, typed):
        coach = make_coach(described=make_description(length=Decimal(typed)))
        make_roof(coach=coach)

        assert verify_ledgers().faults == []

    def test_half_a_digit_too_many_sent_twice_is_the_same(self):
        roof, fact = make_roof(), log(thinner_ratio=Decimal("0.10005"))
        again = log(uuid=fact.uuid, thinner_ratio=Decimal("0.10005"))
        told = {"roof": roof, "kind": "coats", "by": office(), "now": NOON}
        record(facts=[fact], **told)

        [kept] = record(facts=[again], **told)

        assert kept.pk == fact.pk

    @pytest.mark.parametrize(
        ("fact", "field"),
        [
            (log(volume=Decimal(10) ** 9), "volume"),
            (log(lot="L" * 41), "lot"),
            (log(lot="L\x00"), "lot"),
            (log(lot="L\ud800"), "lot"),
            (log(happened_on=date(1929, 12, 31)), "happened_on"),
            (log(happened_on=date(2200, 1, 1)), "happened_on"),
            (
                moisture_reading(
                    moisture_pct=Decimal(9),
                    mode="PIN",
                    wood_c=Decimal("NaN"),
                    happened_on=TODAY,
                ),
                "wood_c",
            ),
        ],
    )
    def test_what_no_column_takes_is_refused_by_name(self, fact, field):
        roof = make_roof()

        with pytest.raises(InvalidValue) as refused:
            record(roof=roof, kind="x", facts=[fact], by=office(), now=NOON)

        assert refused.value.field == field
        assert not MoistureReading.objects.exists()

    def test_a_text_that_cannot_be_stored_is_refused(self):
        with pytest.raises(InvalidValue, match="cannot be stored"):
            record_visit(
                roof=make_roof(),
                ref="V-1",
                kind="SURVEY",
                happened_on=TODAY,
                note="\x00",
                by=office(),
                now=NOON,
            )


def test_fifty_facts_are_looked_up_in_one_query(django_assert_max_num_queries):
    roof = make_roof()
    facts = [make_reading(spot_no=n) for n in range(1, 51)]

    with django_assert_max_num_queries(60):
        record(roof=roof, kind="film", facts=facts, by=office(), now=NOON)
