"""``manage.py claim_standings``: the standing on the day each loss was noticed."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from warranty.management.parsing import moment
from warranty.models import Claim
from warranty.selectors.claims import claim_standings


class Command(BaseCommand):
    help = "Print each claim with the standing on the day its loss was noticed."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--known-at", type=moment, help="only what was recorded by then; now"
        )
        parser.add_argument(
            "--json", action="store_true", help="one JSON object a line"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        known_at: datetime = options["known_at"] or timezone.now()
        claims = Claim.objects.select_related("roof__coach")
        for row in claim_standings(claims, known_at=known_at):
            line = {
                "claim": row.ref,
                "unit_no": row.unit_no,
                "noticed_on": row.noticed_on.isoformat(),
                "standing": row.standing.value if row.standing else None,
            }
            if options["json"]:
                self.stdout.write(json.dumps(line))
            else:
                self.stdout.write(
                    f"{row.ref:<10} {row.unit_no:<12} {row.noticed_on} "
                    f"{line['standing'] or 'no promise'}"
                )
