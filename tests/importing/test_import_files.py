"""What a workbook as a file may be, and when it cannot be used at all."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from pathlib import Path

import openpyxl
import pytest
from django.core.management import CommandError, call_command

from fleet.models import Coach, Owner
from tests.importing.offices import COACH, check, commit, office, write_csv
from warranty.workbook.errors import WorkbookUnusable
from warranty.workbook.limits import MAX_CELL_CHARS, MAX_COLUMNS, MAX_FILE_BYTES

pytestmark = pytest.mark.django_db


def zipped(path: Path, **members: bytes) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(f"{name}.csv", content)
    return path


def rewritten(folder: Path, sheet: str, change) -> Path:
    file = folder / f"{sheet}.csv"
    file.write_bytes(change(file.read_bytes()))
    return folder


class TestEncodings:
    def test_a_byte_order_mark_is_no_part_of_the_first_heading(self, tmp_path):
        folder = rewritten(office(tmp_path), "coaches", lambda b: b"\xef\xbb\xbf" + b)

        assert commit(folder).sheets["coaches"].new == 1

    def test_windows_text_is_read_and_said(self, tmp_path):
        folder = office(tmp_path, coaches=[{"owner": "Joaquín Pell"}])
        rewritten(folder, "coaches", lambda b: b.decode().encode("cp1252"))

        result = commit(folder)

        assert Owner.objects.get().name == "Joaquín Pell"
        assert [w.code for w in result.warnings] == ["other-encoding"]

    @pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-32"])
    def test_wide_text_is_refused(self, tmp_path, encoding):
        folder = office(tmp_path)
        rewritten(folder, "coaches", lambda b: b.decode().encode(encoding))

        with pytest.raises(WorkbookUnusable, match="UTF-16"):
            check(folder)

    def test_bytes_that_are_no_text_are_refused(self, tmp_path):
        folder = rewritten(office(tmp_path), "film", lambda b: b + b"\x81\x8d\xff")

        with pytest.raises(WorkbookUnusable, match="UTF-8"):
            check(folder)


class TestSheets:
    def test_semicolons_may_separate_cells(self, tmp_path):
        folder = rewritten(office(tmp_path), "film", lambda b: b.replace(b",", b";"))

        assert commit(folder).sheets["film"].new == 1

    def test_blank_lines_are_harmless_and_row_numbers_stay_true(self, tmp_path):
        folder = office(tmp_path, visits=[{"happened_on": "2023-02-30"}])
        rewritten(folder, "visits", lambda b: b.replace(b"\r\n", b"\r\n,,,\r\n\r\n", 1))

        [refused] = commit(folder).refused

        assert refused.row == 4

    def test_a_line_break_inside_a_cell_is_one_row(self, tmp_path):
        folder = office(
            tmp_path,
            claims=[{"description": "drip\nat vent"}, {"ref": "C2", "noticed_on": "x"}],
        )

        [refused] = commit(folder).refused

        assert refused.row == 3

    def test_a_missing_column_makes_the_file_unusable(self, tmp_path):
        folder = rewritten(office(tmp_path), "film", lambda b: b.replace(b"unit,", b""))
        rewritten(folder, "film", lambda b: b.replace(b"last_wet", b"wet"))

        with pytest.raises(WorkbookUnusable, match="film has no column"):
            check(folder)

    def test_a_column_named_twice_makes_the_file_unusable(self, tmp_path):
        folder = rewritten(
            office(tmp_path), "film", lambda b: b.replace(b"coat", b"area", 1)
        )

        with pytest.raises(WorkbookUnusable, match="twice"):
            check(folder)

    def test_a_missing_sheet_is_said_and_the_others_go_in(self, tmp_path):
        folder = office(tmp_path)
        (folder / "film.csv").unlink()

        result = commit(folder)

        assert [(w.code, w.file) for w in result.warnings] == [
            ("missing-sheet", "film")
        ]
        assert result.sheets["roofs"].new == 1

    def test_no_known_sheet_at_all_is_unusable(self, tmp_path):
        write_csv(tmp_path / "notes.csv", [COACH])

        with pytest.raises(WorkbookUnusable, match="no sheet"):
            check(tmp_path)

    def test_an_unknown_column_is_said_and_not_read(self, tmp_path):
        folder = office(tmp_path, coaches=[{"colour": "red"}])

        [warning] = commit(folder).warnings

        assert (warning.code, warning.column) == ("unknown-column", "colour")

    def test_a_comma_that_split_a_value_is_refused_not_shifted(self, tmp_path):
        folder = rewritten(
            office(tmp_path), "claims", lambda b: b.replace(b"600", b"1,240")
        )

        [refused] = commit(folder).refused

        assert refused.code == "too-many-cells"

    def test_leading_blank_rows_of_a_spreadsheet_keep_row_numbers_true(self, tmp_path):
        book = openpyxl.Workbook()
        book.active.title = "Coaches"
        for number, text in enumerate([*COACH], start=2):
            book.active.cell(3, number, text)
        for number, text in enumerate([*COACH.values()], start=2):
            book.active.cell(5, number, text)
        book.active["H5"] = "thirty"
        book.save(tmp_path / "office.xlsx")

        [refused] = commit(tmp_path / "office.xlsx").refused

        assert (refused.row, refused.value) == (5, "thirty")


class TestHostileFiles:
    def test_a_file_beyond_the_size_is_refused_unread(self, tmp_path):
        path = tmp_path / "office.zip"
        with path.open("wb") as file:
            file.truncate(MAX_FILE_BYTES + 1)

        with pytest.raises(WorkbookUnusable, match="50 MB"):
            check(path)

    @pytest.mark.slow
    def test_a_zip_that_unfolds_a_thousandfold_is_refused(self, tmp_path):
        path = zipped(tmp_path / "office.zip", film=b"0" * 30_000_000)

        with pytest.raises(WorkbookUnusable, match="unfolds"):
            check(path)

    @pytest.mark.slow
    def test_a_zip_that_lies_about_its_size_is_still_counted(self, tmp_path):
        path = zipped(tmp_path / "office.zip", film=b"0" * 30_000_000)
        raw = path.read_bytes()
        path.write_bytes(
            raw.replace(struct.pack("<I", 30_000_000), struct.pack("<I", 9))
        )

        with pytest.raises(WorkbookUnusable):
            check(path)

    def test_a_damaged_zip_is_refused(self, tmp_path):
        path = zipped(tmp_path / "office.zip", film=zlib.compress(b"x" * 999) * 50)
        raw = bytearray(path.read_bytes())
        raw[60:90] = bytes(30)
        path.write_bytes(raw)

        with pytest.raises(WorkbookUnusable):
            check(path)

    def test_one_cell_far_out_is_refused_before_memory_is_asked_for(self, tmp_path):
        book = openpyxl.Workbook()
        book.active.title = "film"
        book.active["A1"], book.active["XFD1048576"] = "unit_no", "x"
        book.save(tmp_path / "office.xlsx")

        with pytest.raises(WorkbookUnusable, match="column 16384"):
            check(tmp_path / "office.xlsx")

    def test_too_many_columns_are_refused(self, tmp_path):
        write_csv(
            tmp_path / "film.csv", [{f"c{n}": "" for n in range(MAX_COLUMNS + 1)}]
        )

        with pytest.raises(WorkbookUnusable, match="columns"):
            check(tmp_path)

    def test_a_cell_too_long_is_refused_alone(self, tmp_path):
        folder = office(
            tmp_path,
            claims=[{"description": "x" * (MAX_CELL_CHARS + 1)}, {"ref": "C2"}],
        )

        result = commit(folder)

        assert [r.code for r in result.refused] == ["cell-too-long"]
        assert result.sheets["claims"].new == 1

    def test_a_quote_never_closed_is_said_with_its_line(self, tmp_path):
        folder = rewritten(
            office(tmp_path), "film", lambda b: b + b'"' + b"x" * 200_000
        )

        with pytest.raises(WorkbookUnusable, match="quote"):
            check(folder)


class TestCommand:
    def test_an_unusable_file_ends_with_two(self, tmp_path):
        with pytest.raises(CommandError) as ended:
            call_command("import_workbook", str(tmp_path / "none.zip"))

        assert ended.value.returncode == 2

    def test_refused_rows_end_well_and_are_counted(self, tmp_path):
        folder = office(tmp_path, visits=[{}, {"ref": "V2", "happened_on": "soon"}])
        out = io.StringIO()

        call_command("import_workbook", str(folder), stdout=out)

        assert "1 rows refused" in out.getvalue()
        assert Coach.objects.count() == 1

    def test_an_unknown_user_is_refused(self, tmp_path):
        with pytest.raises(CommandError, match="no user"):
            call_command("import_workbook", str(office(tmp_path)), by="nobody")
