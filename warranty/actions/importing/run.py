"""Check a workbook, or commit it: the same plan, written or not."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, nullcontext
from datetime import datetime
from itertools import islice
from pathlib import Path
from typing import Final

from django.db import reset_queries, transaction

from fleet.actions.recording import Recording, recording
from fleet.civil import office_day
from fleet.models import OFFICE_SCOPE, User
from warranty.actions.importing.catalogue import Catalogue, catalogue_on_record
from warranty.actions.importing.catalogue_rows import document_coats, document_rows
from warranty.actions.importing.claims import plan_claims
from warranty.actions.importing.coach import plan_coach, tell_coach
from warranty.actions.importing.film import plan_film
from warranty.actions.importing.people import find_people
from warranty.actions.importing.plan import BatchPlan
from warranty.actions.importing.readings import plan_climate, plan_penetrations
from warranty.actions.importing.record import find_coaches, read_facts
from warranty.actions.importing.result import ImportResult
from warranty.actions.importing.roof import plan_roofs
from warranty.actions.importing.visits import plan_visits
from warranty.actions.importing.writing import count_facts, has_anything, write
from warranty.workbook import layout
from warranty.workbook.errors import WorkbookUnusable
from warranty.workbook.layout import SheetLayout
from warranty.workbook.limits import MAX_CATALOGUE_ROWS
from warranty.workbook.sheet import RawRow, body_rows, read_heading
from warranty.workbook.source import Source, open_source
from warranty.workbook.spool import Spool, UnitRows, spool

# A write lock is held for one batch: about a tenth of a second on a small machine.
BATCH_COACHES: Final = 50
BATCH_ROWS: Final = 10_000

Progress = Callable[[int, int], None]
Guard = Callable[[], AbstractContextManager[None]]


def check_workbook(
    path: Path, *, now: datetime, progress: Progress | None = None
) -> ImportResult:
    """Return what committing a workbook would do; nothing is written.

    Raises:
        WorkbookUnusable: the file itself cannot be read.
    """
    return _run(path, by=None, now=now, progress=progress, guard=nullcontext)


def commit_workbook(
    path: Path,
    *,
    by: User,
    now: datetime,
    progress: Progress | None = None,
    guard: Guard = nullcontext,
) -> ImportResult:
    """Record a workbook, some coaches at a time, and return what was done.

    Each batch is one transaction inside ``guard()``. After an interruption the same
    call goes on: what was recorded is found unchanged.

    Raises:
        WorkbookUnusable: the file itself cannot be read; nothing was recorded.
    """
    return _run(path, by=by, now=now, progress=progress, guard=guard)


def _run(
    path: Path,
    *,
    by: User | None,
    now: datetime,
    progress: Progress | None,
    guard: Guard,
) -> ImportResult:
    result = ImportResult(committed=by is not None)
    with open_source(path) as source, spool() as spooled:
        # The whole file is read before anything is written: an unusable one leaves
        # no trace.
        _say_what_is_missing(source, result)
        catalogue = _read_catalogue(source, result)
        for sheet in layout.COACH_SHEETS:
            if sheet.name in source.sheets:
                _fill(spooled, source, sheet, result)
        spooled.seal()
        if by is not None:
            with guard(), transaction.atomic():
                catalogue.write(now)
        done = 0
        for units in spooled.batches(units=BATCH_COACHES, rows=BATCH_ROWS):
            _batch(units, catalogue, result, by=by, now=now, guard=guard)
            done += sum(len(rows) for unit in units for rows in unit.rows.values())
            # In debug every statement is kept, values and all.
            reset_queries()
            if progress is not None:
                progress(done, spooled.row_count)
    return result


def _batch(
    units: list[UnitRows],
    catalogue: Catalogue,
    result: ImportResult,
    *,
    by: User | None,
    now: datetime,
    guard: Guard,
) -> None:
    if by is None:
        batch = _plan(units, catalogue, result, now, made=None)
        result.facts += count_facts(batch)
        return
    with guard(), recording(by=by, now=now, scope=OFFICE_SCOPE) as made:
        # Imports wait for each other: two at once would both find a coach new.
        User.objects.select_for_update().get(pk=by.pk)
        batch = _plan(units, catalogue, result, now, made=made)
        if has_anything(batch):
            write(made, batch)
            result.facts += count_facts(batch)


def _plan(
    units: list[UnitRows],
    catalogue: Catalogue,
    result: ImportResult,
    now: datetime,
    *,
    made: Recording | None,
) -> BatchPlan:
    record = find_coaches([unit.unit_no for unit in units])
    if made is not None:
        made.lock(roof.pk for roofs in record.roofs.values() for roof in roofs.values())
    read_facts(
        record,
        visit_refs=list(_cells(units, layout.VISITS, "ref")),
        claim_refs=list(_cells(units, layout.CLAIMS, "ref")),
    )
    batch = BatchPlan(
        record=record,
        people=find_people(
            (" ".join(n.split()) for n in _cells(units, layout.COACHES, "owner")),
            _cells(units, layout.VISITS, "technician"),
        ),
        catalogue=catalogue,
        result=result,
        today=office_day(now),
    )
    for unit in units:
        plan = plan_coach(unit, batch)
        if plan is None:
            continue
        plan_roofs(plan)
        tell_coach(plan)
        plan_penetrations(plan)
        plan_climate(plan)
        plan_film(plan)
        plan_visits(plan)
        plan_claims(plan)
        batch.coaches.append(plan)
    return batch


def _cells(units: list[UnitRows], sheet: SheetLayout, column: str) -> Iterator[str]:
    at = sheet.columns.index(column)
    return (raw.cells[at] for unit in units for raw in unit.rows.get(sheet.name, ()))


def _say_what_is_missing(source: Source, result: ImportResult) -> None:
    for name in layout.EXPECTED:
        if name not in source.sheets:
            result.warn(
                name,
                0,
                "",
                code="missing-sheet",
                message=f"There is no sheet {name}; what it would tell stays as it is.",
            )
    for name in source.ignored:
        result.warn(
            "",
            0,
            "",
            code="unknown-sheet",
            message=f"{name} is no sheet we know and was not read.",
            value=name,
        )


def _read_catalogue(source: Source, result: ImportResult) -> Catalogue:
    catalogue = catalogue_on_record()
    systems, coats = _catalogue_rows(source, layout.SYSTEMS, result), []
    if layout.SYSTEMS.name in source.documents:
        coats = list(document_coats(source.document(layout.SYSTEMS.name)))
    elif layout.COATS.name in source.sheets:
        coats = _catalogue_rows(source, layout.COATS, result)
    catalogue.read_systems(systems, coats, result)
    catalogue.read_editions(_catalogue_rows(source, layout.TERMS, result), result)
    return catalogue


def _catalogue_rows(
    source: Source, sheet: SheetLayout, result: ImportResult
) -> list[RawRow]:
    if sheet.name in source.documents:
        return list(document_rows(sheet, source.document(sheet.name)))
    if sheet.name not in source.sheets:
        return []
    rows = list(islice(_rows(source, sheet, result), MAX_CATALOGUE_ROWS + 1))
    if len(rows) > MAX_CATALOGUE_ROWS:
        raise WorkbookUnusable(
            f"Sheet {sheet.name} has more than {MAX_CATALOGUE_ROWS} rows. Split it.",
            sheet=sheet.name,
        )
    return rows


def _fill(
    spooled: Spool, source: Source, sheet: SheetLayout, result: ImportResult
) -> None:
    unit_at = sheet.columns.index("unit_no")
    for row in spooled.fill(sheet, _rows(source, sheet, result)):
        if row.problem is not None:
            result.refuse(sheet.name, row.row_no, row.cells[unit_at], row.problem)


def _rows(source: Source, sheet: SheetLayout, result: ImportResult) -> Iterator[RawRow]:
    if encoding := source.fallback(sheet.name):
        result.warn(
            sheet.name,
            0,
            "",
            code="other-encoding",
            message=f"This sheet is no UTF-8 and was read as {encoding}. Check names.",
        )
    rows = source.rows(sheet.name)
    heading = read_heading(sheet, rows)
    if heading is None:
        result.warn(
            sheet.name,
            0,
            "",
            code="empty-sheet",
            message="This sheet is empty; what it would tell stays as it is.",
        )
        return
    for name in heading.unknown:
        result.warn(
            sheet.name,
            heading.row_no,
            "",
            code="unknown-column",
            message=f"Column {name} is none we know and was not read.",
            column=name[:80],
        )
    yield from body_rows(sheet, heading, rows)
