"""Which moves a claim may make."""

from __future__ import annotations

import pytest

from warranty.rules.claim import ALLOWED, ClaimStatus, is_allowed


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
