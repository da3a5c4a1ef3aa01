"""Which moves a claim may make."""

from __future__ import annotations

import pytest

from warranty.rules.claim import ALLOWED, ClaimStatus, Move, is_allowed, moves_from


@pytest.mark.parametrize(
    ("source", "target"),
    [
        (ClaimStatus.REPORTED, ClaimStatus.DECIDED),
        (ClaimStatus.DECIDED, ClaimStatus.REMEDIED),
        (ClaimStatus.REMEDIED, ClaimStatus.CLOSED),
        (ClaimStatus.REPORTED, ClaimStatus.WITHDRAWN),
        (ClaimStatus.CLOSED, ClaimStatus.REPORTED),
    ],
)
def test_a_claim_moves_forward_or_is_reopened(source, target):
    assert is_allowed(source, target)


@pytest.mark.parametrize(
    ("source", "target"),
    [
        (ClaimStatus.REPORTED, ClaimStatus.REMEDIED),
        (ClaimStatus.WITHDRAWN, ClaimStatus.DECIDED),
        (ClaimStatus.CLOSED, ClaimStatus.DECIDED),
    ],
)
def test_a_claim_skips_no_decision(source, target):
    assert not is_allowed(source, target)


def test_every_status_has_its_moves_and_none_leads_to_itself():
    assert set(ALLOWED) == set(ClaimStatus)
    assert not any(is_allowed(status, status) for status in ClaimStatus)


def test_a_remedied_claim_takes_another_remedy_and_is_then_closed_or_reopened():
    assert moves_from(ClaimStatus.REMEDIED) == (Move.REMEDY, Move.CLOSE, Move.REOPEN)


def test_a_reported_claim_is_decided_or_withdrawn():
    assert moves_from(ClaimStatus.REPORTED) == (Move.DECIDE, Move.WITHDRAW)


def test_the_statuses_allowed_are_those_of_the_table_of_moves():
    """The same table as before it was told by moves, written out once more."""
    s = ClaimStatus
    assert {source: set(targets) for source, targets in ALLOWED.items()} == {
        s.REPORTED: {s.DECIDED, s.WITHDRAWN},
        s.DECIDED: {s.REMEDIED, s.CLOSED, s.REPORTED},
        s.REMEDIED: {s.CLOSED, s.REPORTED},
        s.CLOSED: {s.REPORTED},
        s.WITHDRAWN: {s.REPORTED},
    }
