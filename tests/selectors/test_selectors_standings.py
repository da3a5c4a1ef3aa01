"""The standing kept for a roof is what the rules say of its records, always."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from itertools import count

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.actions.coaches import hand_over, retire_coach
from fleet.actions.readings import coat_log
from fleet.actions.recording import recording
from fleet.actions.roofs import record, record_visit
from fleet.models import Finding, Roof
from tests.builders import (
    COMPLETED,
    NOON,
    RECORDED,
    TODAY,
    make_installed_roof,
    make_owner,
    make_promised_roof,
    make_reading,
    make_roof,
    office,
)
from tests.rules.roofs import ask, make_terms, steps, visits
from tests.rules.roofs import make_roof as make_facts
from warranty.actions.promises import register, waive
from warranty.actions.reassess import reassess_due
from warranty.models import Registration, Standing
from warranty.rules.clause import Verdict
from warranty.rules.roof_facts import HolderStep
from warranty.rules.terms import HolderKind
from warranty.selectors.standings import standings_of

pytestmark = [pytest.mark.django_db, pytest.mark.slow]
_refs = count(1)


def kept(roof: Roof) -> tuple:
    """Return what the standing's row says."""
    row = Standing.objects.get(roof=roof)
    return row.word, row.next_due_on, row.holds_until


def fresh(roof: Roof, on: date) -> tuple:
    """Return what an assessment from the records says now."""
    later = NOON + timedelta(days=9999)
    answer = standings_of([roof.pk], as_of=on, known_at=later)[roof.pk]
    return answer.standing, answer.next_due_on, answer.holds_until


class TestByHand:
    """The same roof once as records and once as facts written down by hand."""

    FACTS = make_facts(
        completed_on=COMPLETED,
        registered_on=COMPLETED + timedelta(days=5),
        holder=(HolderStep(from_on=date(2025, 1, 1), kind=HolderKind.PRIVATE),),
        **dict.fromkeys(
            ("film", "substrate", "penetrations", "climate"),
            steps(Verdict.MET, COMPLETED),
        ),
    )

    def both(self, roof: Roof, facts, on: date) -> tuple[tuple, tuple]:
        by_hand = ask(facts, on.isoformat(), make_terms())
        said = (by_hand.standing, by_hand.next_due_on, by_hand.holds_until)
        return fresh(roof, on), said

    @pytest.mark.parametrize(
        "on",
        [TODAY, date(2027, 5, 5), date(2027, 5, 6), date(2027, 7, 5), date(2028, 2, 1)],
    )
    def test_a_roof_with_all_its_papers(self, on):
        selected, by_hand = self.both(make_promised_roof(), self.FACTS, on)

        assert selected == by_hand

    def test_a_roof_never_registered(self):
        roof = make_promised_roof(registered_on=None)

        selected, by_hand = self.both(
            roof, replace(self.FACTS, registered_on=None), TODAY
        )

        assert selected == by_hand

    def test_a_roof_inspected_in_its_window(self):
        roof = make_promised_roof()
        on = date(2027, 4, 20)
        record_visit(
            roof=roof,
            ref="V-1",
            kind="INSPECTION",
            happened_on=on,
            result="PASS",
            by=office(),
            now=NOON,
        )

        facts = replace(self.FACTS, visits=visits(on.isoformat()))
        selected, by_hand = self.both(roof, facts, date(2027, 8, 1))

        assert selected == by_hand

    def test_a_retired_coach(self):
        roof = make_promised_roof()
        retire_coach(coach=roof.coach, retired_on=TODAY, by=office(), now=NOON)

        facts = replace(self.FACTS, retired_on=TODAY)
        selected, by_hand = self.both(roof, facts, TODAY)

        assert selected == by_hand


days = st.integers(-20, 900).map(lambda n: COMPLETED + timedelta(days=n))
moves = st.one_of(
    st.tuples(st.just("visit"), days, st.sampled_from(["PASS", "FAIL"])),
    st.tuples(st.just("finding"), days, st.sampled_from(["MINOR", "SERIOUS"])),
    st.tuples(st.just("sale"), days, st.sampled_from(["private", "rental_fleet"])),
    st.tuples(st.just("retire"), days, st.none()),
    st.tuples(st.just("register"), days, st.none()),
    st.tuples(st.just("strike"), days, st.none()),
    st.tuples(st.just("waive"), days, st.sampled_from(["film", "inspections"])),
    st.tuples(st.just("film"), days, st.sampled_from([Decimal(5), Decimal(60)])),
)


def act(roof: Roof, move: tuple, number: int) -> None:
    """Record one move."""
    kind, on, what = move
    told = {"by": office(), "now": NOON + timedelta(hours=number)}
    match kind:
        case "visit" | "finding":
            is_finding = kind == "finding"
            found = [Finding(happened_on=on, severity=what)] if is_finding else []
            record_visit(
                roof=roof,
                ref=f"R-{next(_refs)}",
                kind="INSPECTION",
                happened_on=on,
                result="NONE" if is_finding else what,
                findings=found,
                **told,
            )
        case "sale":
            owner = make_owner(kind=what)
            hand_over(coach=roof.coach, owner=owner, from_on=on, **told)
        case "retire":
            retire_coach(coach=roof.coach, retired_on=on, **told)
        case "register":
            register(roof=roof, registered_on=on, **told)
        case "strike":
            first = roof.registrations.earliest("pk")
            void = Registration(registered_on=on, supersedes=first.uuid, is_void=True)
            record(roof=roof, kind="registration", facts=[void], **told)
        case "waive":
            waive(roof=roof, clause=what, from_on=on, until_on=None, why="snow", **told)
        case "film":
            reading = make_reading(
                spot_no=6, happened_on=on, last_wet=what, first_dry=what + 2
            )
            record(roof=roof, kind="film", facts=[reading], **told)


def test_after_every_record_the_row_is_a_fresh_assessment():
    roof = make_promised_roof()

    @given(played=st.lists(moves, min_size=1, max_size=5))
    @settings(max_examples=20, deadline=None)
    def play(played: list[tuple]) -> None:
        with transaction.atomic():
            for number, move in enumerate(played):
                act(roof, move, number)

                assert kept(roof) == fresh(roof, TODAY)
            transaction.set_rollback(True)

    play()


def test_the_sweep_brings_a_day_that_has_come():
    roof = make_promised_roof()
    overdue = NOON + timedelta(days=350)

    assert reassess_due(now=overdue) == 1

    assert kept(roof) == fresh(roof, (overdue).date())
    assert Standing.objects.get(roof=roof).word == "AT_RISK"
    assert reassess_due(now=overdue) == 0


class TestCost:
    """How many queries one recording takes, with its reassessment."""

    def queries(self, roofs: list[Roof]) -> int:
        by = office()
        logs = [coat_log(coat="base", lot="L", happened_on=TODAY) for _ in roofs]
        with CaptureQueriesContext(connection) as seen, recording(by=by, now=NOON) as m:
            m.lock(roof.pk for roof in roofs)
            for roof, fact in zip(roofs, logs, strict=True):
                m.append(roof, "coats", [fact])
        return len(seen)

    def test_is_the_same_for_few_readings_and_for_hundreds(self):
        few, many = make_promised_roof(), make_promised_roof()
        facts = [
            make_reading(area_no=2 + n // 99, spot_no=1 + n % 99) for n in range(300)
        ]
        record(roof=many, kind="film", facts=facts, by=office(), now=NOON)

        assert self.queries([many]) == self.queries([few])

    def test_is_the_same_for_one_roof_and_for_fifty(self):
        with recording(by=office(), now=RECORDED):
            roofs = [make_promised_roof() for _ in range(50)]

        assert self.queries(roofs) == self.queries(roofs[:1])

    def test_a_roof_without_a_promise_costs_less(self):
        assert self.queries([make_roof()]) < self.queries([make_promised_roof()])
        assert not Standing.objects.filter(roof=make_installed_roof()).exists()
