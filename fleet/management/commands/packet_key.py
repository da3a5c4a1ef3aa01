"""``manage.py packet_key``: make the key that signs packets, or tell of it."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from fleet.errors import DomainError
from fleet.packet_key import make_packet_key, read_packet_key


class Command(BaseCommand):
    help = "Make the key that signs claim packets, or say which one does."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--make", action="store_true", help="make a key and its certificate, once"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        now, path = timezone.now(), settings.PACKET_KEY_FILE
        try:
            if options["make"]:
                make_packet_key(name=settings.COMPANY_NAME, path=path, now=now)
            found = read_packet_key(now=now)
        except DomainError as refusal:
            raise CommandError(refusal.message) from refusal
        certificate = found.certificate
        self.stdout.write(
            f"{certificate.subject.rfc4514_string()}, valid until "
            f"{certificate.not_valid_after_utc:%Y-%m-%d}, signs claim packets.\n"
            f"SHA-256 of its certificate: {found.certificate_sha256}"
        )
