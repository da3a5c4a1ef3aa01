"""A workbook wherever it lies: a folder, a zip of it, or one XLSX."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from pathlib import Path, PurePosixPath
from typing import Any, BinaryIO, Final, Protocol

from python_calamine import CalamineWorkbook

from warranty.workbook.csv_text import FALLBACK, Open, csv_rows, encoding_of
from warranty.workbook.errors import WorkbookUnusable
from warranty.workbook.layout import CATALOGUE_SHEETS, SHEETS
from warranty.workbook.limits import MAX_FILE_BYTES
from warranty.workbook.packed import Packed
from warranty.workbook.xlsx import open_xlsx, xlsx_rows

Rows = Iterator[tuple[int, Sequence[str]]]
_XLSX_MARK: Final = "[Content_Types].xml"
# One catalogue is a few kilobytes; it is read whole.
_MAX_JSON_BYTES: Final = 4 * 1024 * 1024
_CATALOGUE: Final = frozenset(sheet.name for sheet in CATALOGUE_SHEETS)


class Source(Protocol):
    """Where sheets come from."""

    @property
    def sheets(self) -> tuple[str, ...]:
        """Return the names of the known sheets that are there as rows."""

    @property
    def documents(self) -> tuple[str, ...]:
        """Return the names of the sheets that are there as JSON."""

    @property
    def ignored(self) -> tuple[str, ...]:
        """Return what lies beside them and is not read."""

    def rows(self, sheet: str) -> Rows:
        """Yield a sheet's rows with their numbers."""

    def fallback(self, sheet: str) -> str:
        """Return the encoding taken because the usual one did not fit, or ""."""

    def document(self, sheet: str) -> Any:
        """Return a JSON sheet's content, decimals exact."""


@contextmanager
def open_source(path: Path) -> Iterator[Source]:
    """Open a workbook for reading.

    Raises
    ------
    WorkbookUnusable
        If there is none, it is too large, or no sheet of it is known.
    """
    if path.is_dir():
        source: Source = _Files(_folder_members(path))
        yield _with_sheets(source, path)
        return
    _require_file(path)
    if not zipfile.is_zipfile(path):
        raise WorkbookUnusable(
            f"{path.name} is neither a folder, a zip of one, nor an XLSX workbook. "
            "An older .xls has to be saved as .xlsx first.",
            file=path.name,
        )
    try:
        with Packed(path) as packed:
            if _XLSX_MARK not in packed.names:
                yield _with_sheets(_Files(_zip_members(packed)), path)
                return
    except zipfile.BadZipFile as error:
        raise WorkbookUnusable(
            f"{path.name} is damaged: {error}. Pack it again.", file=path.name
        ) from None
    yield _with_sheets(_Spreadsheet(open_xlsx(path)), path)


def _require_file(path: Path) -> None:
    if not path.is_file():
        raise WorkbookUnusable(
            f"{path.name} is not there. Check the path.", file=path.name
        )
    if path.stat().st_size > MAX_FILE_BYTES:
        raise _too_large(path.name)


def _too_large(name: str) -> WorkbookUnusable:
    return WorkbookUnusable(
        f"{name} is larger than {MAX_FILE_BYTES // 1024**2} MB. Split the workbook.",
        file=name,
    )


def _with_sheets(source: Source, path: Path) -> Source:
    if not source.sheets and not source.documents:
        raise WorkbookUnusable(
            f"{path.name} holds no sheet that is known. Sheets are named "
            f"{', '.join(SHEETS)}.",
            file=path.name,
        )
    return source


@dataclass(frozen=True, slots=True, kw_only=True)
class _Member:
    name: str
    open: Open


def _folder_members(path: Path) -> list[_Member]:
    members = []
    for file in sorted(path.iterdir()):
        if not file.is_file() or file.name.startswith("."):
            continue
        is_read = file.suffix.casefold() in {".csv", ".json"}
        if is_read and file.stat().st_size > MAX_FILE_BYTES:
            raise _too_large(file.name)
        members.append(_Member(name=file.name, open=partial(_open_file, file)))
    return members


def _open_file(path: Path) -> BinaryIO:
    return path.open("rb")


def _zip_members(packed: Packed) -> list[_Member]:
    members = []
    for name in sorted(packed.names):
        parts = PurePosixPath(name.replace("\\", "/")).parts
        if not parts or any(part.startswith((".", "__MACOSX")) for part in parts):
            continue
        members.append(_Member(name=parts[-1], open=partial(packed.open, name)))
    return members


class _Files:
    """CSV and JSON files, in a folder or in a zip, matched by name only."""

    def __init__(self, members: list[_Member]) -> None:
        self._csv: dict[str, _Member] = {}
        self._json: dict[str, _Member] = {}
        ignored = []
        for member in members:
            stem, _, ending = member.name.casefold().rpartition(".")
            if stem in SHEETS and ending == "csv":
                self._keep(self._csv, stem, member)
            elif stem in _CATALOGUE and ending == "json":
                self._keep(self._json, stem, member)
            else:
                ignored.append(member.name)
        for stem in self._csv.keys() & self._json.keys():
            raise WorkbookUnusable(
                f"Sheet {stem} is there as CSV and as JSON. Keep one of them.",
                sheet=stem,
            )
        self.sheets = tuple(name for name in SHEETS if name in self._csv)
        self.documents = tuple(name for name in SHEETS if name in self._json)
        self.ignored = tuple(ignored)
        self._encodings: dict[str, str] = {}

    def _keep(self, kept: dict[str, _Member], stem: str, member: _Member) -> None:
        if stem in kept:
            raise WorkbookUnusable(
                f"Sheet {stem} is there twice. Keep one of them.", sheet=stem
            )
        kept[stem] = member

    def rows(self, sheet: str) -> Rows:
        member = self._csv[sheet]
        return csv_rows(member.name, member.open, self._encoding(sheet))

    def fallback(self, sheet: str) -> str:
        return FALLBACK if self._encoding(sheet) == FALLBACK else ""

    def document(self, sheet: str) -> Any:
        member = self._json[sheet]
        with member.open() as file:
            raw = file.read(_MAX_JSON_BYTES + 1)
        if len(raw) > _MAX_JSON_BYTES:
            raise _too_large(member.name)
        try:
            return json.loads(raw.decode("utf-8-sig"), parse_float=Decimal)
        except (UnicodeDecodeError, ValueError, RecursionError) as error:
            raise WorkbookUnusable(
                f"{member.name} is no JSON: {error}. Ask who made it.",
                file=member.name,
            ) from None

    def _encoding(self, sheet: str) -> str:
        if sheet not in self._encodings:
            member = self._csv[sheet]
            self._encodings[sheet] = encoding_of(member.name, member.open)
        return self._encodings[sheet]


class _Spreadsheet:
    """The sheets of one XLSX, matched by name only."""

    def __init__(self, book: CalamineWorkbook) -> None:
        self._book = book
        self._titles: dict[str, str] = {}
        ignored = []
        for title in book.sheet_names:
            name = title.strip().casefold()
            if name not in SHEETS:
                ignored.append(title)
            elif name in self._titles:
                raise WorkbookUnusable(
                    f"Sheet {name} is there twice. Keep one of them.", sheet=name
                )
            else:
                self._titles[name] = title
        self.sheets = tuple(name for name in SHEETS if name in self._titles)
        self.documents: tuple[str, ...] = ()
        self.ignored = tuple(ignored)

    def rows(self, sheet: str) -> Rows:
        return xlsx_rows(self._book, self._titles[sheet])

    def fallback(self, sheet: str) -> str:
        return ""

    def document(self, sheet: str) -> Any:
        raise WorkbookUnusable(f"Sheet {sheet} is a table here.", sheet=sheet)
