"""Certificate facts for tests; everything in them is made up."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from tests.builders import LAWFUL_TEXT
from tests.documents.packet_facts import make_packet_facts
from warranty.documents.certificate_facts import CertificateFacts, WordingFacts


def make_certificate_facts(**over: object) -> CertificateFacts:
    """Return a certificate of the packet's coach, for the life of the coach."""
    packet = make_packet_facts()
    facts = CertificateFacts(
        number="0123H-ARR0W-1AKE5-R00FS",
        public_url="http://127.0.0.1:8000/certificate/0123H-ARR0W-1AKE5-R00FS",
        is_preview=False,
        issued_on=date(2026, 5, 6),
        known_at=packet.generated_at,
        company=packet.company,
        holder=packet.holder,
        coach=packet.coach,
        roof=packet.roof,
        area_m2=packet.coach.length_m * packet.coach.width_m,
        edition=packet.edition,
        wording=WordingFacts(kind="Limited", life_of="coach", **LAWFUL_TEXT),
        starts_on=date(2026, 5, 5),
        ends_on=None,
        registered_on=date(2026, 5, 10),
        registration_limit_on=date(2026, 6, 4),
        next_due_on=date(2027, 5, 5),
        standing_word="IN_FORCE",
        content_sha256="ab" * 32,
        film=packet.film,
        penetrations=packet.penetrations,
    )
    return replace(facts, **over)
