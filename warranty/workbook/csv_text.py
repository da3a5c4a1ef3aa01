"""Comma-separated text: which encoding, which separator, and its rows as they come."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Callable, Iterator, Sequence
from typing import BinaryIO, Final

from warranty.workbook.errors import WorkbookUnusable

Open = Callable[[], BinaryIO]
_CHUNK: Final = 64 * 1024
_WIDE_MARKS: Final = (
    codecs.BOM_UTF32_LE,
    codecs.BOM_UTF32_BE,
    codecs.BOM_UTF16_LE,
    codecs.BOM_UTF16_BE,
)
_SEPARATORS: Final = ",;\t"
FALLBACK: Final = "cp1252"


def encoding_of(name: str, open_file: Open) -> str:
    """Return ``utf-8-sig``, or ``cp1252`` where the bytes are no UTF-8.

    Raises
    ------
    WorkbookUnusable
        If the file is UTF-16, or no text in either encoding.
    """
    if _decodes("utf-8-sig", name, open_file):
        return "utf-8-sig"
    if _decodes(FALLBACK, name, open_file):
        return FALLBACK
    raise WorkbookUnusable(
        f"{name} is neither UTF-8 nor Windows-1252 text. Save it again as CSV UTF-8.",
        file=name,
    )


def _decodes(encoding: str, name: str, open_file: Open) -> bool:
    decoder = codecs.getincrementaldecoder(encoding)()
    with open_file() as file:
        is_first = True
        while chunk := file.read(_CHUNK):
            if (is_first and chunk.startswith(_WIDE_MARKS)) or b"\x00" in chunk:
                raise WorkbookUnusable(
                    f"{name} is UTF-16 or no text at all. Save it again as CSV UTF-8.",
                    file=name,
                )
            is_first = False
            try:
                decoder.decode(chunk)
            except UnicodeDecodeError:
                return False
    try:
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    return True


def csv_rows(
    name: str, open_file: Open, encoding: str
) -> Iterator[tuple[int, Sequence[str]]]:
    """Yield every row with its number, blank ones too, so that numbers stay true.

    Raises
    ------
    WorkbookUnusable
        If the text is no CSV, as after a quote that is never closed.
    """
    with open_file() as file, io.TextIOWrapper(file, encoding, newline="") as text:
        first = text.readline(_CHUNK)
        separator = max(_SEPARATORS, key=lambda sign: (first.count(sign), sign == ","))

        def lines() -> Iterator[str]:
            yield first
            yield from text

        reader = csv.reader(lines(), delimiter=separator)
        try:
            yield from enumerate(reader, start=1)
        except csv.Error as error:
            raise WorkbookUnusable(
                f"{name} cannot be read at line {reader.line_num}: {error}. "
                "Look for a quote that is never closed.",
                file=name,
                line=reader.line_num,
            ) from None
