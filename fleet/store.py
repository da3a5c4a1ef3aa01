"""Files kept by the SHA-256 of their bytes: written once, never rewritten."""

from __future__ import annotations

import hashlib
import os
import tempfile
from pathlib import Path

from django.conf import settings

from fleet.errors import DomainError


class FileGone(DomainError):
    """The bytes behind a hash are not in the store."""

    code = "file-gone"
    http_status = 404


class FileDamaged(DomainError):
    """The bytes in the store no longer have the hash they are kept under."""

    code = "file-damaged"
    http_status = 500


def keep(content: bytes) -> str:
    """Store bytes under their hash and return it; the same bytes are kept once.

    Written beside their place, forced to disk, renamed, and the folder forced to
    disk, so that a crash leaves either nothing or the whole file. An error of the
    disk is raised: the bytes are then not kept.
    """
    digest = hashlib.sha256(content).hexdigest()
    path = path_of(digest)
    if path.exists():
        return digest
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix="unfinished-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    _force_folder(path.parent)
    return digest


def fetch(digest: str) -> bytes:
    """Return the bytes kept under a hash, checked against it.

    Raises:
        FileGone: nothing is kept under the hash.
        FileDamaged: what is kept has another hash by now.
    """
    try:
        content = path_of(digest).read_bytes()
    except FileNotFoundError:
        raise FileGone(
            "The file is not in the store. Restore it from a backup.", sha256=digest
        ) from None
    if hashlib.sha256(content).hexdigest() != digest:
        raise FileDamaged(
            "The file was changed on disk. Restore it from a backup.", sha256=digest
        )
    return content


def path_of(digest: str) -> Path:
    """Return where the bytes of a hash are kept."""
    return settings.DATA_DIR / "files" / digest[:2] / digest[2:4] / digest


def _force_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
