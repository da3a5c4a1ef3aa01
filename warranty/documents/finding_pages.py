"""Findings: a letter each, a pennant on the plan, a row in the list."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from warranty.documents import wording
from warranty.documents.binder import Binder, Column
from warranty.documents.facts import FindingFacts, PenetrationFacts, VisitFacts
from warranty.documents.plan_drawing import Pennant
from warranty.documents.text import Strong, Words

_LETTERS = 26


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedFinding:
    """One finding with its letter, its visit, and where on the plan it stands."""

    letter: str
    visit: VisitFacts
    finding: FindingFacts
    at_m: tuple[float, float] | None  # None: no place on the plan is known


def letter_of(order: int) -> str:
    """Return the letter of the nth finding from 0: A ... Z, AA, AB ..."""
    first, last = divmod(order, _LETTERS)
    return (letter_of(first - 1) if first else "") + chr(ord("A") + last)


def findings_placed(
    visits: Iterable[VisitFacts], penetrations: tuple[PenetrationFacts, ...]
) -> tuple[PlacedFinding, ...]:
    """Return the findings of these visits: at their own place, or their penetration."""
    centres = {each.label: (each.x_m, each.y_m) for each in penetrations}
    found = [(visit, each) for visit in visits for each in visit.findings]
    return tuple(
        PlacedFinding(
            letter=letter_of(order),
            visit=visit,
            finding=each,
            at_m=(each.x_m, each.y_m)
            if each.x_m is not None and each.y_m is not None
            else centres.get(each.place_label),
        )
        for order, (visit, each) in enumerate(found)
    )


def pennants_of(placed: Iterable[PlacedFinding]) -> tuple[Pennant, ...]:
    """Return what the plan draws of them."""
    return tuple(
        Pennant(
            letter=each.letter,
            x_m=each.at_m[0],
            y_m=each.at_m[1],
            is_cured=each.finding.is_cured,
        )
        for each in placed
        if each.at_m is not None
    )


_COLUMNS = (
    Column(title="no.", share=0.06),
    Column(title="found", share=0.16),
    Column(title="severity", share=0.11),
    Column(title="where", share=0.22),
    Column(title="what was found", share=0.27),
    Column(title="cured", share=0.18),
)


def add_findings(binder: Binder, placed: tuple[PlacedFinding, ...]) -> None:
    """Add the list of findings, letter by letter."""
    binder.subheading("Findings")
    if not placed:
        binder.body("No findings are recorded.")
        return
    binder.table(_COLUMNS, (_row(each) for each in placed))


def _row(placed: PlacedFinding) -> tuple[Words, ...]:
    finding = placed.finding
    where = wording.place(finding.place_label, finding.x_m, finding.y_m)
    if placed.at_m is None:
        where = f"{where}\nnot drawn: its place on the plan is not recorded"
    cured: Words = Strong("open")
    if finding.is_cured:
        day = wording.short_on(finding.cured_on, missing=wording.NOT_RECORDED)
        cured = f"{day}\n{finding.cured_by}"
    return (
        Strong(placed.letter),
        f"{wording.short_on(placed.visit.happened_on)}\n{placed.visit.ref}",
        wording.readable(finding.severity),
        where,
        finding.text or "no words recorded",
        cured,
    )
