"""The tree that a checkpoint covers, built again from the ledger itself."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC

from django.db.models import Exists, OuterRef, QuerySet

from fleet.errors import DomainError
from fleet.ledger.canonical import canonical_json, sha256_hex
from fleet.ledger.chain import entry_sha256
from fleet.ledger.tree import head_leaf, path_of, root_of
from fleet.models import Checkpoint, LedgerEntry, Roof, SigningKey
from fleet.signing import CHECKPOINT_MARK, KEY_MARK, is_signed

BATCH_LEAVES = 500


def _no_tick() -> None:
    """Do nothing: nobody watches."""


class LedgerBroken(DomainError):
    """An entry no longer has the hash it was recorded with: nothing is signed."""

    code = "ledger-broken"
    http_status = 409


@dataclass(frozen=True, slots=True, kw_only=True)
class InclusionProof:
    """That a roof's head is in a checkpoint's tree."""

    index: int
    size: int
    seq: int
    path: tuple[str, ...]


def latest_checkpoint() -> Checkpoint | None:
    """Return the newest checkpoint."""
    return Checkpoint.objects.select_related("key").order_by("-number").first()


def current_key() -> SigningKey | None:
    """Return the key that signs now: the one that none follows."""
    return SigningKey.objects.filter(next__isnull=True).order_by("-pk").first()


def heads_as_of(last_entry_id: int) -> QuerySet[LedgerEntry]:
    """Return each roof's last entry up to this one, in the order of the roofs' ids."""
    later = LedgerEntry.objects.filter(
        roof=OuterRef("roof"), seq__gt=OuterRef("seq"), pk__lte=last_entry_id
    )
    return (
        LedgerEntry.objects.filter(~Exists(later), pk__lte=last_entry_id)
        .select_related("roof")
        .order_by("roof__uuid")
    )


def leaves_as_of(
    last_entry_id: int, tick: Callable[[], None] = _no_tick
) -> Iterator[bytes]:
    """Yield the leaves of the tree, each hash computed again from what is stored.

    ``tick`` is called now and then, so that a long reading shows that it is alive.

    Raises:
        LedgerBroken: an entry does not have the hash it is stored with.
    """
    heads = heads_as_of(last_entry_id).iterator(chunk_size=BATCH_LEAVES)
    for count, entry in enumerate(heads):
        if count % BATCH_LEAVES == 0:
            tick()
        recomputed = entry_sha256(
            roof=str(entry.roof.uuid),
            seq=entry.seq,
            kind=entry.kind,
            payload_sha256=sha256_hex(entry.payload),
            previous_sha256=entry.previous_sha256,
            recorded_at=entry.recorded_at.astimezone(UTC).isoformat(
                timespec="microseconds"
            ),
        )
        if recomputed != entry.entry_sha256:
            raise LedgerBroken(
                f"Entry {entry.seq} of roof {entry.roof.uuid} was changed. Run "
                "manage.py verify, and restore it from a backup."
            )
        yield head_leaf(
            roof=str(entry.roof.uuid), seq=entry.seq, entry_sha256=recomputed
        )


def root_as_of(
    last_entry_id: int | None, tick: Callable[[], None] = _no_tick
) -> tuple[int, str]:
    """Return how many roofs there were and the root over their heads."""
    size, root = root_of(leaves_as_of(last_entry_id, tick) if last_entry_id else ())
    return size, root.hex()


def inclusion_of(
    roof: Roof, checkpoint: Checkpoint, tick: Callable[[], None] = _no_tick
) -> InclusionProof | None:
    """Return the proof of a roof in a checkpoint, or None if it was not yet there."""
    if checkpoint.last_entry_id is None:
        return None
    heads = heads_as_of(checkpoint.last_entry_id)
    head = heads.filter(roof=roof).first()
    if head is None:
        return None
    index = heads.filter(roof__uuid__lt=roof.uuid).count()
    leaves = leaves_as_of(checkpoint.last_entry_id, tick)
    path = path_of(leaves, index=index, size=checkpoint.size)
    return InclusionProof(
        index=index,
        size=checkpoint.size,
        seq=head.seq,
        path=tuple(node.hex() for node in path),
    )


def note_of(
    *,
    number: int,
    size: int,
    root_sha256: str,
    made_at: str,
    previous: Checkpoint | None,
    key: str,
) -> str:
    """Return the text of a checkpoint that is signed."""
    return canonical_json(
        {
            "key": key,
            "made_at": made_at,
            "number": number,
            "previous": sha256_hex(previous.note) if previous else "",
            "root": root_sha256,
            "size": size,
        }
    )


def keys_from_first(last: SigningKey) -> list[SigningKey]:
    """Return the keys from the first to this one."""
    known = {key.pk: key for key in SigningKey.objects.all()}
    line = [known[last.pk]]
    while line[-1].previous_id is not None:
        line.append(known[line[-1].previous_id])
    return line[::-1]


def checkpoint_faults(held: str = "") -> Iterator[str]:
    """Yield what is wrong with keys, checkpoints and the tree of the newest one.

    ``held`` is a checkpoint that somebody kept elsewhere, as it was exported: it shows
    a register that was put back to an older state, which nothing inside it can.
    """
    for key in SigningKey.objects.select_related("previous").order_by("pk"):
        if key.previous is not None and not is_signed(
            public_hex=key.previous.public_key,
            signature_hex=key.endorsement,
            mark=KEY_MARK,
            text=key.public_key,
        ):
            yield f"Key {key.public_key} is not endorsed by the key before it"
    previous: Checkpoint | None = None
    rows = Checkpoint.objects.select_related("key").order_by("number")
    for row in rows.iterator(chunk_size=500):
        yield from (f"Checkpoint {row.number}: {why}" for why in _faults(row, previous))
        previous = row
    if previous is not None:
        yield from _tree_faults(previous)
    if held:
        yield from _held_faults(held)


def _faults(row: Checkpoint, previous: Checkpoint | None) -> Iterator[str]:
    if row.number != (previous.number + 1 if previous else 1):
        yield "the one before it is missing"
    expected = note_of(
        number=row.number,
        size=row.size,
        root_sha256=row.root_sha256,
        made_at=row.made_at.astimezone(UTC).isoformat(timespec="microseconds"),
        previous=previous,
        key=row.key.public_key,
    )
    if row.note != expected:
        yield "its note was changed, or the one before it"
    if not is_signed(
        public_hex=row.key.public_key,
        signature_hex=row.signature,
        mark=CHECKPOINT_MARK,
        text=row.note,
    ):
        yield "its signature does not fit its note"


def _tree_faults(newest: Checkpoint) -> Iterator[str]:
    try:
        size, root = root_as_of(newest.last_entry_id)
    except LedgerBroken as broken:
        yield f"Checkpoint {newest.number}: {broken.message.rstrip('.')}"
        return
    if (size, root) != (newest.size, newest.root_sha256):
        yield (
            f"Checkpoint {newest.number}: the ledgers no longer lead to its root; "
            "history was rewritten"
        )


def _held_faults(held: str) -> Iterator[str]:
    try:
        kept = json.loads(held)
        number = int(json.loads(kept["note"])["number"])
        note, signature = str(kept["note"]), str(kept["signature"])
    except (ValueError, KeyError, TypeError):
        yield "The held checkpoint cannot be read"
        return
    own = Checkpoint.objects.filter(number=number).first()
    if own is None:
        yield f"The register is behind the held checkpoint {number}"
    elif (own.note, own.signature) != (note, signature):
        yield f"Checkpoint {number} is not the one that is held"
