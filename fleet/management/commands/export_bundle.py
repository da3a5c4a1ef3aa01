"""``manage.py export_bundle ROOF FILE``: one roof's evidence for a stranger."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from fleet.actions.bundles import export_bundle
from fleet.errors import DomainError
from fleet.models import Roof


class Command(BaseCommand):
    help = "Write files, chain, proof and signature of one roof into a zip file."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("roof", help="the roof's id (a UUID)")
        parser.add_argument("file", type=Path, help="the zip file to write")
        parser.add_argument(
            "--with-texts", action="store_true", help="put in notes and captions too"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            roof = Roof.objects.filter(uuid=options["roof"]).first()
        except ValidationError:
            roof = None
        if roof is None:
            raise CommandError("There is no roof with this id.")
        try:
            checkpoint = export_bundle(
                roof=roof,
                target=options["file"],
                with_texts=options["with_texts"],
                now=timezone.now(),
            )
        except DomainError as refusal:
            options["file"].unlink(missing_ok=True)
            raise CommandError(refusal.message) from refusal
        self.stdout.write(
            f"{options['file']} is covered by checkpoint {checkpoint.number}. Check it "
            f"anywhere: python3 verify_bundle.py {options['file'].name} --key "
            f"{checkpoint.key.public_key}"
        )
