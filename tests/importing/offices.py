"""Workbooks for the importer's tests: the samples, and small ones made to order."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.core.management import call_command

from fleet.actions.users import register_user
from fleet.models import LedgerHead
from warranty.actions.importing import ImportResult, check_workbook, commit_workbook

SAMPLES = Path(__file__).resolve().parent.parent / "samples"
NOW = datetime(2026, 11, 2, 12, tzinfo=UTC)
LATER = datetime(2026, 11, 3, 12, tzinfo=UTC)

Rows = Sequence[Mapping[str, str]]

COACH = {
    "unit_no": "HL-1",
    "vin": "",
    "year": "2015",
    "make": "Kestrel",
    "model": "Drift 30",
    "body": "travel trailer",
    "length_ft": "26",
    "width_ft": "8",
    "substrate": "EPDM",
    "owner": "Petra Lindqvist",
    "owner_kind": "private",
    "owner_email": "desk4@example.org",
    "town": "Harrow Lake",
    "state": "MI",
    "retired_on": "",
}
ROOF = {
    "unit_no": "HL-1",
    "system": "MEMBRANE-2",
    "terms": "LIFE-2021",
    "started_on": "2024-05-01",
    "completed_on": "2024-05-02",
    "registered_on": "2024-05-10",
    "base_lot": "B200",
    "base_gal": "3.5",
}
PENETRATION = {
    "unit_no": "HL-1",
    "label": "vent 1",
    "kind": "vent",
    "x_ft": "6",
    "y_ft": "4",
    "width_in": "14",
    "length_in": "14",
    "detailed": "yes",
}
CLIMATE = {
    "unit_no": "HL-1",
    "taken_at": "2024-05-01T09:00:00-04:00",
    "air_f": "70",
    "surface_f": "75",
    "rh_pct": "50",
}
FILM = {
    "unit_no": "HL-1",
    "coat": "base",
    "area": "1",
    "spot": "1",
    "last_wet": "26",
    "first_dry": "28",
    "unit": "mil",
}
VISIT = {
    "ref": "V1",
    "unit_no": "HL-1",
    "kind": "inspection",
    "happened_on": "2025-05-01",
    "technician": "T. Yarrow",
    "result": "pass",
    "severity": "",
    "finding": "",
    "cures": "",
}
CLAIM = {
    "ref": "C1",
    "unit_no": "HL-1",
    "noticed_on": "2025-06-01",
    "reported_on": "2025-06-02",
    "description": "drip at vent",
    "estimate_usd": "600",
}
EXAMPLES: dict[str, dict[str, str]] = {
    "coaches": COACH,
    "roofs": ROOF,
    "penetrations": PENETRATION,
    "climate": CLIMATE,
    "film": FILM,
    "visits": VISIT,
    "claims": CLAIM,
}


def office(folder: Path, **sheets: Rows) -> Path:
    """Write a workbook of one coach; named sheets lay rows over the example's."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in ("systems", "terms"):
        text = (SAMPLES / f"{name}.json").read_text(encoding="utf-8")
        (folder / f"{name}.json").write_text(text, encoding="utf-8")
    for name, example in EXAMPLES.items():
        rows = [{**example, **row} for row in sheets.get(name, [{}])]
        write_csv(folder / f"{name}.csv", rows)
    return folder


def write_csv(path: Path, rows: Rows) -> None:
    """Write rows under all the columns that any of them has."""
    columns = list(dict.fromkeys(column for row in rows for column in row))
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, restval="")
        writer.writeheader()
        writer.writerows(rows)


def commit(path: Path, *, now: datetime = NOW) -> ImportResult:
    """Bring a workbook in as the register."""
    return commit_workbook(path, by=register_user(), now=now)


def check(path: Path) -> ImportResult:
    """Check a workbook on the import's day."""
    return check_workbook(path, now=NOW)


def heads() -> dict[int, tuple[int, str]]:
    """Return the last entry of every chain."""
    rows = LedgerHead.objects.order_by("pk").values_list("pk", "seq", "entry_sha256")
    return {roof: (seq, sha256) for roof, seq, sha256 in rows}


def printed(command: str, *arguments: object) -> list[dict[str, Any]]:
    """Return what a management command prints, one JSON object a line."""
    out = io.StringIO()
    call_command(command, *map(str, arguments), "--json", stdout=out)
    return [json.loads(line) for line in out.getvalue().splitlines()]
