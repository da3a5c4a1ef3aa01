"""Decisions, moves and doubts for a packet."""

from __future__ import annotations

import json
from datetime import datetime

from fleet.ledger.correction import rows_that_stand
from fleet.models import User
from warranty.documents.claim_facts import (
    DecisionFacts,
    DoubtFacts,
    MoveFacts,
    ReasonFacts,
    RemedyFacts,
)
from warranty.models import Claim, ClaimMove, Decision, Remedy
from warranty.rules.decision import fingerprint, read_reasons
from warranty.selectors.doubts import doubts_of
from warranty.selectors.packet.titles import CLAUSE_TITLES


def decision_facts(claim: Claim, *, known_at: datetime) -> tuple[DecisionFacts, ...]:
    """Return every decision on a claim known at a moment, in order; the last counts."""
    rows = (
        Decision.objects.filter(claim=claim, recorded_at__lte=known_at)
        .select_related("edition", "results", "reasons", "decided_by", "seconded_by")
        .order_by("round_no")
    )
    return tuple(_decision_facts(row, known_at) for row in rows)


def _decision_facts(row: Decision, known_at: datetime) -> DecisionFacts:
    remedies = _remedies(row, known_at)
    kept = row.results.body
    return DecisionFacts(
        round_no=row.round_no,
        outcome=row.outcome,
        cause=row.cause,
        approved_cents=row.approved_cents,
        paid_cents=sum(each.total_cents for each in remedies),
        currency=row.currency,
        noticed_on=row.noticed_on,
        standing=row.standing,
        edition_code=row.edition.code,
        rule_version=row.rule_version,
        results_sha256=fingerprint(kept) if kept else "",
        known_at=row.known_at,
        decided_at=row.recorded_at,
        decided_by=_name(row.decided_by),
        seconded_by=_name(row.seconded_by),
        reasons=_reasons(row),
        remedies=tuple(_remedy_facts(each) for each in remedies),
    )


def _name(user: User | None) -> str:
    return "" if user is None else str(user)


def _reasons(row: Decision) -> tuple[ReasonFacts, ...]:
    if not row.results.body or not row.reasons.body:
        return ()
    given = {each.clause.value: each.reason for each in read_reasons(row.reasons.body)}
    return tuple(
        ReasonFacts(
            number=each["number"],
            title=CLAUSE_TITLES[each["clause"]],
            verdict=each["verdict"],
            because=each["because"],
            reason=given[each["clause"]],
            evidence=tuple(each["evidence"]),
            is_waived=each["waived"],
        )
        for each in json.loads(row.results.body)["clauses"]
        if each["clause"] in given
    )


def _remedies(row: Decision, known_at: datetime) -> tuple[Remedy, ...]:
    rows = Remedy.objects.filter(decision=row, recorded_at__lte=known_at)
    told = rows.select_related("visit", "note", "recorded_by")
    return rows_that_stand(list(told.order_by("done_on", "pk"))).rows


def _remedy_facts(row: Remedy) -> RemedyFacts:
    return RemedyFacts(
        done_on=row.done_on,
        part_cents=row.part_cents,
        labour_cents=row.labour_cents,
        interior_cents=row.interior_cents,
        total_cents=row.total_cents,
        visit_ref=row.visit.ref if row.visit else "",
        note=str(row.note) if row.note else "",
        recorded_by=str(row.recorded_by),
    )


def move_facts(claim: Claim, *, known_at: datetime) -> tuple[MoveFacts, ...]:
    """Return the way a claim went, step by step."""
    rows = ClaimMove.objects.filter(claim=claim, recorded_at__lte=known_at)
    return tuple(
        MoveFacts(
            happened_on=row.happened_on,
            source=row.source,
            target=row.target,
            by=str(row.recorded_by),
            recorded_at=row.recorded_at,
            why=str(row.why) if row.why else "",
        )
        for row in rows.select_related("why", "recorded_by").order_by("pk")
    )


def doubt_facts(roof_id: int, *, known_at: datetime) -> tuple[DoubtFacts, ...]:
    """Return the doubts about a roof's records with their answers, open ones first."""
    return tuple(
        DoubtFacts(
            question=each.doubt.question,
            records=each.doubt.records,
            answer=each.answer.word if each.answer else "",
            why=str(each.answer.why) if each.answer else "",
            answered_by=str(each.answer.recorded_by) if each.answer else "",
            answered_at=each.answer.recorded_at if each.answer else None,
        )
        for each in doubts_of(roof_id, known_at=known_at)
    )
