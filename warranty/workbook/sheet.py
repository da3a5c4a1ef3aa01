"""One sheet as it streams by: its headings, and rows numbered as people see them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from warranty.workbook.errors import RowRefused, WorkbookUnusable
from warranty.workbook.layout import SheetLayout, column_name
from warranty.workbook.limits import MAX_CELL_CHARS, MAX_COLUMNS, MAX_ROWS


@dataclass(frozen=True, slots=True, kw_only=True)
class RawRow:
    """One row that is not blank: its number in the spreadsheet, a cell per column."""

    row_no: int
    cells: tuple[str, ...]  # in the order of the layout's columns; "" where absent
    problem: RowRefused | None = None  # the row itself cannot be read


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """Where each of the layout's columns stands, and which columns nobody knows."""

    row_no: int
    places: tuple[int | None, ...]
    width: int
    unknown: tuple[str, ...]


def read_heading(
    layout: SheetLayout, rows: Iterator[tuple[int, Sequence[str]]]
) -> Heading | None:
    """Return the headings, the first row that is not blank; None of an empty sheet.

    Raises
    ------
    WorkbookUnusable
        If a column is missing, or a heading stands twice.
    """
    for row_no, cells in rows:
        if any(cell.strip() for cell in cells):
            return _heading(layout, row_no, cells)
    return None


def _heading(layout: SheetLayout, row_no: int, cells: Sequence[str]) -> Heading:
    if len(cells) > MAX_COLUMNS:
        raise WorkbookUnusable(
            f"Sheet {layout.name} has {len(cells)} columns; at most {MAX_COLUMNS} "
            "can be read. Remove the columns that are not needed.",
            sheet=layout.name,
        )
    names = [column_name(cell) for cell in cells]
    known = [name for name in names if name in layout.columns]
    for name in dict.fromkeys(known):
        if known.count(name) > 1:
            raise WorkbookUnusable(
                f"Sheet {layout.name} has column {name} twice. Keep one of them.",
                sheet=layout.name,
                column=name,
            )
    missing = [name for name in layout.required if name not in known]
    if missing:
        raise WorkbookUnusable(
            f"Sheet {layout.name} has no column {', '.join(missing)}. "
            "Name it in the first row.",
            sheet=layout.name,
            column=missing[0],
        )
    return Heading(
        row_no=row_no,
        places=tuple(
            names.index(name) if name in known else None for name in layout.columns
        ),
        width=len(cells),
        unknown=tuple(name for name in names if name and name not in layout.columns),
    )


def body_rows(
    layout: SheetLayout,
    heading: Heading,
    rows: Iterable[tuple[int, Sequence[str]]],
) -> Iterator[RawRow]:
    """Yield the rows below the headings that are not blank.

    Raises
    ------
    WorkbookUnusable
        If there are more rows than can be read.
    """
    for count, (row_no, cells) in enumerate(rows):
        if count >= MAX_ROWS:
            raise WorkbookUnusable(
                f"Sheet {layout.name} has more than {MAX_ROWS} rows. Split it.",
                sheet=layout.name,
            )
        texts = [cell.strip() for cell in cells]
        if not any(texts):
            continue
        problem = _problem(texts, heading.width)
        if problem is not None:
            texts = [text[:80] for text in texts]
        yield RawRow(
            row_no=row_no,
            cells=tuple(
                texts[place] if place is not None and place < len(texts) else ""
                for place in heading.places
            ),
            problem=problem,
        )


def _problem(texts: Sequence[str], width: int) -> RowRefused | None:
    if any(texts[width:]):
        return RowRefused(
            column="",
            value=next(text for text in texts[width:] if text)[:80],
            code="too-many-cells",
            reason=(
                "This row has more cells than there are headings: a comma inside a "
                'value needs quotes, as in "1,240".'
            ),
        )
    for text in texts:
        if len(text) > MAX_CELL_CHARS:
            return RowRefused(
                column="",
                value=text[:80],
                code="cell-too-long",
                reason=f"A cell has more than {MAX_CELL_CHARS} characters. Shorten it.",
            )
        if "\x00" in text:
            return RowRefused(
                column="",
                value=text[:80].replace("\x00", "\ufffd"),
                code="unreadable-sign",
                reason="A cell holds a sign that is no text. Type the cell again.",
            )
    return None
