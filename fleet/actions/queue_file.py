"""Read the file that a phone saves of what it could not send, piece by piece.

One JSON object: about the phone first, then the list ``ops``, then the list
``photos``. Photos are large: one of them is in memory at a time, never the file.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import BinaryIO

from fleet.errors import DomainError

CHUNK_BYTES = 256 * 1024
HEAD_CHARACTERS_MAX = 4096
# A photo of 15 MB in base64, and what stands around it.
ITEM_CHARACTERS_MAX = 21 * 1024 * 1024
SPACE = " \t\r\n"


class NotAQueueFile(DomainError):
    """The file is not what a phone saves of its queue."""

    code = "not-a-queue-file"
    http_status = 422


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One element of one of the file's lists; nothing when it was cut off."""

    of: str  # "ops" or "photos"
    value: object


class Reader:
    """Reads a saved queue; what came before a cut has been handed out by then."""

    def __init__(self, file: BinaryIO) -> None:
        """Begin at the file's beginning."""
        self._file = file
        self._decoder = json.JSONDecoder()
        self._pending = b""
        self._text = ""
        self._at = 0
        self._is_over = False

    def head(self) -> dict[str, object]:
        """Return what the file tells before its lists.

        Raises:
            NotAQueueFile: it is no object that tells of a phone and its operations.
        """
        while '"ops":' not in self._text:
            if len(self._text) > HEAD_CHARACTERS_MAX or not self._fill():
                raise self._refusal()
        before, _, rest = self._text.partition('"ops":')
        try:
            head = json.loads(before.rstrip().removesuffix(",") + "}")
        except (ValueError, RecursionError):
            raise self._refusal() from None
        if not isinstance(head, dict):
            raise self._refusal()
        self._text, self._at = rest, 0
        self._expect("[")
        return head

    def items(self) -> Iterator[Item]:
        """Yield the operations, then the photos.

        Raises:
            NotAQueueFile: the file ends or goes wrong here; what came before is good.
        """
        for value in self._elements():
            yield Item(of="ops", value=value)
        self._expect(",")
        if self._value() != "photos":
            raise self._refusal()
        self._expect(":")
        self._expect("[")
        for value in self._elements():
            yield Item(of="photos", value=value)
        self._expect("}")

    def _elements(self) -> Iterator[object]:
        if self._next() == "]":
            self._at += 1
            return
        while True:
            yield self._value()
            mark = self._next()
            self._at += 1
            if mark == "]":
                return
            if mark != ",":
                raise self._refusal()

    def _value(self) -> object:
        """Return the next whole value; read on while it is not all here."""
        self._next()
        wanted = 0
        while True:
            if len(self._text) - self._at >= wanted or self._is_over:
                try:
                    value, self._at = self._decoder.raw_decode(self._text, self._at)
                except RecursionError:
                    raise self._refusal() from None
                except ValueError:
                    if self._is_over:
                        raise self._refusal() from None
                    # Twice as much before the next try: a long value is read once
                    # per doubling, not once per piece.
                    wanted = 2 * (len(self._text) - self._at)
                else:
                    self._text, self._at = self._text[self._at :], 0
                    return value
            if len(self._text) - self._at > ITEM_CHARACTERS_MAX:
                raise self._refusal()
            self._fill()

    def _next(self) -> str:
        while True:
            while self._at < len(self._text) and self._text[self._at] in SPACE:
                self._at += 1
            if self._at < len(self._text):
                return self._text[self._at]
            if not self._fill():
                raise self._refusal()

    def _expect(self, mark: str) -> None:
        if self._next() != mark:
            raise self._refusal()
        self._at += 1

    def _fill(self) -> bool:
        """Read on; return whether there was more."""
        chunk = self._file.read(CHUNK_BYTES)
        self._is_over = not chunk
        raw = self._pending + chunk
        # A character may be cut in two by a piece's end.
        whole = len(raw) - _cut_off(raw) if chunk else len(raw)
        try:
            self._text += raw[:whole].decode("utf-8")
        except UnicodeDecodeError:
            raise self._refusal() from None
        self._pending = raw[whole:]
        return bool(chunk)

    @staticmethod
    def _refusal() -> NotAQueueFile:
        return NotAQueueFile(
            "This is not, or not all of, a file that a phone saved. Save it on the "
            "phone once more."
        )


def _cut_off(raw: bytes) -> int:
    """Return how many bytes at the end begin a UTF-8 character and do not end it."""
    for length in range(1, min(4, len(raw) + 1)):
        byte = raw[-length]
        if byte & 0xC0 == 0x80:
            continue
        needed = 4 if byte >= 0xF0 else 3 if byte >= 0xE0 else 2 if byte >= 0xC0 else 1
        return length if needed > length else 0
    return 0
