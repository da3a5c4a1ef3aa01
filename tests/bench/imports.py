"""How long a large workbook takes, and how much memory, beside the bare reading.

Run ``python -m tests.bench.imports [--rows N] [--commit]``. The ceiling is the same
file read row by row with ``csv`` and dropped, in a process of its own: no importer can
hold less or be faster. Memory is the growth of the peak resident size.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime
from importlib import import_module
from pathlib import Path
from time import perf_counter
from typing import Any

SAMPLES = Path(__file__).resolve().parent.parent / "samples"
FILM_PER_COACH = 80
SHEETS = ("coaches", "roofs", "penetrations", "climate", "film")
NOW = datetime(2026, 11, 2, 12, tzinfo=UTC)


def write_office(folder: Path, rows: int) -> int:
    """Write an invented workbook of about so many rows; return how many."""
    coaches = rows // (FILM_PER_COACH + 4)
    for name in ("systems.json", "terms.json"):
        (folder / name).write_bytes((SAMPLES / name).read_bytes())
    units = [f"HL-{number:05d}" for number in range(coaches)]
    sheets: dict[str, Iterator[str]] = {
        "coaches": (
            f"{unit},26,8,EPDM,Owner {unit},private,{unit}@example.org"
            for unit in units
        ),
        "roofs": (
            f"{unit},MEMBRANE-2,LIFE-2021,2024-05-01,2024-05-02" for unit in units
        ),
        "penetrations": (f"{unit},vent 1,vent,6,4,14,14,yes" for unit in units),
        "climate": (f"{unit},2024-05-01T09:00:00-04:00,70,75,50" for unit in units),
        # As offices sort it: every coach's first spot, then every second one.
        "film": (
            f"{unit},{'base' if no < 40 else 'finish'},{no // 15 + 1},"
            f"{no % 15 // 3 + 1},{24 + no % 4},{26 + no % 4},mil"
            for no in range(FILM_PER_COACH)
            for unit in units
        ),
    }
    headings = {
        "coaches": "unit_no,length_ft,width_ft,substrate,owner,owner_kind,owner_email",
        "roofs": "unit_no,system,terms,started_on,completed_on",
        "penetrations": "unit_no,label,kind,x_ft,y_ft,width_in,length_in,detailed",
        "climate": "unit_no,taken_at,air_f,surface_f,rh_pct",
        "film": "unit_no,coat,area,spot,last_wet,first_dry,unit",
    }
    for name, lines in sheets.items():
        with (folder / f"{name}.csv").open("w", encoding="utf-8") as file:
            file.write(headings[name] + "\n")
            file.writelines(line + "\n" for line in lines)
    return coaches * (FILM_PER_COACH + 4)


def peak_mb() -> float:
    """Return this process's highest resident size so far. [MB]

    From the kernel's own account of this program: ``ru_maxrss`` would start at the
    size of the process that started it.
    """
    status = Path("/proc/self/status").read_text(encoding="ascii")
    [kb] = [line.split()[1] for line in status.splitlines() if "VmHWM" in line]
    return int(kb) / 1024


def read_only(folder: Path) -> int:
    """Read every row of every sheet and drop it."""
    count = 0
    for file in sorted(folder.glob("*.csv")):
        with file.open(encoding="utf-8-sig", newline="") as text:
            count += sum(1 for _ in csv.reader(text)) - 1
    return count


def measured(folder: Path, what: str) -> dict[str, float]:
    """Measure one way of reading in a process of its own."""
    done = subprocess.run(  # noqa: S603 - our own program and arguments
        [sys.executable, "-m", "tests.bench.imports", "--inside", what, str(folder)],
        check=True,
        capture_output=True,
        text=True,
        cwd=SAMPLES.parent.parent,
    )
    answer: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
    return answer


def inside(what: str, folder: Path) -> dict[str, float]:
    """Measure here: load everything first, so that only the workbook's share grows."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    import_module("django").setup()
    importing = import_module("warranty.actions.importing")
    users = import_module("fleet.actions.users")
    management = import_module("django.core.management")
    if what == "prepare":
        # In a process of its own: what it takes would hide what a workbook takes.
        management.call_command("migrate", verbosity=0)
        return {}
    with tempfile.TemporaryDirectory() as small:
        write_office(Path(small), 2 * (FILM_PER_COACH + 4))
        importing.check_workbook(Path(small), now=NOW)
    before, started = peak_mb(), perf_counter()
    if what == "csv":
        rows = read_only(folder)
    elif what == "check":
        rows = rows_of(importing.check_workbook(folder, now=NOW))
    else:
        by = users.register_user()
        rows = rows_of(importing.commit_workbook(folder, by=by, now=NOW))
    return {
        "rows": rows,
        "seconds": perf_counter() - started,
        "grown_mb": peak_mb() - before,
    }


def rows_of(result: Any) -> int:
    """Return how many rows of coaches' sheets a result counts as gone in."""
    counts = [result.sheets[name] for name in SHEETS]
    return sum(count.new + count.unchanged for count in counts)


def main() -> None:
    """Print each figure beside its ceiling."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=50_000)
    parser.add_argument("--commit", action="store_true", help="record it too")
    parser.add_argument("--inside", nargs=2, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.inside:
        what, folder = options.inside
        sys.stdout.write(json.dumps(inside(what, Path(folder))) + "\n")
        return
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "office"
        folder.mkdir()
        os.environ["ROOFREG_DATA_DIR"] = place
        os.environ.pop("ROOFREG_DATABASE_URL", None)
        os.environ |= {"ROOFREG_DEBUG": "no", "ROOFREG_SECRET_KEY": "bench"}
        rows = write_office(folder, options.rows)
        measured(folder, "prepare")
        sys.stdout.write(f"{rows} rows, SQLite, synchronous=FULL\n")
        for what in ("csv", "check", *(["commit", "again"] if options.commit else [])):
            answer = measured(folder, what)
            sys.stdout.write(
                f"{what:<8}{answer['seconds']:8.2f} s"
                f"{answer['rows'] / answer['seconds']:12.0f} rows/s"
                f"{answer['grown_mb']:8.1f} MB grown\n"
            )


if __name__ == "__main__":
    main()
