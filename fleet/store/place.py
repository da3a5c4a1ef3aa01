"""Where kept files are: the folder or the object store that the settings name."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO, Protocol

from django.conf import settings

from fleet.store.errors import FileGone

CHUNK_BYTES = 256 * 1024
DIGEST = re.compile(r"[0-9a-f]{64}")


class Place(Protocol):
    """A place that keeps finished files under their hash."""

    def prepare(self) -> None:
        """Make the place where nothing is kept yet; do nothing where it is there."""

    def put(self, finished: Path, digest: str) -> None:
        """Take a finished file that lies on disk; afterwards it is safe or an error."""

    def open(self, digest: str) -> BinaryIO:
        """Return a kept file, unchecked, at its start."""

    def has(self, digest: str) -> bool:
        """Return whether something is kept under this hash, unchecked."""

    def remove(self, digest: str) -> None:
        """Remove what is kept under this hash for good; nothing there is no error."""

    def written_before(self, moment_s: float) -> Iterator[str]:
        """Yield the hashes of what was last written before a moment of its clock."""

    def take_out(self, digest: str, target: Path) -> float:
        """Move what is kept to a file on disk; return when it was last written. [s]

        Raises:
            FileGone: nothing is kept under the hash.
        """


class Folder:
    """Kept files in ``files/aa/bb/<sha256>`` of the data folder."""

    def __init__(self, root: Path) -> None:
        self.root = root

    def prepare(self) -> None:
        """Make the folder."""
        self.root.mkdir(parents=True, exist_ok=True)

    def put(self, finished: Path, digest: str) -> None:
        """Move a finished file to its name and force the folders to disk.

        An older file of the same hash is replaced: were it damaged, this heals it.
        """
        path = self.path_of(digest)
        path.parent.mkdir(parents=True, exist_ok=True)
        os.replace(finished, path)
        # The name is safe when its folder is, and a new folder when its parent is.
        for folder in (path.parent, path.parent.parent, self.root):
            force_folder(folder)

    def open(self, digest: str) -> BinaryIO:
        """Return a kept file at its start."""
        try:
            return self.path_of(digest).open("rb")
        except FileNotFoundError:
            raise FileGone(digest) from None

    def has(self, digest: str) -> bool:
        """Return whether a file has this name."""
        return self.path_of(digest).exists()

    def remove(self, digest: str) -> None:
        """Unlink the file and force its folder to disk."""
        path = self.path_of(digest)
        path.unlink(missing_ok=True)
        if path.parent.is_dir():
            force_folder(path.parent)

    def written_before(self, moment_s: float) -> Iterator[str]:
        """Yield the names of files that are older."""
        for path in self.root.glob("??/??/*"):
            with suppress(FileNotFoundError):
                if DIGEST.fullmatch(path.name) and path.stat().st_mtime < moment_s:
                    yield path.name

    def take_out(self, digest: str, target: Path) -> float:
        """Rename the file: whoever writes it anew meanwhile keeps the name."""
        try:
            os.replace(self.path_of(digest), target)
        except FileNotFoundError:
            raise FileGone(digest) from None
        return target.stat().st_mtime

    def path_of(self, digest: str) -> Path:
        """Return where the bytes of a hash are kept."""
        return self.root / digest[:2] / digest[2:4] / digest


def place() -> Place:
    """Return the place that the settings name."""
    if settings.STORE_URL:
        # Only where it is chosen: its client library is an optional extra.
        from fleet.store.s3 import bucket_of

        return bucket_of(settings.STORE_URL)
    return Folder(settings.DATA_DIR / "files")


def force_folder(folder: Path) -> None:
    """Have a folder's names written to disk."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
