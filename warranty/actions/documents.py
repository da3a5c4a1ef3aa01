"""Keep rendered documents: bytes by hash, a row, and an entry in the ledger."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from fleet.actions.recording import recording
from fleet.models import User
from warranty.models import Claim, Document


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
    return document
