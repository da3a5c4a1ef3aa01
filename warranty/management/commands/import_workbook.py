"""``manage.py import_workbook``: check an office's workbook, or bring it in."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from fleet.actions.users import register_user
from fleet.models import User
from warranty.actions.importing import (
    ImportResult,
    WorkbookUnusable,
    check_workbook,
    commit_workbook,
)

# The file itself cannot be used; with rows refused and the others in it is 0.
UNUSABLE = 2
MOST_PRINTED = 20


class Command(BaseCommand):
    help = "Bring in a workbook: a folder of CSV files, a zip of it, or one XLSX."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("path", type=Path, help="folder, zip or XLSX")
        parser.add_argument(
            "--dry-run",
            action="store_true",
            help="say what would happen, write nothing",
        )
        parser.add_argument("--json", action="store_true", help="print one JSON object")
        parser.add_argument("--by", help="username to record under; the register's own")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["path"]
        now = timezone.now()
        progress = self._progress if self.stderr.isatty() else None
        try:
            if options["dry_run"]:
                result = check_workbook(path, now=now, progress=progress)
            else:
                by = self._user(options["by"])
                result = commit_workbook(path, by=by, now=now, progress=progress)
        except WorkbookUnusable as error:
            if options["json"]:
                self.stdout.write(
                    json.dumps({"error": error.code, "reason": str(error)})
                )
            raise CommandError(str(error), returncode=UNUSABLE) from None
        if progress is not None:
            self.stderr.write("")
        if options["json"]:
            self.stdout.write(json.dumps(result.as_json(), ensure_ascii=False))
        else:
            self.stdout.write(as_text(result))

    def _progress(self, done: int, total: int) -> None:
        self.stderr.write(f"\r{done} of {total} rows", ending="")
        self.stderr.flush()

    def _user(self, username: str | None) -> User:
        if username is None:
            return register_user()
        user = User.objects.filter(username=username).first()
        if user is None:
            raise CommandError(f"There is no user {username}.", returncode=UNUSABLE)
        return user


def as_text(result: ImportResult) -> str:
    """Return a result for a person to read."""
    names = ("new", "unchanged", "corrected", "repeated", "refused", "warnings")
    lines = [f"{'sheet':<14}" + "".join(f"{name:>11}" for name in names)]
    for sheet, count in result.sheets.items():
        numbers = "".join(f"{getattr(count, name):>11}" for name in names)
        lines.append(f"{sheet or '(file)':<14}{numbers}")
    lines += [
        f"refused: {row.file} row {row.row}, {row.key} {row.column} {row.value!r}: "
        f"{row.reason}"
        for row in result.refused[:MOST_PRINTED]
    ]
    lines += [
        f"corrected: {value.file} row {value.row}, {value.key} {value.column}: "
        f"{value.old!r} becomes {value.new!r}"
        for value in result.corrections[:MOST_PRINTED]
    ]
    lines += [
        f"warning: {row.file} row {row.row}, {row.key} {row.column}: {row.message}"
        for row in result.warnings[:MOST_PRINTED]
    ]
    left = sum(
        max(0, len(rows) - MOST_PRINTED)
        for rows in (result.refused, result.corrections, result.warnings)
    )
    if left:
        lines.append(f"and {left} more lines: see them with --json.")
    verb = "recorded" if result.committed else "would be recorded"
    lines.append(
        f"{result.facts} facts {verb}, {result.refused_count} rows refused, "
        f"{result.warnings_count} warnings."
    )
    return "\n".join(lines)
