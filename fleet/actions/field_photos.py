"""Keep the bytes of a photo under its phone's id and its own hash."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from django.db import transaction

from fleet.actions.exhibits import (
    Examined,
    NotAnExhibit,
    PictureRefused,
    examine,
    note_file,
    note_kept,
)
from fleet.actions.field_operations import lock_device, photo_arrived
from fleet.errors import DomainError
from fleet.models import FieldDevice, FieldPhoto
from fleet.store import Incoming, incoming

PHOTO_BYTES_MAX = 15 * 1024 * 1024


class PhotoConflict(DomainError):
    """Other bytes stand under this photo's id; both are kept."""

    code = "photo-conflict"
    http_status = 409


class WrongDigest(DomainError):
    """The bytes that came are not those that were sent."""

    code = "digest-mismatch"


class EmptyPhoto(DomainError):
    """No bytes came."""

    code = "body-cut"


def receive_photo(
    *,
    device: FieldDevice,
    photo: UUID,
    chunks: Iterable[bytes],
    sha256: str,
    now: datetime,
) -> tuple[FieldPhoto, bool]:
    """Keep a photo's bytes; return its row and whether it is new.

    The bytes are on disk before the row says so. Operations that waited for them are
    recorded in the same transaction.

    Raises:
        TooLarge: more than 15 MB.
        NotKept: the disk or the store failed.
        WrongDigest: the bytes have another hash than was sent with them.
        PhotoConflict: other bytes stand under this id; both are kept.
    """
    with incoming(max_bytes=PHOTO_BYTES_MAX) as file:
        for chunk in chunks:
            file.write(chunk)
        size, digest = file.size_bytes, file.sha256
        if size == 0:
            raise EmptyPhoto("No bytes came. Send the photo again.")
        if digest != sha256:
            raise WrongDigest(
                "The bytes do not have the digest that came with them. Send them "
                "again.",
                sha256=digest,
            )
        found = _examined(file)
        file.keep()
    with transaction.atomic():
        lock_device(device)
        rows = FieldPhoto.objects.filter(device=device, photo=photo)
        first = rows.filter(stands=True).first()
        row, is_new = rows.get_or_create(
            device=device,
            photo=photo,
            sha256=digest,
            defaults={
                "size": size,
                "media_type": found.media_type.value if found else "",
                "received_at": now,
                "stands": first is None,
            },
        )
        if found is not None:
            note_file(found, now=now, is_known=not is_new)
        else:
            note_kept([(digest, size, "")], now=now)
        if row.stands and is_new:
            photo_arrived(photo=photo, now=now)
    if not row.stands and first is not None:
        raise PhotoConflict(
            "Other bytes were sent under this photo's id before. Both are kept; the "
            "office decides.",
            photo=str(photo),
            sha256=digest,
            stands_sha256=first.sha256,
        )
    return row, is_new


def _examined(file: Incoming) -> Examined | None:
    """Return what the file is, or None: what is no exhibit is kept all the same."""
    try:
        return examine(file)
    except (NotAnExhibit, PictureRefused):
        return None
