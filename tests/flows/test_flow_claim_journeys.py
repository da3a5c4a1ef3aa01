"""Claims from the report to closed, all of it through HTTP.

The edition counts from the anniversary of 3 June 2024: due on 3 June each year, 30 days
of grace until 3 July, 90 days of reinstatement; dates are reckoned by hand.
"""

from __future__ import annotations

import pytest

from tests.api import records
from tests.flows.claims_through_http import Program, Register

pytestmark = [pytest.mark.slow, pytest.mark.django_db]


def test_covered():
    register = Register()
    claim = register.claim("2025-05-01")
    assert register.standing(claim) == "IN_FORCE"

    register.decide(claim, "APPROVED", 60_000)
    assert "We approve the claim, up to USD 600.00." in register.letter(claim)

    remedy = {"done_on": "2025-05-09", "part_cents": 12_000, "labour_cents": 48_000}
    register.office.post(f"{claim}/remedies", **remedy)
    refused = register.office.post(
        f"{claim}/remedies", status=409, done_on="2025-05-10", interior_cents=1
    )
    assert refused["code"] == "more-than-approved"
    register.office.post(f"{claim}/close", status=200)
    assert register.status(claim) == "CLOSED"


def test_declined_in_a_gap_even_after_reinstatement():
    register = Register()
    # 3 July 2025 is the last day of grace.
    in_grace = register.claim("2025-07-03")
    in_gap = register.claim("2025-07-04")
    register.inspect("2025-08-01", kind="REINSTATEMENT")
    after = register.claim("2025-08-01")

    assert register.standing(in_grace) == "AT_RISK"
    assert register.standing(in_gap) == "SUSPENDED"
    assert register.standing(after) == "IN_FORCE"

    refused = register.decide(in_gap, "APPROVED", 60_000, status=409)
    assert refused["code"] == "decision-not-carried"
    assert "inspections" in refused["detail"]
    register.decide(in_gap, "DECLINED", 0, only="inspections")
    letter = register.letter(in_gap)
    assert "was suspended" in letter
    assert "Pass a reinstatement inspection on or before 2025-10-01." in letter


def test_in_part():
    register = Register()
    claim = register.claim("2025-07-10")

    register.decide(claim, "IN_PART", 20_000)

    assert "We approve the claim in part, up to USD 200.00." in register.letter(claim)
    assert register.status(claim) == "DECIDED"


def test_a_clause_that_is_unknown_carries_nothing():
    register = Register(registered_on="")
    claim = register.claim("2024-06-20")
    evidence = register.office.get(f"{claim}/evidence")["evidence"]
    missing = [e for e in evidence if e["clause"] == "registered"]
    assert missing[0]["is_there"] is False

    refused = register.decide(claim, "DECLINED", 0, only="registered", status=409)

    assert refused["code"] == "decision-not-carried"
    assert register.status(claim) == "REPORTED"


def test_at_the_transfer_edge():
    register = Register()
    buyer = records.owner("A. Private Person", kind="private")
    # The day before the sale the fleet holds it; on the day a private person does,
    # whom a promise made to rental fleets does not cover.
    before = register.claim("2025-05-31")
    records.sell(register.coach, buyer, records.person())
    on_the_day = register.claim("2025-06-01", by=register.office)

    assert register.standing(before) == "IN_FORCE"
    assert register.clauses(on_the_day)["holder"]["verdict"] == "NOT_MET"
    register.decide(before, "APPROVED", 30_000)
    register.decide(on_the_day, "DECLINED", 0, only="holder")

    # Each sees their own: the former holder keeps the earlier claim alone.
    assert register.status(before) == "DECIDED"
    register.manager.get(on_the_day, status=404)
    new_holder = Program(records.manager_of(buyer))
    new_holder.get(before, status=404)
    new_holder.get(f"{before}/decision", status=404)
    assert new_holder.get(on_the_day)["status"] == "DECIDED"


def test_retired_coach():
    register = Register()
    last_day = register.claim("2025-05-14")
    register.office.post(
        f"coaches/{register.coach.uuid}/retire", retired_on="2025-05-15"
    )
    retired = register.claim("2025-05-15", by=register.office)

    assert register.standing(last_day) == "IN_FORCE"
    assert register.standing(retired) == "ENDED"
    register.decide(retired, "DECLINED", 0, only="coach")
    assert "Nothing cures this" in register.letter(retired)


def test_waiver_of_the_office_counts_for_a_loss_once_a_second_person_says_so():
    register = Register(registered_on="")
    claim = register.claim("2025-05-01")
    waiver = register.office.post(
        "waivers",
        roof=register.roof,
        clause="registered",
        from_on="2024-06-03",
        why="The card was lost in the post.",
    )
    assert register.clauses(claim)["registered"]["verdict"] == "NOT_MET"

    second = Program(records.person())
    second.post(f"waivers/{waiver['uuid']}/second")

    clause = register.clauses(claim)["registered"]
    assert (clause["verdict"], clause["waived"]) == ("MET", True)
    register.decide(claim, "APPROVED", 10_000)
    letter = register.letter(claim)
    assert "The office has waived this clause." in letter
    assert "lost in the post" not in letter


def test_withdrawn_and_reopened():
    register = Register()
    claim = register.claim("2025-05-01")

    register.manager.post(f"{claim}/withdraw", status=200, why="It was a window.")
    told = register.decide(claim, "APPROVED", 1, status=409)
    assert told["code"] == "claim-moved-on"
    register.office.post(f"{claim}/reopen", status=200, why="It drips again.")
    register.decide(claim, "APPROVED", 1)

    assert register.status(claim) == "DECIDED"


def test_the_clock_stands_while_we_wait_for_the_owner():
    register = Register()
    claim = register.claim("2025-05-01")

    register.office.post(f"{claim}/wait", status=200, why="Photos of the ceiling.")
    clock = register.manager.get(f"{claim}/evidence")["clock"]
    assert clock["waiting_since"] is not None
    again = register.office.post(f"{claim}/wait", status=409, why="Photos.")
    assert again["code"] == "clock-not-so"
    register.office.post(f"{claim}/resume", status=200)

    clock = register.manager.get(f"{claim}/evidence")["clock"]
    assert clock["waiting_since"] is None


def test_a_large_approval_waits_for_a_second_person(settings):
    settings.SECOND_APPROVAL_CENTS = 50_000
    register = Register()
    claim = register.claim("2025-05-01")

    proposed = register.decide(claim, "APPROVED", 50_001, status=202)
    assert proposed["is_proposal"] is True
    register.manager.get(f"{claim}/decision", status=404)
    body = {"proposal": proposed["uuid"]}
    same = register.office.post(f"{claim}/second", status=409, **body)
    assert same["code"] == "same-person"
    second = Program(records.person())
    second.post(f"{claim}/second", **body)

    assert register.status(claim) == "DECIDED"


@pytest.mark.parametrize(
    "last", ["decide", "second", "remedies", "close", "reopen", "wait", "resume"]
)
def test_only_the_office_works_on_a_claim(last):
    register = Register()
    claim = register.claim("2025-05-01")

    register.manager.post(f"{claim}/{last}", status=403)
    register.technician.post(f"{claim}/{last}", status=403)


def test_a_stranger_finds_no_claim():
    register = Register()
    claim = register.claim("2025-05-01")
    stranger = Program(records.manager_of(records.owner("Pelican Van Rental")))

    stranger.get(f"{claim}/evidence", status=404)
    stranger.get(f"{claim}/decision", status=404)
    stranger.post(f"{claim}/withdraw", status=404, why="Mine.")


def test_questions_are_asked_and_answered():
    register = Register()
    claim = register.claim("2025-05-01")
    register.manager.get(f"{claim}/doubts", status=403)

    [asked] = [
        each
        for each in register.technician.get(f"{claim}/doubts")
        if each["sign"] == "WET_ALL_EQUAL"
    ]
    assert asked["question"].endswith("?")
    told = register.office.post(
        f"{claim}/doubts",
        status=200,
        key=asked["key"],
        word="DISMISSED",
        why="One batch, one still day.",
    )

    [answered] = [each for each in told if each["key"] == asked["key"]]
    assert answered["word"] == "DISMISSED"
