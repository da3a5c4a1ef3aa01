"""``manage.py verify``: recompute every ledger and name the first bad entry."""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser
from dataclasses import asdict
from typing import Any

from django.core.management.base import BaseCommand

from fleet.selectors.verification import verify_ledgers


class Command(BaseCommand):
    help = "Recompute all ledgers and hold every record against them."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        result = verify_ledgers(progress=self._show if self.stderr.isatty() else None)
        if options["json"]:
            self.stdout.write(json.dumps(asdict(result)))
        else:
            for fault in result.faults:
                self.stdout.write(
                    f"Coach {fault.unit_no}, roof {fault.roof_no}, entry {fault.seq}: "
                    f"{fault.reason}."
                )
            self.stdout.write(
                f"{result.roofs} roofs, {result.entries} entries, {result.records} "
                f"records checked; {result.erased} texts erased; "
                f"{len(result.faults)} ledgers broken."
            )
        if result.faults:
            sys.exit(1)

    def _show(self, done: int, total: int) -> None:
        self.stderr.write(f"\r{done} of {total} roofs", ending="")
        if done == total:
            self.stderr.write("")
