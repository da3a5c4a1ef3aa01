"""``manage.py make_demo``: an invented fleet to look around in."""

from __future__ import annotations

from argparse import ArgumentParser
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from fleet.civil import office_day
from fleet.models import Coach, User
from fleet.selectors.demo import is_demo_here
from jobs.notices.sweep import look
from jobs.notices.watch import look_back
from jobs.packets import request_packet
from warranty.demo.build import Made, build
from warranty.demo.fates import FEWEST_COACHES
from warranty.demo.losses import After
from warranty.demo.people import give_passwords
from warranty.management.parsing import day
from warranty.models import Claim
from warranty.rules.ladder import business_day_until

PACKETS = 2
NOTICES_SINCE = timedelta(days=120)


class Command(BaseCommand):
    help = (
        "Fill an empty database with an invented fleet and its history up to today. "
        "A demo that is there already is kept; its sign-ins get new passwords."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--coaches", type=int, default=240)
        parser.add_argument(
            "--seed", type=int, default=7, help="another number, another fleet"
        )
        parser.add_argument("--today", type=day, help="the day it ends; today")
        parser.add_argument(
            "--fresh", action="store_true", help="refuse unless the database is empty"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["coaches"] < FEWEST_COACHES:
            raise CommandError(
                f"The story needs {FEWEST_COACHES} coaches or more; "
                f"got {options['coaches']}."
            )
        if is_demo_here() and not options["fresh"]:
            self.stdout.write("The demo is here already and stays as it is.")
        elif Coach.objects.exists() or User.objects.filter(is_active=True).exists():
            raise CommandError(
                "This database holds records, and the demo wants an empty one. Name "
                "another folder with ROOFREG_DATA_DIR, or remove the demo's."
            )
        else:
            self._make(options["coaches"], options["seed"], options["today"])
        self._tell_sign_ins()

    def _make(self, coaches: int, seed: int, today: date | None) -> None:
        now = timezone.now()
        if today is not None and today != office_day(now):
            zone = ZoneInfo(settings.OFFICE_TIME_ZONE)
            now = datetime.combine(today, time(9), zone)
        # All or nothing: half a fleet would look like a whole one the next time.
        with transaction.atomic():
            made = build(
                coaches=coaches,
                seed=seed,
                today=office_day(now),
                now=now,
                say=self.stdout.write,
            )
            _request_packets(made, now)
            _tell_owners(now)
        self.stdout.write(
            f"{coaches} coaches, {made.roofs} roofs, {made.entries} entries, "
            f"{len(made.losses)} claims. Lot {made.thin_lot} ran thin."
        )

    def _tell_sign_ins(self) -> None:
        self.stdout.write(f"\nSign in at {settings.SITE_URL}/ as one of")
        for sign_in in give_passwords():
            self.stdout.write(
                f"  {sign_in.username:<12} {sign_in.password:<32} ({sign_in.who})"
            )
        self.stdout.write("Everything here is invented. Passwords are told once.")


def _tell_owners(now: datetime) -> None:
    """Note what the owners were owed on the last business morning: the runner sends
    it at once, into files."""
    zone = ZoneInfo(settings.OFFICE_TIME_ZONE)
    yesterday = office_day(now) - timedelta(days=1)
    day = business_day_until(yesterday, settings.HOLIDAYS)
    at = datetime.combine(day, time(6), zone)
    look_back(since=now - NOTICES_SINCE, now=at)
    while look(now=at)[0]:
        pass


def _request_packets(made: Made, now: datetime) -> None:
    """Ask for packets of the newest leaks, first of roofs whose readings are placed."""
    looked_at = [
        loss for loss in made.losses if loss.after in {After.REPAIRED, After.SEEN}
    ]
    looked_at.sort(key=lambda loss: (loss.roof.plan.is_placed, loss.ref))
    office = User.objects.get(username="office")
    for loss in looked_at[-PACKETS:]:
        claim = Claim.objects.get(ref=loss.ref)
        request_packet(claim=claim, by=office, now=now)
