"""The made-up office workbook against an independent reading of it."""

from __future__ import annotations

import csv
import json
import shutil
import zipfile
from datetime import date, datetime
from pathlib import Path

import openpyxl
import pytest

from fleet.models import Coach, LedgerEntry
from tests.importing.offices import LATER, NOW, SAMPLES, commit, heads, printed

pytestmark = [pytest.mark.django_db, pytest.mark.slow]
EXPECTED = json.loads((SAMPLES / "expected.json").read_text(encoding="utf-8"))
# Known at a moment after the import: a claim's day lies years before it.
AFTER = "2026-12-01T00:00:00Z"


def standings(as_of: str) -> dict[str, object]:
    """Return the standings command's answers in the shape of expected.json."""
    lines = printed("standings", "--as-of", as_of, "--known-at", AFTER)
    return {
        line["unit_no"]: {
            "standing": line["standing"],
            "next_due_on": line["next_due_on"],
            "holds_until": line["holds_until"],
            "clauses": {
                code: clause["verdict"] for code, clause in line["clauses"].items()
            },
        }
        for line in lines
    }


def claims() -> dict[str, object]:
    return {
        line["claim"]: {
            "unit_no": line["unit_no"],
            "noticed_on": line["noticed_on"],
            "standing": line["standing"],
        }
        for line in printed("claim_standings", "--known-at", AFTER)
    }


def assert_all_as_expected() -> None:
    assert standings("2026-11-01") == EXPECTED["as_of"]
    assert standings("2025-11-01") == EXPECTED["year_ago"]
    assert claims() == EXPECTED["claims"]


def refused(rows) -> list[tuple[str, str]]:
    return sorted((row["file"], row["key"]) for row in rows)


def copied(folder: Path) -> Path:
    """Return a copy of the samples without their answers."""
    folder.mkdir()
    for file in SAMPLES.iterdir():
        if file.suffix in {".csv", ".json"} and file.name != "expected.json":
            shutil.copy(file, folder)
    return folder


def as_typed_cell(column: str, text: str) -> object:
    """Return a cell as a spreadsheet holds it once somebody typed the text."""
    if column.endswith("_on"):
        for style in ("%Y-%m-%d", "%m/%d/%Y"):
            try:
                return datetime.strptime(text, style).date()  # noqa: DTZ007 - a day
            except ValueError:
                continue
    try:
        return float(text) if column not in {"unit_no", "ref", "vin"} else text
    except ValueError:
        return text


def as_xlsx(path: Path) -> Path:
    """Return the samples as one XLSX with true dates and numbers."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for file in sorted(SAMPLES.glob("*.csv")):
        sheet = book.create_sheet(file.stem)
        with file.open(encoding="utf-8-sig", newline="") as text:
            rows = list(csv.reader(text))
        sheet.append(rows[0])
        for row in rows[1:]:
            cells = [as_typed_cell(*pair) for pair in zip(rows[0], row, strict=True)]
            sheet.append(cells)
    add_catalogue(book)
    book.save(path)
    return path


def add_catalogue(book: openpyxl.Workbook) -> None:
    systems = json.loads((SAMPLES / "systems.json").read_text(encoding="utf-8"))
    weather = ("air_min_c", "air_max_c", "rh_max", "dew_margin_c")
    sheet, coats = book.create_sheet("systems"), book.create_sheet("coats")
    sheet.append(["code", "title", "substrates", *weather])
    columns = list(systems["MEMBRANE-2"]["coats"][0])
    coats.append(["system", *columns])
    for code, system in systems.items():
        substrates = "; ".join(system["substrates"])
        sheet.append([code, system["title"], substrates, *(system[w] for w in weather)])
        for coat in system["coats"]:
            coats.append([code, *(coat[column] for column in columns)])
    terms = json.loads((SAMPLES / "terms.json").read_text(encoding="utf-8"))
    sheet = book.create_sheet("terms")
    columns = list(terms["LIFE-2021"])
    sheet.append(["code", *columns])
    for code, edition in terms.items():
        sheet.append([code, *(edition[column] for column in columns)])


def test_the_samples_give_the_independent_reading():
    [result] = printed("import_workbook", SAMPLES)

    assert refused(result["refused"]) == refused(EXPECTED["refused"])
    assert_all_as_expected()


def test_the_same_workbook_twice_changes_nothing():
    first = commit(SAMPLES)
    before, entries = heads(), LedgerEntry.objects.count()

    again = commit(SAMPLES, now=LATER)

    assert first.facts > 6_000
    assert (again.facts, again.corrections_count) == (0, 0)
    assert LedgerEntry.objects.count() == entries
    assert heads() == before


def test_a_dry_run_counts_the_same_and_writes_nothing():
    [checked] = printed("import_workbook", SAMPLES, "--dry-run")
    assert not Coach.objects.exists()

    [done] = printed("import_workbook", SAMPLES)

    assert {**checked, "committed": True} == done


def test_a_zip_of_the_folder_gives_the_same(tmp_path):
    folder = copied(tmp_path / "office")
    path = tmp_path / "office.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in folder.iterdir():
            archive.write(file, f"office/{file.name}")

    result = commit(path)

    assert refused(result.as_json()["refused"]) == refused(EXPECTED["refused"])
    assert_all_as_expected()


def test_one_xlsx_gives_the_same_and_agrees_with_the_folder(tmp_path):
    path = as_xlsx(tmp_path / "office.xlsx")

    result = commit(path)

    assert refused(result.as_json()["refused"]) == refused(EXPECTED["refused"])
    assert_all_as_expected()
    again = commit(SAMPLES, now=LATER)
    assert (again.facts, again.corrections_count) == (0, 0)


def test_refused_rows_name_file_row_column_value_and_reason():
    result = commit(SAMPLES)

    [no_such_day] = [row for row in result.refused if row.key == "HL-0001"]
    lines = (SAMPLES / "visits.csv").read_text(encoding="utf-8-sig").splitlines()
    assert "2023-02-30" in lines[no_such_day.row - 1]
    assert no_such_day.column == "happened_on"
    assert no_such_day.value == "2023-02-30"
    assert no_such_day.code == "no-such-date"
    assert no_such_day.reason.endswith(".")


def test_facts_are_known_from_the_import_and_tell_of_their_day():
    commit(SAMPLES)

    held = Coach.objects.get(unit_no="HL-0001").ownerships.get()
    assert held.recorded_at == NOW
    assert held.from_on == date(2025, 7, 16)  # completed_on in roofs.csv
