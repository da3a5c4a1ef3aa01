"""XLSX sheets as text: dates and numbers written out as an office would type them."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Final

from python_calamine import CalamineError, CalamineWorkbook

from warranty.workbook.errors import WorkbookUnusable
from warranty.workbook.limits import MAX_COLUMNS, MAX_ROWS, MAX_SHEET_CELLS
from warranty.workbook.packed import Packed

Cell = int | float | str | bool | time | date | datetime | timedelta
_CELL: Final = re.compile(rb'\br="([A-Z]{1,3})([0-9]{1,7})"')
_SHEET: Final = re.compile(r"xl/worksheets/[^/]+\.xml", re.IGNORECASE)
_CHUNK: Final = 256 * 1024
_OVERLAP: Final = 32
# Binary fractions of typed decimals, as in 21.500000000000004.
_STRAY: Final = Decimal("0.000001")


def open_xlsx(path: Path) -> CalamineWorkbook:
    """Return the workbook, after its packed sheets were measured.

    The reader holds a sheet's whole rectangle in memory: one cell far out would ask
    for more than a machine has, so the cells' addresses are read first.

    Raises
    ------
    WorkbookUnusable
        If it is damaged, locked, or beyond the limits.
    """
    try:
        with Packed(path) as packed:
            for name in packed.names:
                _measure(packed, name)
        return CalamineWorkbook.from_path(str(path))
    except (CalamineError, zipfile.BadZipFile) as error:
        raise WorkbookUnusable(
            f"{path.name} cannot be opened as a workbook: {error}. Save it again "
            "without a password.",
            file=path.name,
        ) from None


def _measure(packed: Packed, name: str) -> None:
    """Unfold one member against the limits; of a sheet, find its farthest cell."""
    is_sheet = _SHEET.fullmatch(name) is not None
    last_row, last_column, tail = 0, 0, b""
    with packed.open(name) as file:
        while chunk := file.read(_CHUNK):
            if is_sheet:
                for letters, digits in _CELL.findall(tail + chunk):
                    last_row = max(last_row, int(digits))
                    last_column = max(last_column, _column_no(letters))
                tail = chunk[-_OVERLAP:]
    if (
        last_row > MAX_ROWS + 1
        or last_column > MAX_COLUMNS
        or last_row * last_column > MAX_SHEET_CELLS
    ):
        raise WorkbookUnusable(
            f"A sheet reaches to row {last_row} and column {last_column}; at most "
            f"{MAX_ROWS} rows and {MAX_COLUMNS} columns can be read. Delete what "
            "stands far out, or split the workbook.",
            file=packed.path.name,
        )


def _column_no(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number


def xlsx_rows(
    book: CalamineWorkbook, title: str
) -> Iterator[tuple[int, Sequence[str]]]:
    """Yield every row of a sheet with its number, each cell as text."""
    # The reader yields the blank rows above the first used one too.
    for row_no, cells in enumerate(book.get_sheet_by_name(title).iter_rows(), start=1):
        yield row_no, [text_of(cell) for cell in cells]


def text_of(cell: Cell) -> str:
    """Return a cell as an office would type it."""
    match cell:
        case bool():
            return "yes" if cell else "no"
        case str():
            return cell
        case datetime():
            if cell.time() == time() and cell.tzinfo is None:
                return cell.date().isoformat()
            return cell.isoformat()
        case date() | time():
            return cell.isoformat()
        case int():
            return str(cell)
        case float():
            return _plain_number(cell)
        case _:
            return str(cell)


def _plain_number(value: float) -> str:
    if value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    exact = Decimal(repr(value))
    if not exact.is_finite() or abs(exact) >= 10**12:
        return str(exact)
    return format(exact.quantize(_STRAY).normalize(), "f")
