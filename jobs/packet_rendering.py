"""Render a claim packet, sign it, and keep the signed file for good."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from hashlib import sha256
from uuid import UUID

from fleet.actions.users import user_or_register
from fleet.models import SigningKey
from fleet.packet_key import read_packet_key
from fleet.selectors.checkpoints import current_key
from fleet.signing import NoSigningKey, SecretKey, read_key
from fleet.store import keep
from jobs.exhibits import develop_missing
from jobs.packet_signature import sign_packet
from jobs.packets import NothingPromised
from jobs.work import Effect, Work
from warranty.actions.documents import PacketBytes, add_packet
from warranty.documents.packet import claim_packet_pdf
from warranty.selectors.claims import claim_by_id
from warranty.selectors.packet.exhibits import exhibits_shown, undeveloped
from warranty.selectors.packet.facts import packet_facts
from warranty.selectors.packet.manifest import packet_manifest


def render_packet(work: Work) -> Effect:
    """Render a claim packet, sign and keep it.

    Run again, the pages are the same bytes and the signature is another; the packet
    whose effect commits first is the one, and the other's bytes are named by nothing.

    Raises:
        NothingPromised: the roof has no terms or no completed work.
        NoPacketKey, SigningKeyExposed: nothing can be signed.
        NoSigningKey: the register's own key was never made, or its file is gone.
    """
    claim_id = int(str(work.payload["claim"]))
    packet_id = UUID(str(work.payload["packet"]))
    known_at = datetime.fromisoformat(str(work.payload["known_at"]))
    # Before any page is drawn: without a key all of it would be for nothing.
    key = read_packet_key(now=work.clock())
    known, secret = _sealing_key()
    claim = claim_by_id(claim_id)
    photos = undeveloped(
        exhibits_shown(claim.roof_id, known_at=known_at, claim=claim.uuid)
    )
    work.progress.total(4 + len(photos))
    develop_missing(work, photos)
    facts = packet_facts(claim_id, packet_id=packet_id, known_at=known_at)
    if facts is None:
        raise NothingPromised(
            "This roof has no terms or no completed work. Record both first."
        )
    work.progress.step("facts gathered")
    body = claim_packet_pdf(facts)
    work.progress.step("pages drawn")
    manifest = packet_manifest(
        claim_id,
        packet_id=packet_id,
        known_at=known_at,
        body=body,
        certificates=(key.certificate_der, *key.above_der),
        sealed_by=known,
        tick=lambda: work.progress.step("ledger read", steps=0),
    )
    signed = sign_packet(
        body, manifest=manifest, key=key, sealed_by=secret, now=work.clock()
    )
    work.progress.step("signed")
    made = PacketBytes(
        sha256=keep(signed),
        size_bytes=len(signed),
        body_sha256=sha256(body).hexdigest(),
        certificate_sha256=key.certificate_sha256,
    )
    work.progress.step("kept")

    def effect() -> Mapping[str, object]:
        document = add_packet(
            claim=claim_by_id(claim_id),
            packet_id=packet_id,
            made=made,
            known_at=known_at,
            by=user_or_register(work.requested_by_id),
            now=work.clock(),
        )
        return {"packet": str(packet_id), "sha256": document.sha256}

    return effect


def _sealing_key() -> tuple[SigningKey, SecretKey]:
    """Return the register's own key, which signs its checkpoints and seals packets."""
    row = current_key()
    if row is None:
        raise NoSigningKey(
            "The register has no signing key. Make one: manage.py checkpoint "
            "--make-key."
        )
    return row, read_key(public_hex=row.public_key)
