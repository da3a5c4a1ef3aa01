"""Keep rendered documents: bytes by hash, a row, and an entry in the ledger."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from fleet.actions.recording import recording
from fleet.models import User, Visit
from warranty.models import Claim, Document, DocumentKind


@dataclass(frozen=True, slots=True, kw_only=True)
class PacketBytes:
    """A signed packet in the store: its bytes, its pages, its certificate, by hash."""

    sha256: str
    size_bytes: int
    body_sha256: str
    certificate_sha256: str


def add_packet(
    *,
    claim: Claim,
    packet_id: UUID,
    made: PacketBytes,
    known_at: datetime,
    by: User,
    now: datetime,
) -> Document:
    """Record a claim packet whose bytes are in the store, unless it has bytes already.

    The chain's lock makes it compare-and-swap: the first one stays, and is returned.
    """
    with recording(by=by, now=now) as record:
        record.lock([claim.roof_id])
        document, created = Document.objects.get_or_create(
            uuid=packet_id,
            defaults={
                "claim": claim,
                "sha256": made.sha256,
                "size_bytes": made.size_bytes,
                "body_sha256": made.body_sha256,
                "certificate_sha256": made.certificate_sha256,
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
                "sha256": made.sha256,
                "body_sha256": made.body_sha256,
                "certificate_sha256": made.certificate_sha256,
            }
            record.note(claim.roof_id, "document", [kept])
    return document


def add_report(
    *,
    visit: Visit,
    report_id: UUID,
    sha256: str,
    size_bytes: int,
    known_at: datetime,
    by: User,
    now: datetime,
) -> Document:
    """Record a visit's report whose bytes are in the store; the same report once."""
    with recording(by=by, now=now) as made:
        made.lock([visit.roof_id])
        document, created = Document.objects.get_or_create(
            uuid=report_id,
            defaults={
                "kind": DocumentKind.INSPECTION_REPORT,
                "visit": visit,
                "sha256": sha256,
                "size_bytes": size_bytes,
                "known_at": known_at,
                "rendered_at": now,
            },
        )
        if created:
            kept: dict[str, object] = {
                "type": "document",
                "uuid": str(report_id),
                "kind": document.kind,
                "visit": str(visit.uuid),
                "sha256": sha256,
            }
            made.note(visit.roof_id, "document", [kept])
    return document
