"""``manage.py checkpoint``: sign a checkpoint now, or make or follow the key."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from fleet.actions.checkpoints import make_checkpoint, make_key, rotate_key
from fleet.actions.users import register_user
from fleet.errors import DomainError


class Command(BaseCommand):
    help = "Sign the root over all roofs' ledgers and print it, to be kept elsewhere."

    def add_arguments(self, parser: ArgumentParser) -> None:
        first = parser.add_mutually_exclusive_group()
        first.add_argument(
            "--make-key", action="store_true", help="make the signing key, once"
        )
        first.add_argument(
            "--rotate-key", action="store_true", help="follow the key by a new one"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        try:
            if options["make_key"] or options["rotate_key"]:
                change = make_key if options["make_key"] else rotate_key
                key = change(by=register_user(), now=now)
                self.stdout.write(f"Public key: {key.public_key}")
                return
            row = make_checkpoint(now=now)
        except DomainError as refusal:
            raise CommandError(refusal.message) from refusal
        kept = {"note": row.note, "signature": row.signature}
        self.stdout.write(json.dumps(kept, sort_keys=True, separators=(",", ":")))
