"""Lists as files: CSV (RFC 4180) and XLSX, safe for people or exact for machines."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable, Mapping
from typing import IO

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.utils.exceptions import IllegalCharacterError
from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser
from rest_framework.renderers import BaseRenderer

from fleet.api.rendering import FastJSONRenderer
from fleet.api.table_words import CSV, EXACT, XLSX

# What a spreadsheet may take for a formula when a text begins with it.
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
_NUMBER = re.compile(r"-?\d+(\.\d+)?", re.ASCII)
_NOT_IN_XML = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")


def is_table(data: object) -> bool:
    """Return whether an answer is a page of rows."""
    return isinstance(data, Mapping) and "results" in data


class TableRenderer(BaseRenderer):
    """A page of rows as a file; a problem stays JSON."""

    charset = None
    render_style = "binary"

    def render(
        self,
        data: object,
        accepted_media_type: str | None = None,
        renderer_context: Mapping[str, object] | None = None,
    ) -> bytes:
        """Return the file's bytes."""
        if not is_table(data):
            return FastJSONRenderer().render(data)
        request = (renderer_context or {})["request"]
        is_exact = request.query_params.get("cells") == EXACT  # type: ignore[attr-defined]  # DRF's own
        rows = [flat(row) for row in data["results"]]  # type: ignore[index]  # a page
        names = list(dict.fromkeys(name for row in rows for name in row))
        return self.file(names, rows, is_exact=is_exact)

    def file(
        self, names: list[str], rows: list[dict[str, object]], *, is_exact: bool
    ) -> bytes:
        """Return the bytes of a table; each kind says how."""
        raise NotImplementedError


class CsvRenderer(TableRenderer):
    """One line a row, its members in the order of the first."""

    media_type = CSV
    format = "csv"

    def file(
        self, names: list[str], rows: list[dict[str, object]], *, is_exact: bool
    ) -> bytes:
        """Return UTF-8 text."""
        written = io.StringIO()
        writer = csv.writer(written, lineterminator="\r\n")
        writer.writerow(names)
        for row in rows:
            cells = (cell_text(row.get(name)) for name in names)
            writer.writerow(cells if is_exact else map(safe, cells))
        return written.getvalue().encode()


class XlsxRenderer(TableRenderer):
    """One sheet. Texts are kept as texts, so none of them is a formula."""

    media_type = XLSX
    format = "xlsx"

    def file(
        self, names: list[str], rows: list[dict[str, object]], *, is_exact: bool
    ) -> bytes:
        """Return a workbook."""
        book = Workbook(write_only=True)
        sheet = book.create_sheet("list")
        sheet.append(names)
        for row in rows:
            sheet.append([_cell(sheet, row.get(name)) for name in names])
        written = io.BytesIO()
        book.save(written)
        return written.getvalue()


def _cell(sheet: object, value: object) -> WriteOnlyCell:
    if value is None or isinstance(value, bool | int | float):
        return WriteOnlyCell(sheet, value)
    text = cell_text(value)
    try:
        cell = WriteOnlyCell(sheet, text)
    except IllegalCharacterError:
        cell = WriteOnlyCell(sheet, _NOT_IN_XML.sub("\ufffd", text))
    cell.data_type = "s"
    return cell


def flat(row: Mapping[str, object], before: str = "") -> dict[str, object]:
    """Return a record in one line: members of members get a name with a dot."""
    told: dict[str, object] = {}
    for name, value in row.items():
        if isinstance(value, Mapping):
            told |= flat(value, f"{before}{name}.")
        else:
            told[f"{before}{name}"] = value
    return told


def cell_text(value: object) -> str:
    """Return a value as the text of a cell; nothing is empty, a list is JSON."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    return json.dumps(value, default=str) if isinstance(value, list) else str(value)


def safe(text: str) -> str:
    """Return a cell that no spreadsheet takes for a formula; numbers stay."""
    is_risky = text.startswith(_FORMULA) and not _NUMBER.fullmatch(text)
    return f"'{text}" if is_risky else text


def unsafe(text: str) -> str:
    """Return what :func:`safe` was given."""
    return text[1:] if text.startswith("'") and text[1:].startswith(_FORMULA) else text


class CsvBatchParser(BaseParser):
    """A batch as CSV: a line an item, the first names the members."""

    media_type = CSV

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, object] | None = None,
    ) -> dict[str, object]:
        """Return the batch.

        Raises:
            ParseError: it is no such text.
        """
        try:
            text = stream.read().decode("utf-8-sig")
            lines = list(csv.reader(io.StringIO(text, newline=""), strict=True))
        except (UnicodeDecodeError, csv.Error) as error:
            raise ParseError(f"The body is not CSV: {error}.") from None
        if not lines:
            raise ParseError("The body is empty. Its first line names the members.")
        names = lines[0]
        if len(set(names)) < len(names):
            raise ParseError("A member is named twice in the first line.")
        for place, line in enumerate(lines[1:], start=2):
            if line and len(line) != len(names):
                count = f"{len(line)} cells, not {len(names)}"
                raise ParseError(f"Line {place} has {count}.")
        return {"items": [_item(names, line) for line in lines[1:] if line]}


def _item(names: Iterable[str], cells: Iterable[str]) -> dict[str, object]:
    """Return the body that one line tells; an empty cell is left out."""
    item: dict[str, object] = {}
    for name, cell in zip(names, cells, strict=True):
        if cell == "":
            continue
        *outer, last = name.split(".")
        place = item
        for word in outer:
            inner = place.setdefault(word, {})
            if not isinstance(inner, dict):
                raise ParseError(f"{name} and {word} cannot both be members.")
            place = inner
        if last in place:
            raise ParseError(f"{name} stands for a value and for a record.")
        place[last] = unsafe(cell)
    return item
