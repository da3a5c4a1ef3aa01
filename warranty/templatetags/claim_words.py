"""How claims are worded on pages."""

from __future__ import annotations

from django import template

from warranty.models import Decision, Proposal
from warranty.rules.claim import ClaimStatus
from warranty.rules.decision import Outcome, Reason, read_reasons
from warranty.selectors.packet.facts import CLAUSE_TITLES

register = template.Library()

_STATUS = {
    ClaimStatus.REPORTED.value: "waiting for an answer",
    ClaimStatus.DECIDED.value: "decided",
    ClaimStatus.REMEDIED.value: "remedied",
    ClaimStatus.CLOSED.value: "closed",
    ClaimStatus.WITHDRAWN.value: "withdrawn",
}
_DO = {
    Outcome.APPROVED.value: "approve",
    Outcome.IN_PART.value: "approve in part",
    Outcome.DECLINED.value: "decline",
}
_DONE = {
    Outcome.APPROVED.value: "approved",
    Outcome.IN_PART.value: "approved in part",
    Outcome.DECLINED.value: "declined",
}


@register.filter
def claim_word(status: str) -> str:
    """Return where a claim stands, in words."""
    return _STATUS[status]


@register.filter
def outcome_word(outcome: str) -> str:
    """Return an outcome as something to do."""
    return _DO[outcome]


@register.filter
def outcome_told(outcome: str) -> str:
    """Return an outcome as something done."""
    return _DONE[outcome]


@register.filter
def clause_title(clause: str) -> str:
    """Return what a clause is called."""
    return CLAUSE_TITLES[clause]


@register.filter
def reasons_of(row: Proposal | Decision) -> tuple[Reason, ...]:
    """Return the clauses that an answer cites; none once its texts are erased."""
    return read_reasons(row.reasons.body) if row.reasons.body else ()
