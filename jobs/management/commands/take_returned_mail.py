"""``manage.py take_returned_mail``: what a mail server pipes its reports into."""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand
from django.db import Error as DatabaseError
from django.utils import timezone

from jobs.notices.returns import NotAReport, take_returned

# sysexits.h: the server keeps the mail and tries again later.
EX_TEMPFAIL = 75


class Command(BaseCommand):
    help = (
        "Take a returned mail (delivery report or complaint) from standard input, "
        "or several from files. What is no report of ours is left alone."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("files", nargs="*", type=Path, help="else standard input")

    def handle(self, *args: Any, files: list[Path], **options: Any) -> None:
        raws = [path.read_bytes() for path in files] or [sys.stdin.buffer.read()]
        for raw in raws:
            try:
                for line in take_returned(raw, now=timezone.now()):
                    self.stdout.write(line)
            except NotAReport as refusal:
                # Not an error: a mailbox gets other mail too, and none may bounce.
                self.stdout.write(f"left alone: {refusal}")
            except DatabaseError as error:
                self.stderr.write(f"The database does not answer: {error}")
                sys.exit(EX_TEMPFAIL)
