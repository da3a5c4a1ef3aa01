"""``manage.py match_photos FOLDER``: bring old phone photos to their visits."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from fleet.actions.users import register_user
from jobs.exhibits import request_matching


class Command(BaseCommand):
    help = "Match a folder of photos to visits by day and place; the rest waits."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", type=Path, help="read by the runner")
        parser.add_argument(
            "--technician", default="", help="whose phone it was: only their visits"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        folder = options["folder"].resolve()
        if not folder.is_dir():
            raise CommandError(f"There is no folder {folder}.")
        run = request_matching(
            folder=folder,
            technician=options["technician"],
            by=register_user(),
            now=timezone.now(),
        )
        self.stdout.write(
            f"Run {run.uuid} matches the photos of {folder}. What no visit is found "
            "for waits in the tray."
        )
