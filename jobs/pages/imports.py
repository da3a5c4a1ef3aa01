"""Send a workbook, look at what it would do, bring it in."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import PurePath
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from fleet.actions.errors import InvalidValue
from fleet.errors import NotAllowed
from fleet.scope import Scope
from fleet.selectors.scopes import scope_of
from jobs.imports import (
    KIND,
    SUFFIXES,
    commit_checked,
    packed_sheets,
    report_of,
    request_import,
)
from jobs.models import FINISHED, Run, RunState
from jobs.selectors import later_work_summary, runs_visible_to
from warranty.pages.access import form, page

PAGE_RUNS = 25
# A report may list thousands of rows; a page shows the first and says how many.
MOST_SHOWN = 200
SHEET_SUFFIXES = (".csv", ".json")
LISTS = ("refused", "warnings", "corrections")


@page
def import_list(request: HttpRequest) -> HttpResponse:
    """Show the form for a workbook and the imports so far, the newest first."""
    scope = _office(request)
    runs = runs_visible_to(scope).filter(kind=KIND).order_by("-pk")
    found = Paginator(runs, PAGE_RUNS).get_page(request.GET.get("page"))
    return render(request, "jobs/imports/list.html", {"found": found})


@form
def check(request: HttpRequest) -> HttpResponse:
    """Keep what was sent and look at it; nothing is brought in yet."""
    _office(request)
    name, chunks = _workbook(request.FILES.getlist("workbook"))
    run = request_import(
        chunks=chunks,
        file_name=name,
        mode="check",
        by=request.user,
        now=timezone.now(),
    )
    return redirect("import", uuid=run.uuid)


@page
def show(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Show how far an import is, then what it found; htmx asks for the progress."""
    run = get_object_or_404(_imports(_office(request)), uuid=uuid)
    is_finished = run.state in FINISHED
    if request.htmx and is_finished:
        # The page has changed, not the progress alone.
        return HttpResponse(headers={"HX-Refresh": "true"})
    context = {
        "run": run,
        "is_check": run.payload["mode"] == "check",
        "is_finished": is_finished,
        "is_waiting_alone": not is_finished
        and not later_work_summary(timezone.now()).is_runner_alive,
        "report": _shown(run) if run.state == RunState.DONE else None,
    }
    name = "_progress" if request.htmx else "show"
    return render(request, f"jobs/imports/{name}.html", context)


@form
def commit(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Bring in the very workbook that a finished check has looked at."""
    checked = get_object_or_404(_imports(_office(request)), uuid=uuid)
    run = commit_checked(run=checked, by=request.user, now=timezone.now())
    return redirect("import", uuid=run.uuid)


def _office(request: HttpRequest) -> Scope:
    scope = scope_of(request.user)
    if not scope.may_run_office:
        raise NotAllowed("Only the service office brings in workbooks. Ask the office.")
    return scope


def _imports(scope: Scope) -> QuerySet[Run]:
    return runs_visible_to(scope).filter(kind=KIND)


def _workbook(files: list[UploadedFile]) -> tuple[str, Iterable[bytes]]:
    """Return one workbook's name and bytes: as it is, or of several sheets, packed."""
    if not files:
        raise InvalidValue("workbook", "Choose a workbook, a zip, or all its sheets.")
    if len(files) == 1 and PurePath(str(files[0].name)).suffix.lower() in SUFFIXES:
        return str(files[0].name), files[0].chunks()
    sheets = [(str(file.name), file.chunks()) for file in files]
    for sheet, _ in sheets:
        if PurePath(sheet).suffix.lower() not in SHEET_SUFFIXES:
            raise InvalidValue(
                "workbook",
                f"{sheet} is no sheet. Send one XLSX workbook, a zip of the folder, "
                "or its CSV and JSON files together.",
            )
    return "sheets.zip", packed_sheets(sheets)


def _shown(run: Run) -> dict[str, object]:
    """Return the report with its lists cut to what a page holds."""
    report = report_of(run)
    cut = {name: report[name][:MOST_SHOWN] for name in LISTS}
    sheets = [{"name": name, **counts} for name, counts in report["sheets"].items()]
    return {**report, **cut, "sheets": sheets}
