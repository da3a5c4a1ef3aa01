"""The claim packet: one PDF that says what a roof's promise was worth, and why."""

from __future__ import annotations

from warranty.documents.binder import Binder
from warranty.documents.decision_pages import add_decisions, add_doubts
from warranty.documents.exhibit_pages import add_exhibits
from warranty.documents.facts import PacketFacts
from warranty.documents.opening_pages import add_contents, add_cover, add_glance
from warranty.documents.press import PageNumbers, RunningLines, press
from warranty.documents.promise_pages import add_claim, add_edition, add_standing
from warranty.documents.record_pages import add_ledger, add_visits
from warranty.documents.roof_pages import add_climate, add_film, add_plan, add_roof


def claim_packet_pdf(facts: PacketFacts) -> bytes:
    """Return the claim packet as a PDF file; equal facts give equal bytes.

    Parameters
    ----------
    facts : PacketFacts
        Everything to print, already computed.

    Returns
    -------
    bytes
        A PDF with embedded typefaces, bookmarks and metadata.

    Raises
    ------
    PacketFactsError
        If the roof's outline or a film map cannot be drawn.
    """

    def bind(pages: PageNumbers) -> Binder:
        return _bound(facts, pages)

    return press(bind, _running_lines(facts))


def _bound(facts: PacketFacts, pages: PageNumbers) -> Binder:
    body = Binder()
    add_glance(body, facts)
    add_claim(body, facts)
    add_decisions(body, facts.decisions)
    add_standing(body, facts)
    add_edition(body, facts)
    add_roof(body, facts)
    add_plan(body, facts)
    add_film(body, facts)
    add_climate(body, facts)
    add_visits(body, facts)
    add_exhibits(body, facts.exhibits)
    add_doubts(body, facts.doubts)
    add_ledger(body, facts)
    opening = Binder(long_entries=body.long_entries)
    add_cover(opening, facts)
    body.add_long_entries()
    add_contents(opening, tuple(body.sections), pages)
    opening.story.extend(body.story)
    return opening


def _running_lines(facts: PacketFacts) -> RunningLines:
    return RunningLines(
        title=f"Claim packet {facts.claim.reference}, coach {facts.coach.unit_no}",
        subject=f"Roof {facts.roof.roof_no}, standing as of {facts.standing.as_of}",
        author=facts.company.name,
        head_left=f"Claim {facts.claim.reference}",
        head_right=facts.company.name,
        foot_left=f"Packet {facts.packet_id}",
        generated_at=facts.generated_at,
    )
