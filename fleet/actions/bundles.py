"""Put one roof's evidence into a file that a stranger can check without us."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from django.db.models import QuerySet

from fleet import store
from fleet.actions.checkpoints import make_checkpoint
from fleet.errors import DomainError
from fleet.ledger.canonical import sha256_hex
from fleet.models import Checkpoint, Exhibit, LedgerEntry, PrivateText, Roof
from fleet.selectors.checkpoints import (
    InclusionProof,
    inclusion_of,
    keys_from_first,
    latest_checkpoint,
)
from fleet.selectors.ledger import head_seq_of
from fleet.selectors.verification import record_tables
from fleet.store.place import CHUNK_BYTES

FORMAT, VERSION = "roof-register-bundle", 1
# A zip entry needs a day; the same bundle twice should be the same bytes.
ZIP_DAY = (1980, 1, 1, 0, 0, 0)


class NothingRecorded(DomainError):
    """The roof has no chain to export."""

    code = "nothing-recorded"
    http_status = 409


def export_bundle(
    *, roof: Roof, target: Path, with_texts: bool, now: datetime
) -> Checkpoint:
    """Write a roof's bundle and return the checkpoint that covers all of it.

    A new checkpoint is signed when the newest does not cover the roof's last entry.
    Texts with their salts are private: they go in only when asked for.

    Raises:
        NothingRecorded: the roof has no chain.
        NoSigningKey, LedgerBroken: no checkpoint can be signed.
        FileDamaged: an exhibit is no longer what it was; a missing one is left out.
    """
    checkpoint, proof = _covering(roof, now)
    entries = list(roof.entries.filter(seq__lte=proof.seq).order_by("seq"))
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        bundle = _Writer(archive)
        bundle.add("chain.jsonl", "".join(f"{line}\n" for line in _chain(entries)))
        bundle.add("checkpoint.json", _json(_signed(checkpoint)))
        bundle.add("proof.json", _json(_proof(proof)))
        bundle.add("keys.json", _json(_keys(checkpoint)))
        if with_texts:
            bundle.add("texts.json", _json(_texts(entries)))
        digests = sorted(
            set(_exhibits(roof, proof.seq).values_list("sha256", flat=True))
        )
        left_out = [digest for digest in digests if not bundle.add_file(digest)]
        bundle.finish(roof, left_out)
    return checkpoint


class _Writer:
    """Members of one bundle and their hashes, for the manifest."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self.archive = archive
        self.listed: list[dict[str, object]] = []

    def add(self, name: str, text: str) -> None:
        data = text.encode("utf-8", "surrogatepass")
        self.archive.writestr(_info(name), data)
        digest = sha256_hex(text)
        self.listed.append({"path": name, "sha256": digest, "size": len(data)})

    def add_file(self, digest: str) -> bool:
        """Copy an exhibit's original; return whether it is still there."""
        name = f"files/{digest}"
        try:
            source = store.opened(digest)
        except store.FileGone:
            return False
        size = 0
        with source, self.archive.open(_info(name), "w") as copy:
            while chunk := source.read(CHUNK_BYTES):
                copy.write(chunk)
                size += len(chunk)
        self.listed.append({"path": name, "sha256": digest, "size": size})
        return True

    def finish(self, roof: Roof, left_out: list[str]) -> None:
        manifest = {
            "files": self.listed,
            "format": FORMAT,
            "left_out": left_out,
            "roof": str(roof.uuid),
            "version": VERSION,
        }
        self.archive.writestr(_info("manifest.json"), _json(manifest))


def _covering(roof: Roof, now: datetime) -> tuple[Checkpoint, InclusionProof]:
    checkpoint = latest_checkpoint()
    proof = inclusion_of(roof, checkpoint) if checkpoint else None
    if checkpoint is None or proof is None or proof.seq < head_seq_of(roof.pk):
        checkpoint = make_checkpoint(now=now)
        proof = inclusion_of(roof, checkpoint)
    if proof is None:
        raise NothingRecorded("Nothing is recorded about this roof yet.")
    return checkpoint, proof


def _chain(entries: list[LedgerEntry]) -> Iterator[str]:
    for entry in entries:
        recorded_at = entry.recorded_at.astimezone(UTC)
        yield _json(
            {
                "entry_sha256": entry.entry_sha256,
                "kind": entry.kind,
                "payload": entry.payload,
                "payload_sha256": entry.payload_sha256,
                "previous_sha256": entry.previous_sha256,
                "recorded_at": recorded_at.isoformat(timespec="microseconds"),
                "seq": entry.seq,
            }
        )


def _signed(checkpoint: Checkpoint) -> dict[str, object]:
    return {"note": checkpoint.note, "signature": checkpoint.signature}


def _proof(proof: InclusionProof) -> dict[str, object]:
    return {
        "index": proof.index,
        "path": list(proof.path),
        "seq": proof.seq,
        "size": proof.size,
    }


def _keys(checkpoint: Checkpoint) -> list[dict[str, object]]:
    return [
        {"endorsement": key.endorsement, "public_key": key.public_key}
        for key in keys_from_first(checkpoint.key)
    ]


def _exhibits(roof: Roof, seq: int) -> QuerySet[Exhibit]:
    return Exhibit.objects.filter(roof=roof, entry__seq__lte=seq)


def _texts(entries: list[LedgerEntry]) -> dict[str, object]:
    """Return the texts that the chain's records name, but not the erased ones."""
    uuids = {
        value["text"]
        for entry in entries
        for record in json.loads(entry.payload)["records"]
        if record["type"] in record_tables()
        for value in record.values()
        if isinstance(value, dict) and "text" in value
    }
    rows = PrivateText.objects.filter(uuid__in=uuids, erased_at__isnull=True)
    return {str(row.uuid): {"body": row.body, "salt": row.salt} for row in rows}


def _json(value: object) -> str:
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def _info(name: str) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name, ZIP_DAY)
    info.compress_type = zipfile.ZIP_DEFLATED
    return info
