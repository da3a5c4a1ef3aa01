"""Builders of inspection report facts, from the packet's invented coach."""

from __future__ import annotations

from datetime import date

from tests.documents.packet_facts import (
    make_climate,
    make_packet_facts,
    make_shown_exhibits,
    make_visits,
)
from warranty.documents.report_facts import (
    CuredFacts,
    FilmReadFacts,
    ReadFacts,
    ReportFacts,
)


def make_report_facts(**over: object) -> ReportFacts:
    """Return the report of a leak call with every kind of record."""
    packet, visit = make_packet_facts(), make_visits(4)[2]
    values: dict[str, object] = {
        "report_id": "RP-2024-0089-1",
        "generated_at": packet.generated_at,
        "company": packet.company,
        "coach": packet.coach,
        "roof_no": packet.roof.roof_no,
        "system": f"{packet.roof.system_code}, {packet.roof.system_title}",
        "visit": visit,
        "note": "Rain stopped at noon; the deck sounds firm around the skylight.",
        "cured": (
            CuredFacts(
                visit_ref="V00088",
                found_on=date(2024, 6, 20),
                finding=visit.findings[1],
            ),
        ),
        "standing": packet.standing,
        "film": (
            FilmReadFacts(
                coat="finish",
                count=15,
                mean_mil=14.2,
                lowest_mil=13.1,
                is_estimated=True,
            ),
        ),
        "climate": make_climate()[:2],
        "reads": (
            ReadFacts(what="deck moisture, pin", value="11.5 %", place="x 5.70 m"),
            ReadFacts(what="adhesion, tape, lattice", value="grade 1"),
        ),
        "penetrations": packet.penetrations,
        "exhibits": make_shown_exhibits(3),
    }
    return ReportFacts(**{**values, **over})  # type: ignore[arg-type]  # fields
