"""Hold a claim packet against the ledger: is it, byte for byte, one that was stored?"""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from typing import Any
from uuid import UUID

from fleet import store
from fleet.models import LedgerEntry, PrivateText
from jobs.packet_layout import ATTACHMENT, first_difference, part_at, parts_of
from jobs.packet_signature import (
    NotASignedPacket,
    SignatureReport,
    signature_report,
)
from warranty.models import Claim, Document
from warranty.rules.decision import RuleVersionUnknown
from warranty.selectors.documents import packet_of_hash, signed_packets
from warranty.selectors.packet.manifest import chain_of, told_by_the_register

# A file whose manifest is broken is looked for among stored ones of about its size
# that end alike.
CLOSE_BYTES, ENDS_BYTES, MOST_COMPARED = 64, 128, 200


@dataclass(frozen=True, slots=True, kw_only=True)
class PacketVerdict:
    """What holding a file against the ledger came to, in sentences."""

    packet: str  # the packet's id, where one could be told
    faults: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def is_whole(self) -> bool:
        """Return whether the file is a stored packet and nothing is wrong with it."""
        return not self.faults


def check_packet(content: bytes) -> PacketVerdict:
    """Hold a whole file against the ledger, its signature and its manifest."""
    try:
        report, why = signature_report(content), ""
    except NotASignedPacket as error:
        report, why = None, str(error)
    document = packet_of_hash(sha256(content).hexdigest())
    if document is None:
        return _not_stored(content, report, why)
    if not document.body_sha256:
        note = "It was made before packets were signed: its hash alone is checked."
        return PacketVerdict(packet=str(document.uuid), notes=(note,))
    if report is None:
        fault = f"Its signature cannot be read: {why}."
        return PacketVerdict(packet=str(document.uuid), faults=(fault,))
    manifest = json.loads(report.manifest)
    faults = [*_signature_faults(report, document), *_chain_faults(manifest, document)]
    notes: list[str] = []
    for sentence in _record_differences(manifest, document):
        (notes if _is_erased(document) else faults).append(sentence)
    return PacketVerdict(
        packet=str(document.uuid), faults=tuple(faults), notes=tuple(notes)
    )


def _not_stored(
    content: bytes, report: SignatureReport | None, why: str
) -> PacketVerdict:
    faults = ["The file is not, byte for byte, a packet that this register stored."]
    if report is None:
        faults.append(f"No signature over an attached manifest can be read: {why}.")
    else:
        faults.extend(_signature_faults(report, None))
    document = _meant(content, report)
    if document is None:
        faults.append("Which packet it is meant to be cannot be told from it.")
        return PacketVerdict(packet="", faults=tuple(faults))
    faults.append(_difference(content, document))
    return PacketVerdict(packet=str(document.uuid), faults=tuple(faults))


def _meant(content: bytes, report: SignatureReport | None) -> Document | None:
    """Return the packet a file most likely was: by its manifest, or by its beginning
    or end, which a change elsewhere leaves as they were."""
    named = _named(report.manifest) if report else _named_anywhere(content)
    found = signed_packets().filter(uuid=named).first()
    if found is not None:
        return found
    near = (len(content) - CLOSE_BYTES, len(content) + CLOSE_BYTES)
    for packet in signed_packets().filter(size_bytes__range=near)[:MOST_COMPARED]:
        stored = _stored(packet)
        if stored and content[-ENDS_BYTES:] == stored[-ENDS_BYTES:]:
            return packet
    return None


def _named(manifest: str) -> UUID | None:
    try:
        return UUID(str(json.loads(manifest)["packet"]))
    except (ValueError, LookupError, TypeError):
        return None


def _named_anywhere(content: bytes) -> UUID | None:
    """Return the packet named by an attachment that a broken file still holds."""
    for found in ATTACHMENT.finditer(content):
        try:
            named = _named(zlib.decompress(found[1]).decode())
        except (zlib.error, UnicodeDecodeError):
            continue
        if named is not None:
            return named
    return None


def _stored(document: Document) -> bytes | None:
    try:
        return store.fetch(document.sha256)
    except (store.FileGone, store.FileDamaged):
        return None


def _difference(content: bytes, document: Document) -> str:
    name = f"packet {document.uuid}"
    stored = _stored(document)
    if stored is None:
        return f"It names itself {name}, whose stored file is gone or damaged."
    if content.startswith(stored):
        more = len(content) - len(stored)
        return f"It is {name} with {more} bytes appended after its end."
    if stored.startswith(content):
        less = len(stored) - len(content)
        return f"It is {name} with its last {less} bytes cut off."
    place = first_difference(content, stored) or 0
    manifest = json.loads(signature_report(stored).manifest)
    parts = parts_of(stored, body_bytes=int(manifest["body"]["size"]))
    sizes = f"{len(content)} bytes instead of {len(stored)}"
    return (
        f"It differs from {name} from byte {place} on, in its "
        f"{part_at(parts, place)}; it has {sizes}."
    )


def _signature_faults(
    report: SignatureReport, document: Document | None
) -> Iterator[str]:
    if not report.is_whole_file:
        yield "There are bytes outside of the range that its signature covers."
    if not report.is_intact:
        yield "What its signature covers was changed after it was signed."
    elif not report.is_valid:
        yield "Its signature is not valid."
    if document and report.certificate_sha256 != document.certificate_sha256:
        yield "Its certificate is not the one that the ledger names."


def _chain_faults(manifest: Mapping[str, Any], document: Document) -> Iterator[str]:
    """Compare the manifest's chain with the ledger, and the entry with the row."""
    told = manifest["ledger"]["chain"]
    entries = LedgerEntry.objects.filter(
        roof=_claim_of(document).roof_id, seq__lte=len(told)
    )
    if chain_of(entries.order_by("seq")) != told:
        yield "Its manifest's entries are not the ledger's. Run manage.py verify."
    kept = _as_kept(document)
    expected = {
        "sha256": document.sha256,
        "body_sha256": document.body_sha256,
        "certificate_sha256": document.certificate_sha256,
    }
    if kept is None or {name: kept.get(name) for name in expected} != expected:
        yield "The ledger does not name this packet with its hashes."
    if manifest["packet"] != str(document.uuid):
        yield "Its manifest is another packet's."
    if manifest["body"]["sha256"] != document.body_sha256:
        yield "Its pages are not those that the ledger names."


def _claim_of(document: Document) -> Claim:
    if document.claim is None:
        raise ValueError("a claim packet is about a claim: the table's constraint.")
    return document.claim


def _as_kept(document: Document) -> dict[str, Any] | None:
    entries = LedgerEntry.objects.filter(
        roof=_claim_of(document).roof_id, kind="document"
    )
    for entry in entries.order_by("seq"):
        for record in json.loads(entry.payload)["records"]:
            if record["uuid"] == str(document.uuid):
                found: dict[str, Any] = record
                return found
    return None


def _record_differences(
    manifest: Mapping[str, Any], document: Document
) -> Iterator[str]:
    """Compare what the manifest says of the records with what they give now."""
    version = str(manifest["standing"]["rule_version"])
    try:
        again = told_by_the_register(
            _claim_of(document),
            packet_id=document.uuid,
            known_at=datetime.fromisoformat(manifest["known_at"]).astimezone(UTC),
            rule_version=version,
        )
    except RuleVersionUnknown:
        yield f"The rules of version {version} are not kept here: it is not replayed."
        return
    for name, value in json.loads(json.dumps(again)).items():
        if manifest.get(name) != value:
            yield f"The records give another {name.replace('_', ' ')} by now."


def _is_erased(document: Document) -> bool:
    """Return whether a text that the roof's chain names was erased since."""
    entries = LedgerEntry.objects.filter(roof=_claim_of(document).roof_id)
    named = {
        value["text"]
        for entry in entries
        for record in json.loads(entry.payload)["records"]
        for value in record.values()
        if isinstance(value, dict) and "text" in value
    }
    return PrivateText.objects.filter(uuid__in=named, erased_at__isnull=False).exists()
