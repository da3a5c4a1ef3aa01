"""Claims decided, remedied, closed, withdrawn and reopened, and their clock."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from fleet.actions.errors import InvalidValue
from fleet.actions.readings import climate_reading
from fleet.actions.roofs import record
from fleet.errors import RecordConflict
from fleet.selectors.verification import verify_ledgers
from tests.builders import (
    COMPLETED,
    NOON,
    RECORDED,
    TODAY,
    make_claim,
    make_installation,
    make_installed_roof,
    make_promised_roof,
    make_user,
    office,
)
from warranty.actions import claim_moves, decisions, errors, remedies
from warranty.actions.remedies import Cost
from warranty.models import Claim, ClaimMove, Decision, Proposal, Remedy
from warranty.rules.cause import Cause
from warranty.rules.clause import Clause, Standing
from warranty.rules.decision import Answer, Outcome, Reason
from warranty.selectors.decisions import grounds_of, letter_of, replay

pytestmark = pytest.mark.django_db
LATER = NOON + timedelta(days=1)


def every_clause(claim: Claim, reason: str = "In order.") -> tuple[Reason, ...]:
    """Cite every clause of the claim's edition."""
    found = grounds_of(claim, known_at=NOON)
    return tuple(
        Reason(clause=each.clause, reason=reason)
        for each in found.answer.explanation.results
    )


def approval(claim: Claim, **over) -> Answer:
    fields = {
        "outcome": Outcome.APPROVED,
        "reasons": every_clause(claim),
        "approved_cents": 42_000,
        "cause": Cause.DETAIL,
        **over,
    }
    return Answer(**fields)


def declined(clause: Clause = Clause.REGISTERED) -> Answer:
    reason = Reason(clause=clause, reason="Nobody registered the roof.")
    return Answer(outcome=Outcome.DECLINED, reasons=(reason,), approved_cents=0)


def decided(claim: Claim, **over) -> Decision:
    given = decisions.decide_claim(
        claim=claim, answer=approval(claim, **over), by=office(), now=NOON
    )
    assert isinstance(given, Decision)
    return given


def remedy(claim: Claim, cents: int, **over) -> Remedy:
    fields = {
        "cost": Cost(labour_cents=cents),
        "done_on": TODAY,
        "by": office(),
        "now": NOON,
        **over,
    }
    return remedies.record_remedy(claim=claim, **fields)


def status_of(claim: Claim) -> str:
    return Claim.objects.get(pk=claim.pk).status


@pytest.fixture
def claim() -> Claim:
    return make_claim(make_promised_roof())


@pytest.fixture
def unregistered_claim() -> Claim:
    """A leak three months on, on a roof that nobody registered."""
    day = COMPLETED + timedelta(days=100)
    at = NOON + timedelta(days=100)
    roof = make_promised_roof(registered_on=None)
    return make_claim(roof, noticed_on=day, reported_on=day, now=at)


class TestDecideClaim:
    def test_keeps_the_standing_of_the_day_it_was_noticed(self, claim):
        decision = decided(claim)

        assert decision.standing == Standing.IN_FORCE
        assert decision.noticed_on == claim.noticed_on
        assert decision.verdicts == "MM-MMMMMM-MM"
        assert status_of(claim) == "DECIDED"

    def test_is_an_entry_of_the_roofs_ledger_with_the_move(self, claim):
        decided(claim)

        move = ClaimMove.objects.get(claim=claim)
        assert (move.source, move.target) == ("REPORTED", "DECIDED")
        assert verify_ledgers().faults == []

    def test_a_second_one_is_told_that_the_claim_moved_on(self, claim):
        decided(claim)

        with pytest.raises(errors.ClaimMovedOn, match="decided by now"):
            decisions.decide_claim(
                claim=claim, answer=approval(claim), by=make_user(), now=NOON
            )
        assert Decision.objects.count() == 1

    def test_refuses_to_rest_on_a_clause_that_is_unknown(self):
        roof = make_promised_roof(registered_on=None)
        claim = make_claim(roof)

        with pytest.raises(errors.DecisionNotCarried, match="not known on that day"):
            decisions.decide_claim(
                claim=claim, answer=declined(), by=office(), now=NOON
            )
        assert status_of(claim) == "REPORTED"

    def test_refuses_what_was_looked_at_before_the_records_changed(self, claim):
        seen = grounds_of(claim, known_at=NOON).seen
        cold = climate_reading(
            taken_at=NOON.replace(month=5, day=5),
            air=Decimal(5),
            surface=Decimal(5),
            rh_pct=Decimal(50),
            temperature_unit="C",
        )
        record(roof=claim.roof, kind="climate", facts=[cold], by=office(), now=NOON)

        with pytest.raises(errors.RecordsChanged):
            decisions.decide_claim(
                claim=claim, answer=declined(), by=office(), now=NOON, seen=seen
            )

    def test_a_roof_without_terms_has_no_clause_to_cite(self):
        claim = make_claim(make_installed_roof(laid=make_installation()))

        with pytest.raises(errors.NoPromise):
            decisions.decide_claim(
                claim=claim, answer=declined(), by=office(), now=NOON
            )

    def test_refuses_a_reason_that_calls_itself_final(self, claim):
        reasons = every_clause(claim, "This is our final word.")

        with pytest.raises(errors.DecisionNotCarried, match="final"):
            decided(claim, reasons=reasons)

    def test_takes_the_answer_due_date_away(self, claim):
        assert Claim.objects.get(pk=claim.pk).answer_due_on is not None

        decided(claim)

        assert Claim.objects.get(pk=claim.pk).answer_due_on is None


class TestSecondPerson:
    @pytest.fixture(autouse=True)
    def limit(self, settings):
        settings.SECOND_APPROVAL_CENTS = 50_000

    def propose(self, claim) -> Proposal:
        given = decisions.decide_claim(
            claim=claim,
            answer=approval(claim, approved_cents=50_001),
            by=office(),
            now=NOON,
        )
        assert isinstance(given, Proposal)
        return given

    def test_at_the_limit_one_person_decides(self, claim):
        decided(claim, approved_cents=50_000)

        assert status_of(claim) == "DECIDED"

    def test_above_it_the_claim_waits_for_another_person(self, claim):
        self.propose(claim)

        assert status_of(claim) == "REPORTED"
        assert not Decision.objects.exists()

    def test_the_second_person_decides_what_the_first_proposed(self, claim):
        proposed, second = self.propose(claim), make_user()

        decision = decisions.second_decision(claim=claim, by=second, now=LATER)

        assert decision.decided_by == proposed.recorded_by
        assert decision.seconded_by == second
        assert decision.approved_cents == 50_001
        assert status_of(claim) == "DECIDED"
        assert verify_ledgers().faults == []

    def test_the_first_person_is_no_second(self, claim):
        self.propose(claim)

        with pytest.raises(errors.SamePerson):
            decisions.second_decision(claim=claim, by=office(), now=LATER)

    def test_without_a_proposal_there_is_nothing_to_second(self, claim):
        with pytest.raises(errors.NothingProposed):
            decisions.second_decision(claim=claim, by=make_user(), now=LATER)

    def test_a_proposal_of_an_earlier_round_is_spent(self, claim):
        self.propose(claim)
        decisions.second_decision(claim=claim, by=make_user(), now=LATER)
        claim_moves.reopen_claim(claim=claim, by=office(), now=LATER, why="An invoice.")

        with pytest.raises(errors.NothingProposed):
            decisions.second_decision(claim=claim, by=make_user(), now=LATER)


class TestRemedies:
    def test_pays_up_to_what_was_approved(self, claim):
        decided(claim)

        remedy(claim, 42_000)

        assert status_of(claim) == "REMEDIED"

    def test_refuses_a_cent_more(self, claim):
        decided(claim)
        remedy(claim, 42_000)

        with pytest.raises(errors.MoreThanApproved, match=r"USD 420\.01"):
            remedy(claim, 1)

    def test_the_database_refuses_it_too(self, claim):
        decided(claim)
        first = remedy(claim, 42_000)
        first.pk, first.uuid = None, "0b7f4f4e-6f6f-4b63-8f5a-0f0f0f0f0f0f"
        first.labour_cents = 1

        with (
            pytest.raises(IntegrityError, match="more than was approved"),
            transaction.atomic(),
        ):
            first.save(force_insert=True)

    def test_a_corrected_cost_frees_what_it_no_longer_takes(self, claim):
        decided(claim)
        slip = remedy(claim, 42_000)

        remedy(claim, 4_200, supersedes=slip.uuid)
        remedy(claim, 37_800)

        assert verify_ledgers().faults == []

    def test_sent_twice_it_is_one(self, claim):
        decided(claim)
        first = remedy(claim, 30_000)

        again = remedy(claim, 30_000, uuid=first.uuid)

        assert again.pk == first.pk
        assert Remedy.objects.count() == 1

    def test_another_cost_under_the_same_id_is_a_conflict(self, claim):
        decided(claim)
        first = remedy(claim, 30_000)

        with pytest.raises(RecordConflict):
            remedy(claim, 3_000, uuid=first.uuid)

    def test_an_undecided_claim_takes_none(self, claim):
        with pytest.raises(errors.ClaimMovedOn):
            remedy(claim, 1)

    def test_a_declined_claim_takes_none(self, unregistered_claim):
        at = NOON + timedelta(days=100)
        decisions.decide_claim(
            claim=unregistered_claim, answer=declined(), by=office(), now=at
        )

        with pytest.raises(errors.MoreThanApproved, match="declined"):
            remedy(unregistered_claim, 0, now=at, done_on=unregistered_claim.noticed_on)

    @pytest.mark.parametrize("days", [-1, 1])
    def test_lies_between_the_loss_and_today(self, claim, days):
        decided(claim)

        with pytest.raises(InvalidValue, match="A remedy lies between"):
            remedy(claim, 1, done_on=TODAY + timedelta(days=days))


class TestMoves:
    def test_from_the_report_to_closed(self, claim):
        decided(claim)
        remedy(claim, 100)
        claim_moves.close_claim(claim=claim, by=office(), now=NOON)

        moves = ClaimMove.objects.filter(claim=claim).order_by("pk")
        assert [each.move for each in moves] == ["DECIDE", "REMEDY", "CLOSE"]
        assert status_of(claim) == "CLOSED"

    def test_reopened_it_is_decided_anew_and_the_first_decision_stays(self, claim):
        first = decided(claim)
        claim_moves.reopen_claim(claim=claim, by=office(), now=LATER, why="An invoice.")

        second = decided(claim, approved_cents=50_000)

        assert (first.round_no, second.round_no) == (1, 2)
        assert Decision.objects.count() == 2

    def test_a_withdrawn_claim_is_not_decided(self, claim):
        claim_moves.withdraw_claim(
            claim=claim, by=office(), now=NOON, why="The owner fixed it."
        )

        with pytest.raises(errors.ClaimMovedOn, match="withdrawn"):
            decided(claim)

    @pytest.mark.parametrize("name", ["withdraw_claim", "reopen_claim"])
    def test_needs_a_reason(self, claim, name):
        with pytest.raises(InvalidValue, match="Say"):
            getattr(claim_moves, name)(claim=claim, by=office(), now=NOON, why=" ")

    def test_a_decided_claim_is_not_withdrawn(self, claim):
        decided(claim)

        with pytest.raises(errors.ClaimMovedOn):
            claim_moves.withdraw_claim(claim=claim, by=office(), now=NOON, why="So.")


class TestClock:
    def test_runs_ten_business_days_from_the_report(self, claim):
        # Monday 1 June 2026: ten business days later is Monday the 15th.
        due_on = Claim.objects.get(pk=claim.pk).answer_due_on
        assert due_on == TODAY + timedelta(days=14)

    def test_stands_while_we_wait_and_runs_on_after(self, claim):
        args = {"claim": claim, "by": office()}
        stopped = claim_moves.wait_for_owner(now=NOON, why="The invoice.", **args)
        assert stopped.answer_due_on is None

        resumed = claim_moves.resume_claim(now=NOON + timedelta(days=7), **args)

        # Of the four business days from the 2nd to the 5th none counted.
        assert resumed.answer_due_on == TODAY + timedelta(days=18)

    def test_does_not_stop_twice(self, claim):
        args = {"claim": claim, "by": office(), "now": NOON, "why": "The invoice."}
        claim_moves.wait_for_owner(**args)

        with pytest.raises(errors.ClockNotSo):
            claim_moves.wait_for_owner(**args)

    def test_starts_anew_when_the_claim_is_reopened(self, claim):
        decided(claim)
        at = NOON + timedelta(days=28)
        claim_moves.reopen_claim(claim=claim, by=office(), now=at, why="An invoice.")

        due_on = Claim.objects.get(pk=claim.pk).answer_due_on
        assert due_on == TODAY + timedelta(days=28 + 14)


class TestReplay:
    def test_a_stored_decision_replays_byte_equal(self, claim):
        decision = decided(claim)

        again = replay(Decision.objects.get(pk=decision.pk))

        assert again.is_same
        assert again.from_records

    def test_what_is_recorded_later_does_not_change_it(self, claim):
        decision = decided(claim)
        reading = climate_reading(
            taken_at=RECORDED.replace(day=5),
            air=Decimal(2),
            surface=Decimal(2),
            rh_pct=Decimal(50),
            temperature_unit="C",
        )
        record(roof=claim.roof, kind="climate", facts=[reading], by=office(), now=LATER)

        again = replay(Decision.objects.get(pk=decision.pk))

        assert again.is_same
        assert again.from_records


class TestLetter:
    def test_names_the_clause_and_what_would_cure_it(self, unregistered_claim):
        at = NOON + timedelta(days=100)
        decision = decisions.decide_claim(
            claim=unregistered_claim, answer=declined(), by=office(), now=at
        )

        told = letter_of(decision).text

        assert "Nobody registered the roof." in told
        assert "The time has passed: only the office can waive this clause." in told
        assert "final" not in told.lower()
