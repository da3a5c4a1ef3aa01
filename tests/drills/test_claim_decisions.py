"""Many people decide one claim at once: one wins, and everybody else is told."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from django.db import connection

from fleet.models import User
from fleet.selectors.verification import verify_ledgers
from tests import services
from tests.builders import NOON, TODAY, make_claim, make_promised_roof, office
from warranty.actions.decisions import decide_claim
from warranty.actions.errors import ClaimMovedOn, MoreThanApproved
from warranty.actions.remedies import Cost, record_remedy
from warranty.models import Claim, ClaimMove, Decision, Remedy
from warranty.rules.decision import Answer, Outcome, Reason
from warranty.selectors.decisions import grounds_of, replay

pytestmark = pytest.mark.slow
DECISIONS = 50
# As in the drill of writers: SQLite gives waiting writers their turn by chance.
TOGETHER = 12 if services.is_suite_on_postgresql() else 4


@pytest.fixture(autouse=True)
def database(shared_database) -> str:
    """Give threads a database that all of them can reach."""
    return shared_database


def at_once(work: Callable[[int], str], *, count: int) -> list[str]:
    """Do numbered work in threads that start together; return what each came to."""
    gate = threading.Barrier(min(count, TOGETHER))

    def act(number: int) -> str:
        if number < gate.parties:
            gate.wait(timeout=30)
        try:
            return work(number)
        finally:
            connection.close()

    with ThreadPoolExecutor(max_workers=gate.parties) as pool:
        return list(pool.map(act, range(count)))


def approval(claim: Claim, cents: int) -> Answer:
    results = grounds_of(claim, known_at=NOON).answer.explanation.results
    return Answer(
        outcome=Outcome.APPROVED,
        reasons=tuple(Reason(clause=r.clause, reason="In order.") for r in results),
        approved_cents=cents,
    )


def test_of_fifty_who_decide_at_once_exactly_one_wins():
    claim, by = make_claim(make_promised_roof()), office()
    people = User.objects.bulk_create(
        User(username=f"decider-{n}", role="OFFICE") for n in range(DECISIONS)
    )
    answers = [approval(claim, 1_000 + n) for n in range(DECISIONS)]

    def decide(number: int) -> str:
        try:
            decide_claim(
                claim=Claim.objects.get(pk=claim.pk),
                answer=answers[number],
                by=people[number],
                now=NOON + timedelta(milliseconds=(number * 37) % DECISIONS),
            )
        except ClaimMovedOn:
            return "told"
        return f"won {number}"

    told = at_once(decide, count=DECISIONS)

    [won] = [each for each in told if each != "told"]
    decision = Decision.objects.get(claim=claim)
    assert won == f"won {decision.approved_cents - 1_000}"
    assert decision.decided_by == people[decision.approved_cents - 1_000]
    assert told.count("told") == DECISIONS - 1
    assert ClaimMove.objects.filter(claim=claim).count() == 1
    claim.refresh_from_db()
    assert (claim.status, claim.version) == ("DECIDED", 2)
    assert replay(decision).is_same
    assert verify_ledgers().faults == []
    assert by.pk


def test_remedies_at_once_never_pay_more_than_was_approved():
    claim = make_claim(make_promised_roof())
    decide_claim(claim=claim, answer=approval(claim, 1_000), by=office(), now=NOON)
    by = office()

    def pay(number: int) -> str:
        try:
            record_remedy(
                claim=Claim.objects.get(pk=claim.pk),
                cost=Cost(labour_cents=300),
                done_on=TODAY,
                by=by,
                now=NOON,
            )
        except MoreThanApproved:
            return "refused"
        return "paid"

    told = at_once(pay, count=TOGETHER * 2)

    assert told.count("paid") == 3
    assert sum(row.total_cents for row in Remedy.objects.all()) == 900
