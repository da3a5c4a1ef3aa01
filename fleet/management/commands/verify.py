"""``manage.py verify``: recompute every ledger, read every file, check each root."""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from fleet.selectors.checkpoints import checkpoint_faults
from fleet.selectors.file_verification import verify_files
from fleet.selectors.verification import verify_ledgers


class Command(BaseCommand):
    help = "Hold every record, file and checkpoint against its hash."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="print JSON")
        parser.add_argument(
            "--held", type=Path, help="a checkpoint that was kept elsewhere"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        held = options["held"].read_text() if options.get("held") else ""
        ledgers = verify_ledgers(progress=self._show if self.stderr.isatty() else None)
        files = verify_files()
        checkpoints = list(checkpoint_faults(held))
        if options["json"]:
            told = asdict(ledgers) | {
                "files": files.files,
                "files_erased": files.erased,
                "file_faults": [asdict(fault) for fault in files.faults],
                "checkpoint_faults": checkpoints,
            }
            self.stdout.write(json.dumps(told))
        else:
            for fault in ledgers.faults:
                self.stdout.write(
                    f"Coach {fault.unit_no}, roof {fault.roof_no}, entry {fault.seq}: "
                    f"{fault.reason}."
                )
            for file in files.faults:
                self.stdout.write(f"File {file.sha256}: {file.reason}.")
            for line in checkpoints:
                self.stdout.write(f"{line}.")
            self.stdout.write(
                f"{ledgers.roofs} roofs, {ledgers.entries} entries, {ledgers.records} "
                f"records checked; {ledgers.erased} texts erased; "
                f"{len(ledgers.faults)} ledgers broken; {files.files} files read, "
                f"{files.erased} erased, "
                f"{len(files.faults)} damaged; {len(checkpoints)} checkpoint faults."
            )
        if ledgers.faults or files.faults or checkpoints:
            sys.exit(1)

    def _show(self, done: int, total: int) -> None:
        self.stderr.write(f"\r{done} of {total} roofs", ending="")
        if done == total:
            self.stderr.write("")
