"""What was decided about a claim, and what was asked about its records."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ReasonFacts:
    """One clause a decision cites, as it stood then, and the reason given."""

    number: str
    title: str
    verdict: str  # MET, NOT_MET, UNKNOWN
    because: str
    reason: str
    evidence: tuple[str, ...] = ()
    is_waived: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RemedyFacts:
    """Something done about an approved claim, in integer cents of the decision."""

    done_on: date
    part_cents: int
    labour_cents: int
    interior_cents: int
    total_cents: int
    visit_ref: str = ""
    note: str = ""
    recorded_by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DecisionFacts:
    """One reasoned answer: what, by whom, on what knowledge, and what came of it."""

    round_no: int
    outcome: str
    cause: str
    approved_cents: int
    paid_cents: int
    currency: str
    noticed_on: date
    standing: str
    edition_code: str
    rule_version: str
    results_sha256: str  # of the kept clause results; empty once erased
    known_at: datetime
    decided_at: datetime
    decided_by: str
    seconded_by: str = ""
    reasons: tuple[ReasonFacts, ...] = ()
    remedies: tuple[RemedyFacts, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveFacts:
    """One step of a claim from one status to another."""

    happened_on: date
    source: str
    target: str
    by: str
    recorded_at: datetime
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubtFacts:
    """A question about records, and the last answer to it."""

    question: str
    records: tuple[str, ...] = ()
    answer: str = ""  # ANSWERED or DISMISSED; empty: open
    why: str = ""
    answered_by: str = ""
    answered_at: datetime | None = None
