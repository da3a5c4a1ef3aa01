"""The records: every visit, and the ledger that binds them."""

from __future__ import annotations

from warranty.documents import style, wording
from warranty.documents.binder import Binder, Column
from warranty.documents.facts import (
    FindingFacts,
    LedgerEntryFacts,
    PacketFacts,
    VisitFacts,
)
from warranty.documents.text import Strong, Words


def add_visits(binder: Binder, facts: PacketFacts) -> None:
    """Add the visits in order, their findings, and what cured what."""
    binder.heading("Visits")
    last = facts.last_inspection
    if last is not None:
        binder.remark(
            (
                Strong("Last inspection at the place of loss: "),
                (
                    f"{last.visit_ref}, {wording.on(last.happened_on)},"
                    f" {last.technician}, {wording.readable(last.result)}. "
                    f"{last.found or 'Nothing is recorded at that place.'}"
                ),
            )
        )
    if not facts.visits:
        binder.body("No visits are recorded.")
        return
    binder.table(_VISIT_COLUMNS, (_visit_row(visit) for visit in facts.visits))


_VISIT_COLUMNS = (
    Column(title="visit", share=0.095),
    Column(title="date", share=0.12),
    Column(title="kind", share=0.125),
    Column(title="technician", share=0.125),
    Column(title="result", share=0.08),
    Column(title="findings, and what cured them", share=0.22),
    Column(title="recorded", share=0.245),
)


def _visit_row(visit: VisitFacts) -> tuple[Words, ...]:
    lines = [_finding_words(finding) for finding in visit.findings]
    if visit.cures:
        lines.append(f"Cures the findings of {', '.join(visit.cures)}.")
    return (
        Strong(visit.ref),
        wording.short_on(visit.happened_on),
        wording.readable(visit.kind),
        visit.technician,
        wording.readable(visit.result),
        "\n".join(lines) or "—",
        f"{visit.recorded_by}\n{wording.at(visit.recorded_at)}",
    )


def _finding_words(finding: FindingFacts) -> str:
    place = wording.place(finding.place_label, finding.x_m, finding.y_m, missing="")
    where = f" at {place}" if place else ""
    cured = ""
    if finding.cured_by:
        day = wording.short_on(finding.cured_on, missing="date not recorded")
        cured = f" Cured by {finding.cured_by}, {day}."
    severity = wording.readable(finding.severity).capitalize()
    return f"{severity}{where}: {finding.text or 'no words recorded'}.{cured}"


def add_ledger(binder: Binder, facts: PacketFacts) -> None:
    """Add the ledger's head and its entries."""
    ledger = facts.ledger
    binder.heading("Ledger")
    binder.remark(
        (
            f"The roof's ledger ends at entry {ledger.head_seq}. ",
            ledger.check,
            "\nHead hash:",
        )
    )
    binder.body(ledger.head_hash, style.HASH)
    if not ledger.entries:
        binder.body("No entries are listed.")
        return
    columns = (
        Column(title="entry", share=0.07),
        Column(title="kind", share=0.16),
        Column(title="recorded", share=0.26),
        Column(
            title="payload hash, then entry hash", share=0.51, style=style.CELL_MONO
        ),
    )
    binder.table(columns, (_entry_row(entry) for entry in ledger.entries))


def _entry_row(entry: LedgerEntryFacts) -> tuple[Words, ...]:
    return (
        str(entry.seq),
        wording.readable(entry.kind),
        f"{wording.at(entry.recorded_at)}\n{entry.by}",
        f"{entry.payload_hash}\n{entry.entry_hash}",
    )
