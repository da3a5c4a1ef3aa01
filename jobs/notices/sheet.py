"""A table as files that office programs open, without ever running what is in it."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from datetime import date, datetime

from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Font

Cell = str | int | date
# A cell that starts so is taken for a formula by one program or another; the wide
# forms are turned into the narrow ones on some systems.
_TRIGGERS = (
    "=",
    "+",
    "-",
    "@",
    "\t",
    "\r",
    "\n",
    "\uff1d",
    "\uff0b",
    "\uff0d",
    "\uff20",
)
# A workbook's own time would make equal tables differ. Project convention.
_MADE_AT = datetime(2000, 1, 1)  # noqa: DTZ001 - the format keeps no zone


def safe(value: Cell) -> Cell:
    """Return a text that no program takes for a formula; numbers stay numbers."""
    if not isinstance(value, str):
        return value
    plain = ILLEGAL_CHARACTERS_RE.sub("", value.encode("utf-8", "replace").decode())
    return f"'{plain}" if plain.lstrip(" ").startswith(_TRIGGERS) else plain


def csv_bytes(heads: Sequence[str], rows: Sequence[Sequence[Cell]]) -> bytes:
    """Return the table as CSV in UTF-8, with the mark that spreadsheets look for."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    for row in (heads, *rows):
        writer.writerow([safe(value) for value in row])
    return out.getvalue().encode("utf-8-sig")


def xlsx_bytes(heads: Sequence[str], rows: Sequence[Sequence[Cell]]) -> bytes:
    """Return the table as a workbook of one sheet."""
    book = Workbook()
    book.properties.created = book.properties.modified = _MADE_AT
    sheet = book.active
    sheet.title = "Roofs"
    for number, row in enumerate((heads, *rows), start=1):
        for place, value in enumerate(row, start=1):
            cell = sheet.cell(number, place, safe(value))
            if isinstance(value, str):
                cell.data_type = "s"
    for cell in sheet[1]:
        cell.font = Font(bold=True)
    sheet.freeze_panes = "A2"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()
