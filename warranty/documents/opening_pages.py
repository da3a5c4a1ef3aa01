"""The packet's opening: cover, contents, how to read it, and answers at a glance."""

from __future__ import annotations

from collections.abc import Iterator

from reportlab.platypus import PageBreak, Table

from warranty.documents import style, wording
from warranty.documents.binder import BASE_FONT, Binder, Column, Section
from warranty.documents.facts import ClauseFacts, DueDateFacts, PacketFacts
from warranty.documents.press import PageNumbers
from warranty.documents.text import P, Strong, Words

LAW_SENTENCE = (
    "Local law governs the promise and any dispute about it; nothing printed here"
    " takes away a right that the law gives."
)

_CLAUSE_COLUMNS = (
    Column(title="clause", share=0.09),
    Column(title="what it asks", share=0.24),
    Column(title="result", share=0.15),
    Column(title="why", share=0.52),
)


def add_cover(binder: Binder, facts: PacketFacts) -> None:
    """Add the cover: the standing in words first, then every clause."""
    company, claim, coach = facts.company, facts.claim, facts.coach
    binder.remark(Strong(company.name), style.COMPANY)
    contact = (*company.address_lines, company.phone, company.email)
    listed = " · ".join(part for part in contact if part)
    binder.remark(listed, style.NOTE)
    binder.space(12)
    binder.body("Claim packet", style.TITLE)
    names = f"Claim {claim.reference}, coach {coach.unit_no}, roof {facts.roof.roof_no}"
    binder.remark(names, style.SUBTITLE)
    binder.facts(
        (
            ("Prepared for", facts.generated_for),
            ("Prepared at", wording.at(facts.generated_at)),
            ("Holder on the day of loss", facts.holder.name),
            ("Leak noticed", wording.on(claim.noticed_on)),
            ("Reported", wording.on(claim.reported_on)),
        )
    )
    binder.space(8)
    binder.body(wording.standing_sentence(facts.standing.word), style.VERDICT)
    binder.remark(facts.standing.because)
    binder.table(_CLAUSE_COLUMNS, (_clause_row(c) for c in facts.standing.clauses))
    binder.note(LAW_SENTENCE)


def _clause_row(clause: ClauseFacts) -> tuple[Words, ...]:
    verdict = wording.verdict_word(clause.verdict, is_waived=clause.is_waived)
    is_met = clause.verdict == "MET"
    return (
        clause.number,
        clause.title,
        verdict if is_met else Strong(verdict),
        clause.because,
    )


def add_contents(
    binder: Binder, sections: tuple[Section, ...], pages: PageNumbers
) -> None:
    """Add the contents list, each line a link, and how to read the packet."""
    binder.story.append(PageBreak())
    binder.body("Contents", style.VERDICT)
    rows = [
        [
            P(section.title, style.CELL, link=section.key),
            P(str(pages.of(section.key)), style.CELL_RIGHT),
        ]
        for section in sections
    ]
    widths = [style.TEXT_WIDTH * 0.9, style.TEXT_WIDTH * 0.1]
    binder.story.append(Table(rows, colWidths=widths, style=_CONTENTS_RULES))
    binder.space(14)
    binder.body("How to read this packet", style.VERDICT)
    for words in _HOW_TO_READ:
        binder.body(words)


_CONTENTS_RULES = [
    BASE_FONT,
    ("LINEBELOW", (0, 0), (-1, -1), 0.35, style.RULE),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 0),
    ("TOPPADDING", (0, 0), (-1, -1), 4),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 5),
]

_HOW_TO_READ: tuple[Words, ...] = (
    (
        Strong("Two dates. "),
        (
            "A standing is given as of a day (what was true) and as known at a moment"
            " (what had been recorded by then). A record typed in late was known only"
            " from the moment it was recorded."
        ),
    ),
    (
        Strong("Results. "),
        (
            "A clause is met, not met, or not known. Not known never counts as met. A"
            " waived clause says so."
        ),
    ),
    (
        Strong("Estimated. "),
        (
            "A notch gauge reads wet film. A dry film computed from it is called"
            " estimated; it was not measured."
        ),
    ),
    (
        Strong("Units. "),
        (
            "1 mil is 25.4 µm. Positions are metres from the front cap (x) and from the"
            " left gutter (y)."
        ),
    ),
    (
        Strong("Hashes. "),
        (
            "Each entry of the ledger is bound to the one before it by SHA-256. Whoever"
            " holds the head hash can tell whether an entry was changed later."
        ),
    ),
    (
        Strong("Characters shown by code. "),
        (
            "Invisible characters, and those the typefaces of this file lack, are"
            " printed by their code, e.g. <U+202E>. Arabic letters are not joined."
        ),
    ),
    (
        Strong("Law and care. "),
        LAW_SENTENCE + " Data sheets, local codes and licensed trades come first for"
        " any work on a roof.",
    ),
)


def add_glance(binder: Binder, facts: PacketFacts) -> None:
    """Add the one page that answers what a reader asks first."""
    binder.story.append(PageBreak())
    binder.heading("Answers at a glance")
    binder.facts(_answers(facts), share=0.34)


def _answers(facts: PacketFacts) -> Iterator[tuple[str, Words]]:
    standing, claim = facts.standing, facts.claim
    yield (
        "What was the standing on the day of loss?",
        (
            Strong(wording.standing_word(standing.word).capitalize()),
            (
                f", as of {wording.on(standing.as_of)}, as known at"
                f" {wording.at(standing.known_at)}."
            ),
        ),
    )
    yield "Why?", standing.because
    yield "Which clauses were not met, or not known?", _open_clauses(facts)
    yield "Was the inspection due before the loss kept?", due_words(facts)
    yield "When was the leak noticed, and reported?", _reported_words(facts)
    yield "Which lots are on the roof?", lot_words(facts)
    yield "What is the lowest spot, and its limit?", _lowest_spots(facts)
    yield "How near was the dew point?", margin_words(facts)
    yield from _inspection_answers(facts)
    yield (
        "What is claimed?",
        (
            f"{wording.money(claim.estimate_cents, claim.currency)} (estimate); status:"
            f" {wording.readable(claim.status)}."
        ),
    )
    yield (
        "What is the head of the ledger?",
        (
            f"Entry {facts.ledger.head_seq}; its hash is in the section Ledger."
            f" {facts.ledger.check}"
        ),
    )


def _open_clauses(facts: PacketFacts) -> str:
    clauses = [c for c in facts.standing.clauses if c.verdict != "MET"]
    if not clauses:
        return "None: every clause was met."
    return "\n".join(
        f"{c.number} {c.title}: {wording.verdict_word(c.verdict)}" for c in clauses
    )


def _last_due(facts: PacketFacts) -> DueDateFacts | None:
    past = [d for d in facts.due_dates if d.due_on <= facts.claim.noticed_on]
    return max(past, key=lambda d: d.due_on) if past else None


def due_words(facts: PacketFacts) -> str:
    """Return whether the due date before the loss was kept, in a sentence."""
    due = _last_due(facts)
    if due is None:
        return (
            "No inspection was due before the loss. Next due:"
            f" {wording.next_due(facts.standing)}."
        )
    due_on, grace = wording.on(due.due_on), wording.on(due.grace_ends_on)
    if due.satisfied_on is not None:
        return (
            f"Kept: due {due_on}, satisfied on {wording.on(due.satisfied_on)}"
            f" by visit {due.satisfied_by}."
        )
    if due.is_missed:
        return (
            f"Missed: due {due_on}, grace ran out on {grace},"
            " no passing inspection in that time."
        )
    return f"Not kept yet: due {due_on}, in grace until {grace}."


def _reported_words(facts: PacketFacts) -> str:
    claim = facts.claim
    days = (claim.reported_on - claim.noticed_on).days
    return (
        f"Noticed {wording.on(claim.noticed_on)}, reported"
        f" {wording.on(claim.reported_on)}: {days} {'day' if days == 1 else 'days'}."
    )


def lot_words(facts: PacketFacts) -> str:
    """Return coat and lot of every coat, a line each."""
    lines = [
        f"{wording.readable(c.coat)}: {c.lot or 'lot not recorded'}"
        for c in facts.roof.coats
    ]
    return "\n".join(lines) or "No lots recorded."


def _lowest_spots(facts: PacketFacts) -> str:
    lines = []
    for coat in facts.film:
        if coat.lowest_spot_mil is None:
            lines.append(f"{wording.readable(coat.coat)}: no spot recorded")
            continue
        kind = " estimated" if coat.is_estimated else ""
        limit = wording.mil_and_um(coat.spot_min_mil, missing="none")
        lines.append(
            f"{wording.readable(coat.coat)}: {coat.lowest_spot_label},"
            f" {wording.mil_and_um(coat.lowest_spot_mil)}{kind};"
            f" lower spot limit {limit}"
        )
    return "\n".join(lines) or "No film readings recorded."


def margin_words(facts: PacketFacts) -> str:
    """Return the smallest margin over the dew point, in a sentence."""
    known = [c for c in facts.climate if c.margin_c is not None]
    if not known:
        return "No complete climate reading recorded."
    nearest = min(known, key=lambda c: c.margin_c or 0.0)
    limits = facts.climate_limits
    needed = limits.dew_margin_c if limits else None
    asked = f"; {needed:.1f} °C asked" if needed is not None else ""
    return (
        f"Smallest margin of the surface over the dew point:"
        f" {wording.number(nearest.margin_c)} °C at {nearest.taken_at}{asked}."
    )


def _inspection_answers(facts: PacketFacts) -> Iterator[tuple[str, Words]]:
    last = facts.last_inspection
    if last is None:
        yield "What was the last inspection at that place?", "None is recorded."
        return
    yield (
        "What was the last inspection at that place?",
        (
            f"{last.visit_ref}, {wording.on(last.happened_on)}, by {last.technician}:"
            f" {wording.readable(last.result)}. Place: {last.place}."
        ),
    )
    yield "What was found there?", last.found or "Nothing is recorded at that place."
    yield (
        "Who recorded it, and when?",
        f"{last.recorded_by}, {wording.at(last.recorded_at)}.",
    )
