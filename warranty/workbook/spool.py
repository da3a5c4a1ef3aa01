"""A workbook's rows on disk, in the order of their coaches.

A sheet a topic means that one coach's rows lie far apart. They are written to a
temporary database as they stream by and read back coach by coach, so that memory holds
one batch of coaches however long the workbook is.
"""

from __future__ import annotations

import json
import sqlite3
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from warranty.workbook.errors import RowRefused, WorkbookUnusable
from warranty.workbook.layout import COACH_SHEETS, REFERENCED, SheetLayout
from warranty.workbook.limits import MAX_ROWS, MAX_ROWS_PER_UNIT
from warranty.workbook.sheet import RawRow

_CHUNK: Final = 1_000
_CODE: Final = {sheet.name: code for code, sheet in enumerate(COACH_SHEETS)}
_NAME: Final = [sheet.name for sheet in COACH_SHEETS]
_SCHEMA: Final = """
PRAGMA journal_mode=OFF;
PRAGMA synchronous=OFF;
PRAGMA temp_store=FILE;
CREATE TABLE line (
    id INTEGER PRIMARY KEY, unit TEXT, sheet INTEGER, row_no INTEGER, cells TEXT
);
CREATE TABLE ref (sheet INTEGER, ref TEXT, unit TEXT, PRIMARY KEY (sheet, ref))
    WITHOUT ROWID;
"""


@dataclass(slots=True, kw_only=True)
class UnitRows:
    """All rows about one coach, by sheet, each in the order of its sheet."""

    unit_no: str
    rows: dict[str, list[RawRow]] = field(default_factory=dict)


class Spool:
    """The temporary database. Made by :func:`spool`."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self.row_count = 0

    def fill(self, layout: SheetLayout, rows: Iterable[RawRow]) -> Iterator[RawRow]:
        """Write a sheet's rows; yield those that name no coach or a taken reference.

        Raises
        ------
        WorkbookUnusable
            If the workbook has more rows than can be read.
        """
        unit_at = layout.columns.index("unit_no")
        ref_at = layout.columns.index("ref") if layout.name in REFERENCED else None
        code = _CODE[layout.name]
        chunk: list[tuple[str, int, int, str]] = []
        for row in rows:
            self.row_count += 1
            if self.row_count > MAX_ROWS:
                raise WorkbookUnusable(
                    f"The workbook has more than {MAX_ROWS} rows. Split it."
                )
            unit = row.cells[unit_at]
            problem = row.problem or _nameless(row, unit, unit_at, ref_at)
            if problem is None and ref_at is not None:
                problem = self._taken(code, row.cells[ref_at], unit)
            if problem is not None:
                yield RawRow(row_no=row.row_no, cells=row.cells, problem=problem)
                continue
            chunk.append(
                (unit, code, row.row_no, json.dumps(row.cells, ensure_ascii=False))
            )
            if len(chunk) >= _CHUNK:
                self._write(chunk)
                chunk = []
        self._write(chunk)

    def seal(self) -> int:
        """Put the rows in the order of their coaches; return how many coaches.

        Raises
        ------
        WorkbookUnusable
            If one coach has more rows than can be planned together.
        """
        self._connection.executescript(
            """
            CREATE INDEX line_by_unit ON line (unit, id);
            CREATE TABLE unit (
                no INTEGER PRIMARY KEY, unit TEXT UNIQUE, line_count INTEGER
            );
            INSERT INTO unit (unit, line_count)
                SELECT unit, count(*) FROM line GROUP BY unit ORDER BY min(id);
            """
        )
        found = self._connection.execute(
            "SELECT unit, line_count FROM unit ORDER BY line_count DESC LIMIT 1"
        ).fetchone()
        if found and found[1] > MAX_ROWS_PER_UNIT:
            raise WorkbookUnusable(
                f"Coach {found[0]} has {found[1]} rows; at most {MAX_ROWS_PER_UNIT} "
                "can be read. Check the column unit_no, or split the workbook.",
                unit_no=found[0],
            )
        count: int = self._connection.execute("SELECT count(*) FROM unit").fetchone()[0]
        return count

    def batches(self, *, units: int, rows: int) -> Iterator[list[UnitRows]]:
        """Yield batches of coaches, each of at most so many coaches and, except for
        one long coach, so many rows."""
        first, last, held = 1, 0, 0
        for no, count in self._connection.execute(
            "SELECT no, line_count FROM unit ORDER BY no"
        ):
            if last >= first and (no - first >= units or held + count > rows):
                yield self._read(first, last)
                first, held = no, 0
            last, held = no, held + count
        if last >= first:
            yield self._read(first, last)

    def _read(self, first: int, last: int) -> list[UnitRows]:
        batch: list[UnitRows] = []
        rows = self._connection.execute(
            "SELECT line.unit, sheet, row_no, cells FROM unit JOIN line USING (unit)"
            " WHERE no BETWEEN ? AND ? ORDER BY no, line.id",
            (first, last),
        )
        for unit, code, row_no, cells in rows:
            if not batch or batch[-1].unit_no != unit:
                batch.append(UnitRows(unit_no=unit))
            sheet = batch[-1].rows.setdefault(_NAME[code], [])
            sheet.append(RawRow(row_no=row_no, cells=tuple(json.loads(cells))))
        return batch

    def _write(self, chunk: list[tuple[str, int, int, str]]) -> None:
        self._connection.executemany(
            "INSERT INTO line (unit, sheet, row_no, cells) VALUES (?, ?, ?, ?)", chunk
        )

    def _taken(self, code: int, ref: str, unit: str) -> RowRefused | None:
        cursor = self._connection.execute(
            "INSERT OR IGNORE INTO ref VALUES (?, ?, ?)", (code, ref, unit)
        )
        if cursor.rowcount:
            return None
        [held] = self._connection.execute(
            "SELECT unit FROM ref WHERE sheet = ? AND ref = ?", (code, ref)
        ).fetchone()
        if held == unit:
            return None
        return RowRefused(
            column="ref",
            value=ref,
            code="reference-taken",
            reason=f"Reference {ref} stands for coach {held} already. Give it another.",
        )


def _nameless(
    row: RawRow, unit: str, unit_at: int, ref_at: int | None
) -> RowRefused | None:
    for name, at in (("unit_no", unit_at), ("ref", ref_at)):
        if at is not None and not row.cells[at]:
            return RowRefused(
                column=name,
                value="",
                code="missing-value",
                reason=f"This row has no {name}, so nothing tells it apart.",
            )
    if len(unit) > 40 or (ref_at is not None and len(row.cells[ref_at]) > 40):
        return RowRefused(
            column="unit_no" if len(unit) > 40 else "ref",
            value=unit[:80] if len(unit) > 40 else row.cells[ref_at or 0][:80],
            code="too-long",
            reason="A number of a coach or a record has at most 40 characters.",
        )
    return None


@contextmanager
def spool() -> Iterator[Spool]:
    """Open an empty spool in a folder of its own, removed at the end."""
    with tempfile.TemporaryDirectory(prefix="workbook-") as folder:
        connection = sqlite3.connect(
            Path(folder) / "spool.sqlite3", isolation_level=None
        )
        try:
            connection.executescript(_SCHEMA)
            connection.execute("BEGIN")
            yield Spool(connection)
        finally:
            connection.close()
