"""The promise: the claim, the standing clause by clause, and the edition's numbers."""

from __future__ import annotations

from reportlab.platypus import KeepTogether

from warranty.documents import style, wording
from warranty.documents.binder import Binder, Column, add_paragraphs
from warranty.documents.facts import ClauseFacts, DueDateFacts, PacketFacts
from warranty.documents.text import Strong, Words
from warranty.documents.timeline_drawing import timeline_drawing


def add_claim(binder: Binder, facts: PacketFacts) -> None:
    """Add the claim as it was reported, and the way it went."""
    claim = facts.claim
    binder.heading("The claim")
    rows: list[tuple[str, Words]] = [
        ("Reference", claim.reference),
        ("Noticed on (day of loss)", wording.on(claim.noticed_on)),
        ("Reported on", wording.on(claim.reported_on)),
        ("What was reported", claim.description),
        (
            "Place of loss",
            wording.place(
                claim.place_label,
                claim.place_x_m,
                claim.place_y_m,
                missing=wording.NOT_RECORDED,
            ),
        ),
        ("Done at once", claim.done_at_once or wording.NOT_RECORDED),
        ("Estimate", wording.money(claim.estimate_cents, claim.currency)),
        ("Status", wording.readable(claim.status)),
    ]
    binder.facts(rows)
    _add_moves(binder, facts)


def _add_moves(binder: Binder, facts: PacketFacts) -> None:
    if not facts.moves:
        return
    binder.subheading("What became of it")
    columns = (
        Column(title="on", share=0.13),
        Column(title="from", share=0.13),
        Column(title="to", share=0.13),
        Column(title="why", share=0.34),
        Column(title="recorded", share=0.27),
    )
    binder.table(
        columns,
        (
            (
                wording.short_on(move.happened_on),
                wording.readable(move.source),
                wording.readable(move.target),
                move.why or "—",
                f"{move.by}\n{wording.at(move.recorded_at)}",
            )
            for move in facts.moves
        ),
    )


def add_standing(binder: Binder, facts: PacketFacts) -> None:
    """Add the standing on the day of loss: clauses, then the days around it."""
    standing = facts.standing
    binder.heading("Standing on the day of loss")
    binder.remark(
        (
            Strong(wording.standing_sentence(standing.word)),
            (
                " This is what was true as of"
                f" {wording.on(standing.as_of)}, as known at"
                f" {wording.at(standing.known_at)}, by the rules of version"
                f" {standing.rule_version}."
            ),
        )
    )
    binder.facts(
        (
            ("Next inspection due", wording.next_due(standing)),
            (
                "Holds until",
                wording.on(
                    standing.holds_until,
                    missing="nothing in the records changes it later",
                ),
            ),
        )
    )
    binder.subheading("Clause by clause")
    binder.table(_CLAUSE_COLUMNS, (_clause_row(c) for c in standing.clauses))
    _add_timeline(binder, facts)
    _add_due_dates(binder, facts)


_CLAUSE_COLUMNS = (
    Column(title="clause", share=0.08),
    Column(title="result", share=0.13),
    Column(title="because", share=0.32),
    Column(title="what would cure it", share=0.19),
    Column(title="records relied on", share=0.15),
    Column(title="holds until", share=0.13),
)


def _clause_row(clause: ClauseFacts) -> tuple[Words, ...]:
    verdict = wording.verdict_word(clause.verdict, is_waived=clause.is_waived)
    return (
        clause.number,
        verdict if clause.verdict == "MET" else Strong(verdict),
        (Strong(clause.title), "\n", clause.because),
        clause.cure or "—",
        ", ".join(clause.evidence) or "—",
        wording.short_on(clause.holds_until),
    )


def _add_timeline(binder: Binder, facts: PacketFacts) -> None:
    if not facts.timeline:
        return
    binder.subheading("The standing through time")
    drawing = timeline_drawing(
        facts.timeline,
        loss_on=facts.claim.noticed_on,
        width_pt=style.TEXT_WIDTH,
        due_dates=facts.due_dates,
    )
    binder.story.append(KeepTogether([drawing]))
    binder.note(
        "The taller the bar, the more the promise is worth. Triangles are inspection"
        " due dates: filled where kept, open where not."
    )
    columns = (
        Column(title="from", share=0.2),
        Column(title="until", share=0.2),
        Column(title="standing", share=0.6),
    )
    binder.table(
        columns,
        (
            (
                wording.short_on(segment.from_on),
                wording.short_on(segment.until_on),
                wording.standing_word(segment.word),
            )
            for segment in facts.timeline
        ),
    )


def _add_due_dates(binder: Binder, facts: PacketFacts) -> None:
    if not facts.due_dates:
        return
    binder.subheading("Inspection due dates")
    columns = (
        Column(title="due", share=0.16),
        Column(title="window opens", share=0.18),
        Column(title="grace ends", share=0.16),
        Column(title="kept or missed", share=0.5),
    )
    binder.table(columns, (_due_row(due) for due in facts.due_dates))


def _due_row(due: DueDateFacts) -> tuple[Words, ...]:
    outcome: Words = "open"
    if due.satisfied_on is not None:
        outcome = f"kept on {wording.short_on(due.satisfied_on)} ({due.satisfied_by})"
    elif due.is_missed:
        outcome = Strong("missed")
    return (
        wording.short_on(due.due_on),
        wording.short_on(due.window_opens_on),
        wording.short_on(due.grace_ends_on),
        outcome,
    )


def add_edition(binder: Binder, facts: PacketFacts) -> None:
    """Add the edition that governs this roof: its numbers, then its words."""
    edition = facts.edition
    term = edition.term_months
    binder.heading("The edition of the promise")
    binder.facts(
        (
            ("Edition", (Strong(edition.code), f"  {edition.title}")),
            ("For", wording.readable(edition.owner_kind)),
            ("Inspections counted from", wording.readable(edition.anchor)),
            ("Interval", f"{edition.interval_months} months"),
            ("Window before the due date", f"{edition.window_days} days"),
            ("Grace after the due date", f"{edition.grace_days} days"),
            ("Reinstatement after grace", f"{edition.reinstatement_days} days"),
            ("Registration after completion", f"{edition.registration_days} days"),
            ("Cure of a serious finding", f"{edition.serious_cure_days} days"),
            (
                "Term",
                "the life of this coach" if term is None else f"{term} months",
            ),
        )
    )
    for part in edition.text:
        binder.subheading(part.title)
        add_paragraphs(binder, part.text)
