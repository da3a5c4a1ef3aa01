"""A workbook sent to the register is checked and brought in as later work."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from django.utils import timezone

from fleet.actions.users import register_user
from fleet.models import Coach, FilmReading
from jobs import imports, relay
from jobs.models import Run, RunState
from jobs.tasks import surroundings

SAMPLES = Path(__file__).parent.parent / "samples"
SHEETS = ("systems.json", "terms.json", "coaches.csv", "roofs.csv", "visits.csv")

pytestmark = pytest.mark.django_db


def zipped(*names: str) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in names:
            archive.write(SAMPLES / name, name)
    return buffer.getvalue()


def run_import(content: bytes, mode: str) -> Run:
    run = imports.request_import(
        chunks=[content[:1000], content[1000:]],
        file_name="Office 2026.ZIP",
        mode=mode,
        by=register_user(),
        now=timezone.now(),
    )
    relay.sweep(surroundings())
    run.refresh_from_db()
    return run


@pytest.mark.slow
def test_a_check_writes_nothing_and_a_commit_of_it_brings_all_in():
    checked = run_import(zipped(*SHEETS), "check")
    assert checked.state == RunState.DONE
    assert not Coach.objects.exists()

    run = imports.commit_checked(run=checked, by=register_user(), now=timezone.now())
    relay.sweep(surroundings())

    run.refresh_from_db()
    assert run.state == RunState.DONE
    assert Coach.objects.count() == 60
    assert imports.report_of(run)["refused_count"] == 2
    assert run.progress_done == run.progress_total


def test_a_file_of_another_kind_is_refused_at_once():
    with pytest.raises(imports.NotAWorkbook):
        imports.request_import(
            chunks=[b"%PDF-1.7"],
            file_name="claim.pdf",
            mode="check",
            by=register_user(),
            now=timezone.now(),
        )


def test_an_unreadable_workbook_is_set_aside_with_its_reason():
    run = run_import(b"this is no archive", "commit")

    assert run.state == RunState.DEAD
    assert run.last_error
    assert not FilmReading.objects.exists()


def test_a_report_is_not_there_before_the_end():
    run = imports.request_import(
        chunks=[zipped(*SHEETS)],
        file_name="a.zip",
        mode="check",
        by=register_user(),
        now=timezone.now(),
    )

    with pytest.raises(imports.ImportNotFinished):
        imports.report_of(run)
