"""The decision: what was answered and why, what was known, what it cost; the doubts."""

from __future__ import annotations

from collections.abc import Iterator

from warranty.documents import style, wording
from warranty.documents.binder import Binder, Column
from warranty.documents.claim_facts import (
    DecisionFacts,
    DoubtFacts,
    ReasonFacts,
    RemedyFacts,
)
from warranty.documents.text import Mono, Strong, Words

_OPEN_SENTENCE = (
    "An answer rests on what was on record. What comes to light later can open the"
    " claim again."
)


def add_decisions(binder: Binder, decisions: tuple[DecisionFacts, ...]) -> None:
    """Add the decision that counts, then any that came before it."""
    binder.heading("The decision", room_pt=300)
    if not decisions:
        binder.body("Not decided yet: this packet was made before any decision.")
        return
    for order, decision in enumerate(reversed(decisions)):
        if order > 0:
            binder.subheading(f"Decided earlier, round {decision.round_no}")
        _add_decision(binder, decision)
    binder.note(_OPEN_SENTENCE)


def _add_decision(binder: Binder, decision: DecisionFacts) -> None:
    binder.body(wording.outcome_sentence(decision.outcome), style.VERDICT)
    binder.facts(_decision_rows(decision))
    if decision.reasons:
        binder.subheading("Reasons, clause by clause")
        binder.table(_REASON_COLUMNS, (_reason_row(r) for r in decision.reasons))
    else:
        binder.body("The texts of this decision were erased; its figures stay.")
    if decision.outcome != "DECLINED":
        _add_remedies(binder, decision)


def _decision_rows(decision: DecisionFacts) -> Iterator[tuple[str, Words]]:
    yield "Outcome", Strong(wording.readable(decision.outcome))
    yield "What let the water in", wording.cause_words(decision.cause)
    if decision.outcome != "DECLINED":
        yield (
            "Approved, at most",
            wording.money(decision.approved_cents, decision.currency),
        )
    yield (
        "Standing it rests on",
        (
            f"{wording.standing_word(decision.standing)}, as of"
            f" {wording.on(decision.noticed_on)}"
        ),
    )
    yield "What was known", f"all that was recorded by {wording.at(decision.known_at)}"
    yield (
        "Decided by",
        (
            f"{decision.decided_by or wording.NOT_RECORDED},"
            f" {wording.at(decision.decided_at)}"
        ),
    )
    yield (
        "Second approval",
        decision.seconded_by or "none; the amount did not ask for one",
    )
    yield (
        "Edition and rules",
        f"{decision.edition_code}, rules of version {decision.rule_version}",
    )
    yield (
        "Clause results kept, SHA-256",
        Mono(decision.results_sha256) if decision.results_sha256 else "erased",
    )


_REASON_COLUMNS = (
    Column(title="clause", share=0.21),
    Column(title="result", share=0.12),
    Column(title="what the records say", share=0.3),
    Column(title="reason given", share=0.25),
    Column(title="records relied on", share=0.12),
)


def _reason_row(reason: ReasonFacts) -> tuple[Words, ...]:
    verdict = wording.verdict_word(reason.verdict, is_waived=reason.is_waived)
    return (
        (Strong(reason.number), f" {reason.title}"),
        verdict if reason.verdict == "MET" else Strong(verdict),
        reason.because,
        reason.reason,
        ", ".join(reason.evidence) or "—",
    )


def _add_remedies(binder: Binder, decision: DecisionFacts) -> None:
    binder.subheading("Remedies and money")
    if not decision.remedies:
        binder.body("No remedy is recorded yet.")
        return
    columns = (
        Column(title="done on", share=0.12),
        Column(title="what was done", share=0.3),
        Column(title="parts", share=0.14, is_number=True),
        Column(title="labour", share=0.14, is_number=True),
        Column(title="interior", share=0.14, is_number=True),
        Column(title="together", share=0.16, is_number=True),
    )
    rows = [_remedy_row(each, decision.currency) for each in decision.remedies]
    total = wording.money(decision.paid_cents, decision.currency)
    binder.table(columns, [*rows, ("", Strong("paid so far"), "", "", "", total)])
    left = decision.approved_cents - decision.paid_cents
    binder.note(
        f"Approved {wording.money(decision.approved_cents, decision.currency)};"
        f" not used {wording.money(left, decision.currency)}."
    )


def _remedy_row(remedy: RemedyFacts, currency: str) -> tuple[Words, ...]:
    visit = f"visit {remedy.visit_ref}" if remedy.visit_ref else ""
    return (
        wording.short_on(remedy.done_on),
        "\n".join(part for part in (remedy.note, visit) if part) or "—",
        wording.money(remedy.part_cents, currency),
        wording.money(remedy.labour_cents, currency),
        wording.money(remedy.interior_cents, currency),
        wording.money(remedy.total_cents, currency),
    )


def add_doubts(binder: Binder, doubts: tuple[DoubtFacts, ...]) -> None:
    """Add the questions about the records, with what was answered."""
    binder.heading("Questions about the records")
    binder.body(
        "Signs that a record may be too good to be true, asked as questions. A sign is"
        " no verdict, and no clause is judged by it."
    )
    if not doubts:
        binder.body("No such sign was found.")
        return
    columns = (
        Column(title="question", share=0.4),
        Column(title="records", share=0.2),
        Column(title="answer", share=0.4),
    )
    binder.table(columns, (_doubt_row(doubt) for doubt in doubts))


def _doubt_row(doubt: DoubtFacts) -> tuple[Words, ...]:
    answer: Words = Strong("open")
    if doubt.answer:
        moment = wording.at(doubt.answered_at) if doubt.answered_at else ""
        answer = (
            Strong(wording.readable(doubt.answer)),
            f": {doubt.why}\n{doubt.answered_by}, {moment}",
        )
    return doubt.question, ", ".join(doubt.records) or "—", answer
