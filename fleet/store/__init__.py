"""Files kept by the SHA-256 of their bytes: written once, never rewritten.

In a folder, or in an S3-compatible store when ``ROOFREG_STORE_URL`` names one.
"""

from __future__ import annotations

import hashlib
from typing import BinaryIO

from fleet.store.collect import Collected, collect_unnamed
from fleet.store.errors import FileDamaged, FileErased, FileGone, NotKept, TooLarge
from fleet.store.incoming import Incoming, begin, incoming, sweep_unfinished
from fleet.store.place import CHUNK_BYTES, place

__all__ = [
    "CHUNK_BYTES",
    "Collected",
    "FileDamaged",
    "FileErased",
    "FileGone",
    "Incoming",
    "NotKept",
    "TooLarge",
    "begin",
    "check",
    "collect_unnamed",
    "fetch",
    "has",
    "incoming",
    "keep",
    "opened",
    "remove",
    "sweep_unfinished",
]


def keep(content: bytes) -> str:
    """Store bytes under their hash and return it; the same bytes are kept once.

    Raises:
        NotKept: the disk or the store refused; the bytes are then not kept.
    """
    with incoming() as file:
        file.write(content)
        return file.keep()


def fetch(digest: str) -> bytes:
    """Return the bytes kept under a hash, checked against it.

    Raises:
        FileGone: nothing is kept under the hash.
        FileDamaged: what is kept has another hash by now.
    """
    with opened(digest) as file:
        return file.read()


def opened(digest: str) -> BinaryIO:
    """Return a kept file, read once and found whole, opened at its start.

    Raises:
        FileGone: nothing is kept under the hash.
        FileDamaged: what is kept has another hash by now.
    """
    file = place().open(digest)
    found = hashlib.sha256()
    try:
        while chunk := file.read(CHUNK_BYTES):
            found.update(chunk)
        if found.hexdigest() != digest:
            raise FileDamaged(
                "The file was changed where it is kept. Restore it from a backup.",
                sha256=digest,
            )
        file.seek(0)
    except BaseException:
        file.close()
        raise
    return file


def check(digest: str) -> int:
    """Return the size of a kept file after reading all of it. [B]

    Raises:
        FileGone: nothing is kept under the hash.
        FileDamaged: what is kept has another hash by now.
    """
    with opened(digest) as file:
        return file.seek(0, 2)


def has(digest: str) -> bool:
    """Return whether something is kept under a hash, unchecked."""
    return place().has(digest)


def remove(digest: str) -> None:
    """Remove the bytes of a hash for good: only what was erased on request.

    Raises:
        NotKept: the store refused, or cannot be reached; they may still be there.
    """
    place().remove(digest)
