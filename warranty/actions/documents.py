"""Keep rendered documents: bytes by hash, a row, and an entry in the ledger."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from fleet.actions.events import Happening, tell
from fleet.actions.recording import recording
from fleet.models import EventKind, Roof, User
from warranty.models import Claim, Document, DocumentKind

# Where the API gives a document of each kind.
_NOUNS = {
    DocumentKind.CLAIM_PACKET: "packets",
    DocumentKind.CERTIFICATE: "certificates",
    DocumentKind.INSPECTION_REPORT: "inspection-reports",
}


def add_packet(
    *,
    claim: Claim,
    packet_id: UUID,
    sha256: str,
    size_bytes: int,
    known_at: datetime,
    by: User,
    now: datetime,
) -> Document:
    """Record a claim packet whose bytes are in the store; the same packet once."""
    with recording(by=by, now=now) as made:
        made.lock([claim.roof_id])
        document, created = Document.objects.get_or_create(
            uuid=packet_id,
            defaults={
                "claim": claim,
                "sha256": sha256,
                "size_bytes": size_bytes,
                "known_at": known_at,
                "rendered_at": now,
            },
        )
        if created:
            kept: dict[str, object] = {
                "type": "document",
                "uuid": str(packet_id),
                "kind": document.kind,
                "claim": str(claim.uuid),
                "sha256": sha256,
            }
            made.note(claim.roof_id, "document", [kept])
            tell([document_happening(document, claim.roof, claim.holder_id)])
    return document


def document_happening(
    document: Document, roof: Roof, owner_id: int | None
) -> Happening:
    """Return what the feed of changes tells of a document, and to whom."""
    return Happening(
        kind=EventKind.DOCUMENT,
        subject=document.uuid,
        coach_id=roof.coach_id,
        roof_id=roof.pk,
        owner_id=owner_id,
        detail=_NOUNS[document.kind],
        at=document.rendered_at,
    )
