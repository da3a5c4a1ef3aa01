"""``manage.py erase_person``: erase an owner's name, contact, texts and documents."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from fleet.actions.users import register_user
from fleet.selectors.scopes import owner_by_uuid
from warranty.actions.erasure import erase_person


class Command(BaseCommand):
    help = "Erase an owner; ledgers keep verifying and say what was erased."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("owner", help="the owner's uuid")
        parser.add_argument("--why", required=True, help="on which request")
        parser.add_argument(
            "--exhibit",
            type=UUID,
            action="append",
            default=[],
            help="a photo that shows the person; may be given several times",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        owner = owner_by_uuid(options["owner"])
        if owner is None:
            raise CommandError(f"No owner has the uuid {options['owner']!r}.")
        roofs = erase_person(
            owner=owner,
            why=options["why"],
            by=register_user(),
            now=timezone.now(),
            exhibits=options.get("exhibit", ()),
        )
        self.stdout.write(f"Erased; {len(roofs)} ledgers got a tombstone.")
