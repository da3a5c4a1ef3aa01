"""Bring an office's workbook onto the record: check it, then commit it."""

from __future__ import annotations

from warranty.actions.importing.result import (
    CorrectedValue,
    ImportResult,
    Notice,
    RefusedRow,
    SheetCount,
)
from warranty.actions.importing.run import check_workbook, commit_workbook
from warranty.workbook.errors import WorkbookUnusable

__all__ = [
    "CorrectedValue",
    "ImportResult",
    "Notice",
    "RefusedRow",
    "SheetCount",
    "WorkbookUnusable",
    "check_workbook",
    "commit_workbook",
]
