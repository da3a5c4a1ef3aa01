"""Sign what the ledgers came to, and make and follow the keys that sign."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import UTC, datetime

from django.conf import settings
from django.db import connection, transaction

from fleet.models import Checkpoint, LedgerEntry, SigningKey, User
from fleet.selectors.checkpoints import (
    LedgerBroken,
    current_key,
    latest_checkpoint,
    note_of,
    root_as_of,
)
from fleet.signing import (
    CHECKPOINT_MARK,
    KEY_MARK,
    NoSigningKey,
    SigningKeyExists,
    is_signed,
    new_key,
    next_path,
    read_key,
    write_key,
)


def make_key(*, by: User, now: datetime) -> SigningKey:
    """Make the first signing key: the secret to its file, the public half to a row.

    Raises:
        SigningKeyExists: there is one.
    """
    if current_key() is not None:
        raise SigningKeyExists("There is a signing key. Rotate it to follow it.")
    secret = new_key()
    write_key(secret, path=settings.SIGNING_KEY_FILE)
    return SigningKey.objects.create(
        public_key=secret.public_hex, added_at=now, added_by=by
    )


def rotate_key(*, by: User, now: datetime) -> SigningKey:
    """Follow the key by a new one, which the old one signs; the old file is replaced.

    Raises:
        NoSigningKey: there is none to follow.
    """
    previous = _known_key()
    old = read_key(public_hex=previous.public_key)
    secret = new_key()
    waiting = next_path()
    # Left by a rotation that was cut off before its record: nobody relies on it.
    waiting.unlink(missing_ok=True)
    write_key(secret, path=waiting)
    row = SigningKey.objects.create(
        public_key=secret.public_hex,
        previous=previous,
        endorsement=old.sign(KEY_MARK, secret.public_hex),
        added_at=now,
        added_by=by,
    )
    os.replace(waiting, settings.SIGNING_KEY_FILE)
    return row


def make_checkpoint(*, now: datetime, tick: Callable[[], None] = bool) -> Checkpoint:
    """Sign the root over all roofs' heads as they are now.

    The tree is read from the database twice, each entry's hash computed again from its
    payload, and the checkpoint before must still be what the ledgers lead to: what
    was rewritten is never signed over. ``tick`` is called now and then meanwhile.

    Raises:
        NoSigningKey: there is no key.
        LedgerBroken: the ledgers do not lead to what was signed before.
    """
    key = _known_key()
    secret = read_key(public_hex=key.public_key)
    last_entry_id = _last_entry_id()
    _refuse_rewritten_history(tick)
    size, root = root_as_of(last_entry_id, tick)
    if root_as_of(last_entry_id, tick) != (size, root):
        raise LedgerBroken("The ledgers read differently twice. Check the database.")
    with transaction.atomic():
        previous = Checkpoint.objects.select_for_update().order_by("-number").first()
        number = previous.number + 1 if previous else 1
        note = note_of(
            number=number,
            size=size,
            root_sha256=root,
            made_at=now.astimezone(UTC).isoformat(timespec="microseconds"),
            previous=previous,
            key=key.public_key,
        )
        row = Checkpoint.objects.create(
            number=number,
            last_entry_id=last_entry_id,
            size=size,
            root_sha256=root,
            note=note,
            signature=secret.sign(CHECKPOINT_MARK, note),
            key=key,
            made_at=now,
        )
        row.refresh_from_db()
        if not is_signed(
            public_hex=key.public_key,
            signature_hex=row.signature,
            mark=CHECKPOINT_MARK,
            text=row.note,
        ):
            raise LedgerBroken("The checkpoint was not stored as it was signed.")
    return row


def _known_key() -> SigningKey:
    key = current_key()
    if key is None:
        raise NoSigningKey(
            "The register has no signing key. Make one: manage.py checkpoint "
            "--make-key."
        )
    return key


def _refuse_rewritten_history(tick: Callable[[], None]) -> None:
    before = latest_checkpoint()
    if before is None:
        return
    found = root_as_of(before.last_entry_id, tick)
    if found != (before.size, before.root_sha256):
        raise LedgerBroken(
            f"The ledgers no longer lead to checkpoint {before.number}. Run manage.py "
            "verify, and restore what was changed from a backup."
        )


def _last_entry_id() -> int | None:
    """Return the newest entry after which no older one can still be committed."""
    with transaction.atomic():
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                # Ids are drawn before commit: wait for those who have drawn one.
                cursor.execute("LOCK TABLE fleet_ledgerentry IN SHARE MODE")
        return LedgerEntry.objects.order_by("-pk").values_list("pk", flat=True).first()
