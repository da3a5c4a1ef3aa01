"""Workbooks, checked and brought in later, with progress."""

from __future__ import annotations

import json
import shutil
import tempfile
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path, PurePath
from typing import Any

from fleet import store
from fleet.actions.users import user_or_register
from fleet.errors import DomainError
from fleet.models import User
from fleet.store.incoming import incoming
from jobs.models import Lane, Run, RunState
from jobs.runs import start
from jobs.work import Effect, Work
from warranty.actions.importing import ImportResult, check_workbook, commit_workbook

KIND = "import_workbook"
MODES = ("check", "commit")
SUFFIXES = (".zip", ".xlsx")
# A workbook of fifty thousand rows is a few megabytes.
MAX_BYTES = 50 * 1024 * 1024


class NotAWorkbook(DomainError):
    """The upload is neither a zip of CSV files nor an XLSX workbook."""

    code = "not-a-workbook"
    http_status = 415


class ImportNotFinished(DomainError):
    """The import is still waiting or running."""

    code = "import-not-finished"
    http_status = 409


def request_import(
    *, chunks: Iterable[bytes], file_name: str, mode: str, by: User, now: datetime
) -> Run:
    """Keep an uploaded workbook and start checking it, or bringing it in.

    Raises:
        NotAWorkbook: the name ends neither in .zip nor in .xlsx.
        TooLarge: more bytes than a workbook has.
    """
    suffix = PurePath(file_name).suffix.lower()
    if suffix not in SUFFIXES:
        raise NotAWorkbook("Send a zip of the CSV files, or one XLSX workbook.")
    with incoming(max_bytes=MAX_BYTES) as upload:
        for chunk in chunks:
            upload.write(chunk)
        digest = upload.keep()
    return _start(digest=digest, suffix=suffix, mode=mode, by=by, now=now)


def packed_sheets(
    sheets: Sequence[tuple[str, Iterable[bytes]]],
) -> Iterator[bytes]:
    """Yield a zip of single sheets, as if the office had packed its folder itself."""
    with tempfile.TemporaryFile() as file:
        with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
            for name, chunks in sheets:
                with packed.open(zipfile.ZipInfo(PurePath(name).name), "w") as sheet:
                    for chunk in chunks:
                        sheet.write(chunk)
        file.seek(0)
        while chunk := file.read(64 * 1024):
            yield chunk


def commit_checked(*, run: Run, by: User, now: datetime) -> Run:
    """Bring in the very workbook that a finished check has looked at.

    Raises:
        ImportNotFinished: the check has not ended yet.
    """
    if run.state != RunState.DONE:
        raise ImportNotFinished("Wait until the check has ended, then commit it.")
    return _start(
        digest=str(run.payload["workbook"]),
        suffix=str(run.payload["suffix"]),
        mode="commit",
        by=by,
        now=now,
    )


def report_of(run: Run) -> dict[str, Any]:
    """Return what a finished import found: counts, refused rows, corrections.

    Raises:
        ImportNotFinished: the import is still waiting or running.
    """
    if run.state != RunState.DONE:
        raise ImportNotFinished("Wait until the import has ended.", run=str(run.uuid))
    report: dict[str, Any] = json.loads(store.fetch(run.result["report"]))
    return report


def _start(*, digest: str, suffix: str, mode: str, by: User, now: datetime) -> Run:
    return start(
        kind=KIND,
        payload={"workbook": digest, "suffix": suffix, "mode": mode},
        by=by,
        now=now,
        lane=Lane.HEAVY,
    )


def import_workbook(work: Work) -> Effect:
    """Check or bring in one workbook.

    Safe to run again: what an earlier start has recorded is found unchanged.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"workbook{work.payload['suffix']}"
        with (
            store.opened(str(work.payload["workbook"])) as kept,
            path.open("wb") as file,
        ):
            shutil.copyfileobj(kept, file)
        result = _run(path, work)
    report = store.keep(json.dumps(result.as_json()).encode())

    def effect() -> Mapping[str, object]:
        return {"report": report, "refused": result.refused_count}

    return effect


def _run(path: Path, work: Work) -> ImportResult:
    reached = 0

    def show(done: int, total: int) -> None:
        nonlocal reached
        if not reached:
            work.progress.total(total)
        work.progress.step(f"{done} of {total} rows", steps=done - reached)
        reached = done

    now = work.clock()
    if work.payload["mode"] == "check":
        return check_workbook(path, now=now, progress=show)
    by = user_or_register(work.requested_by_id)
    return commit_workbook(path, by=by, now=now, progress=show, guard=work.writing)
