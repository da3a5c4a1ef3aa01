"""A file on its way into the store: hashed and counted as it is written."""

from __future__ import annotations

import hashlib
import os
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from django.conf import settings

from fleet.store.errors import NotKept, TooLarge
from fleet.store.place import place

PREFIX = "unfinished-"
UNFINISHED_AFTER_S = 24 * 3600.0


class Incoming:
    """One file being written on the disk of the store. Made by :func:`incoming`."""

    def __init__(self, file: BinaryIO, path: Path, max_bytes: int | None) -> None:
        self.path = path
        self.size_bytes = 0
        self._file = file
        self._hash = hashlib.sha256()
        self._max_bytes = max_bytes

    @property
    def sha256(self) -> str:
        """Return the hash of what was written so far."""
        return self._hash.hexdigest()

    def write(self, chunk: bytes) -> None:
        """Add bytes at the end.

        Raises:
            TooLarge: the file outgrows what it may have.
            NotKept: the disk refused.
        """
        self.size_bytes += len(chunk)
        if self._max_bytes is not None and self.size_bytes > self._max_bytes:
            raise TooLarge(
                f"The file is larger than {self._max_bytes:,} bytes. Send a smaller "
                "one."
            )
        self._hash.update(chunk)
        try:
            self._file.write(chunk)
        except OSError as error:
            raise NotKept(error) from error

    def read_at(self, offset: int, length: int) -> bytes:
        """Return bytes of what was written, fewer at its end."""
        if offset < 0 or length <= 0 or offset >= self.size_bytes:
            return b""
        self._file.flush()
        return os.pread(self._file.fileno(), length, offset)

    def keep(self) -> str:
        """Force the bytes to disk, put the file in its place and return its hash.

        An error of the disk ends it: after a failed fsync nobody can say what is on
        the disk, so it is never tried again on the same file.

        Raises:
            NotKept: the bytes are not kept.
        """
        try:
            self._file.flush()
            os.fsync(self._file.fileno())
            place().put(self.path, self.sha256)
        except OSError as error:
            raise NotKept(error) from error
        return self.sha256

    def discard(self) -> None:
        """Close the file and remove it, if it was not kept."""
        try:
            self._file.close()
        finally:
            self.path.unlink(missing_ok=True)


@contextmanager
def incoming(*, max_bytes: int | None = None) -> Iterator[Incoming]:
    """Open a file on its way in; on leaving it is gone unless it was kept."""
    file = begin(max_bytes=max_bytes)
    try:
        yield file
    finally:
        file.discard()


def begin(*, max_bytes: int | None = None) -> Incoming:
    """Open a file on its way in; the caller discards it at the end, kept or not.

    Raises:
        NotKept: the disk refused.
    """
    folder = _folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=folder, prefix=PREFIX)
    except OSError as error:
        raise NotKept(error) from error
    # Unbuffered, so that an error of the disk shows at its own write.
    return Incoming(os.fdopen(handle, "w+b", buffering=0), Path(name), max_bytes)


def sweep_unfinished(*, older_than_s: float = UNFINISHED_AFTER_S) -> int:
    """Remove what crashed processes left unfinished; return how many files."""
    removed = 0
    # The age on disk, by the same clock that the disk uses.
    before_s = time.time() - older_than_s
    for path in _folder().glob(f"{PREFIX}*"):
        try:
            if path.stat().st_mtime < before_s:
                path.unlink()
                removed += 1
        except FileNotFoundError:
            continue
    return removed


def _folder() -> Path:
    # Beside the kept files, so that a rename moves nothing.
    return settings.DATA_DIR / "files" / "incoming"
