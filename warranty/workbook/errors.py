"""What a workbook is refused for, as a whole or cell by cell."""

from __future__ import annotations

from fleet.errors import DomainError


class WorkbookUnusable(DomainError):
    """The file itself cannot be read; nothing of it went in."""

    code = "workbook-unusable"
    http_status = 422


class CellError(ValueError):
    """One cell cannot be read; ``code`` is stable, the text is for a person."""

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message


class RowRefused(Exception):
    """One row stays out: which column, which value, and why."""

    def __init__(self, *, column: str, value: str, code: str, reason: str) -> None:
        super().__init__(reason)
        self.column = column
        self.value = value
        self.code = code
        self.reason = reason
