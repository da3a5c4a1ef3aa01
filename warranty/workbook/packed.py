"""Zip archives, unfolded against limits that are counted, never believed."""

from __future__ import annotations

import io
import zipfile
import zlib
from pathlib import Path
from types import TracebackType
from typing import IO, BinaryIO, Final, cast

from warranty.workbook.errors import WorkbookUnusable
from warranty.workbook.limits import MAX_UNPACK_RATIO, MAX_UNPACKED_BYTES

# Small members are packed well by nature: a sheet of blank cells, styles.
_FREE_BYTES: Final = 1024 * 1024
_MAX_MEMBERS: Final = 2_000
_ENCRYPTED: Final = 0x1


class _Counted(io.RawIOBase):
    """A member's bytes, counted while they unfold."""

    def __init__(self, file: IO[bytes], packed: Packed, info: zipfile.ZipInfo) -> None:
        self._file = file
        self._packed = packed
        self._info = info
        self._count = 0

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: memoryview) -> int:  # type: ignore[override]  # RawIOBase leaves the buffer's type open
        try:
            chunk = self._file.read(len(buffer))
        except (zipfile.BadZipFile, zlib.error, EOFError, OSError) as error:
            raise WorkbookUnusable(
                f"{self._packed.path.name} is damaged at {self._info.filename}: "
                f"{error}. Pack it again.",
                file=self._packed.path.name,
            ) from None
        self._count += len(chunk)
        allowed = max(self._info.compress_size * MAX_UNPACK_RATIO, _FREE_BYTES)
        if self._count > min(allowed, MAX_UNPACKED_BYTES):
            raise WorkbookUnusable(
                f"{self._info.filename} unfolds to far more than its packed size. "
                "Pack the sheets again.",
                file=self._packed.path.name,
            )
        buffer[: len(chunk)] = chunk
        return len(chunk)

    def close(self) -> None:
        self._file.close()
        super().close()


class Packed:
    """An open archive whose members are matched by name and never written to disk."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._archive = zipfile.ZipFile(path)
        infos = self._archive.infolist()
        if len(infos) > _MAX_MEMBERS:
            self._archive.close()
            raise WorkbookUnusable(
                f"{path.name} holds {len(infos)} files. Pack only the sheets.",
                file=path.name,
            )
        self._infos = {info.filename: info for info in infos if not info.is_dir()}

    @property
    def names(self) -> list[str]:
        """Return the members' names."""
        return list(self._infos)

    def open(self, name: str) -> BinaryIO:
        """Return a member's bytes as a stream that stops at the limits."""
        info = self._infos[name]
        if info.flag_bits & _ENCRYPTED:
            raise WorkbookUnusable(
                f"{name} is locked with a password. Pack it without one.",
                file=self.path.name,
            )
        try:
            file = self._archive.open(info)
        except (zipfile.BadZipFile, NotImplementedError, OSError) as error:
            raise WorkbookUnusable(
                f"{name} cannot be unpacked: {error}. Pack it again.",
                file=self.path.name,
            ) from None
        counted = _Counted(file, self, info)
        return cast(BinaryIO, io.BufferedReader(counted, buffer_size=256 * 1024))

    def __enter__(self) -> Packed:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._archive.close()
