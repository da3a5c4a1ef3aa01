"""Make the invented fleet and record its history as it would have been recorded."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import groupby
from zoneinfo import ZoneInfo

from django.conf import settings

from fleet.actions.recording import recording
from fleet.models import Coach, Owner, Roof, User
from warranty.demo.answers import tell_answers
from warranty.demo.chance import Chance
from warranty.demo.diary import OFFICE, Calendar, Entry
from warranty.demo.fates import Fate, deal
from warranty.demo.losses import Loss, tell_losses
from warranty.demo.people import add_owners, add_people, add_technicians
from warranty.demo.plan import CoachPlan, assign_crews_and_lots, plan_coach
from warranty.demo.products import add_products
from warranty.demo.story import Cast, tell

YEARS = 7
PHONES_YEARS = 2.6
Say = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """What was made."""

    roofs: int
    entries: int
    thin_lot: str
    losses: tuple[Loss, ...]


def calendar_of(today: date) -> Calendar:
    """Return the days between which the demo's history lies."""
    return Calendar(
        today=today,
        first_day=today - timedelta(days=round(YEARS * 365.25)),
        phones_since=today - timedelta(days=round(PHONES_YEARS * 365.25)),
        zone=ZoneInfo(settings.OFFICE_TIME_ZONE),
    )


def build(*, coaches: int, seed: int, today: date, now: datetime, say: Say) -> Made:
    """Make the fleet; its history ends yesterday, its standings are as of ``now``."""
    calendar = calendar_of(today)
    chance = Chance(seed, "fleet")
    opened_at = datetime.combine(calendar.first_day, time(8), calendar.zone)
    owners = add_owners(chance, coaches)
    products = add_products(chance, now=opened_at - timedelta(days=60))
    plans = [
        plan_coach(
            number,
            fate,
            seed=seed,
            calendar=calendar,
            owners=owners,
            products=products,
        )
        for number, fate in enumerate(deal(coaches, chance), start=1)
    ]
    people = add_people(chance, _largest_fleet(plans))
    cast = Cast(
        calendar=calendar,
        owners=owners,
        people=people,
        technicians=add_technicians(chance, people),
    )
    laid = [plan for plan in plans if plan.fate is not Fate.SURVEYED]
    thin_lot = assign_crews_and_lots(laid, chance)
    stories = [tell(plan, cast) for plan in plans]
    losses = tell_losses(stories, calendar, chance)
    tell_answers(losses, calendar, Chance(seed, "answers"))
    entries = [entry for story in stories for entry in story.diary.entries()]
    _record(sorted(entries, key=lambda entry: entry.at), people, now, say)
    return Made(
        roofs=Roof.objects.count(),
        entries=len(entries),
        thin_lot=thin_lot,
        losses=tuple(losses),
    )


def _largest_fleet(plans: list[CoachPlan]) -> Owner:
    """Return the rental fleet with most coaches: its manager has something to see."""
    held = Counter(plan.owner.name for plan in plans if plan.is_rental)
    name = max(held, key=lambda name: (held[name], name))
    return next(plan.owner for plan in plans if plan.owner.name == name)


def _record(
    entries: list[Entry], people: dict[str, User], now: datetime, say: Say
) -> None:
    """Record all entries in order, as one recording whose moment moves on.

    So each record was known from its own moment, while the subscribers, who are told
    once at the end, assess every roof once, as of today, and not after each entry.
    """
    with recording(by=people[OFFICE], now=entries[0].at) as made:
        for year, of_year in groupby(entries, key=lambda entry: entry.at.year):
            for entry in of_year:
                made.now, made.by = entry.at, people[entry.by]
                entry.write(made)
            say(f"{year}: {Coach.objects.count()} coaches on record")
        made.now = now
