"""``manage.py verify_packet FILE``: is this the packet that the register stored?"""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from jobs.packet_check import check_packet


class Command(BaseCommand):
    help = (
        "Hold a claim packet against the ledger. Exit code 0: it is one that was "
        "stored, whole; 1: it is not; 2: the file cannot be read."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, help="the PDF file")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            content = options["file"].read_bytes()
        except OSError as error:
            self.stderr.write(f"{options['file']} cannot be read: {error.strerror}.")
            sys.exit(2)
        verdict = check_packet(content)
        for sentence in (*verdict.faults, *verdict.notes):
            self.stdout.write(sentence)
        if not verdict.is_whole:
            sys.exit(1)
        self.stdout.write(
            f"This is packet {verdict.packet}, byte for byte as it was signed and "
            "stored, and the ledger names it."
        )
