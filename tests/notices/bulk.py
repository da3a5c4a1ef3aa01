"""Many promised roofs at once, as rows: what the sweep reads, and nothing else."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from fleet.models import Coach, Owner, OwnerKind, Roof
from jobs.models import NoticeWatch
from tests.builders import make_edition
from warranty.models import Coverage, Standing
from warranty.rules.courtesy import instant_of
from warranty.rules.ladder import inspection_rungs, next_rung_on
from warranty.rules.version import RULE_VERSION

ZONES = ("America/Detroit", "America/New_York", "America/Phoenix", "Pacific/Honolulu")
BATCH = 2000
FLEET_OF = 30  # of thirty coaches due, one fleet holds ten
GRACE_DAYS = 60


def make_roofs(count: int, *, due: int, now: datetime, prefix: str = "B") -> None:
    """Add roofs of which so many reach a step of the ladder today."""
    edition = make_edition(grace_days=GRACE_DAYS)
    today = now.astimezone(ZoneInfo("America/Detroit")).date()
    for start in range(0, count, BATCH):
        size = min(BATCH, count - start)
        numbers = range(start, start + size)
        owners = Owner.objects.bulk_create(_owners(numbers, prefix))
        coaches = Coach.objects.bulk_create(
            Coach(
                unit_no=f"{prefix}-{number:07}",
                length_m=8,
                width_m=2,
                time_zone=ZONES[number % len(ZONES)],
                holder=owners[number - start],
            )
            for number in numbers
        )
        roofs = Roof.objects.bulk_create(
            Roof(coach=coach, completed_on=date(2020, 1, 1), opened_at=now)
            for coach in coaches
        )
        Coverage.objects.bulk_create(
            Coverage(roof=roof, edition=edition) for roof in roofs
        )
        dues = [_due_on(number, due, today) for number in numbers]
        Standing.objects.bulk_create(
            _standing(roof, on, today, now)
            for roof, on in zip(roofs, dues, strict=True)
        )
        NoticeWatch.objects.bulk_create(
            NoticeWatch(
                roof=roof,
                look_at=now if number < due else _next_step(coach, on, today),
                since_at=now - timedelta(days=1),
                word="IN_FORCE",
            )
            for number, roof, coach, on in zip(
                numbers, roofs, coaches, dues, strict=True
            )
        )


def _owners(numbers: range, prefix: str) -> Iterator[Owner]:
    for number in numbers:
        is_fleet = number % FLEET_OF == 0
        yield Owner(
            kind=OwnerKind.RENTAL_FLEET if is_fleet else OwnerKind.PRIVATE,
            name=f"Owner {prefix} {number}",
            email=f"owner-{prefix.lower()}-{number}@harrow-lake.example",
        )


def _due_on(number: int, due: int, today: date) -> date:
    """Return thirty days on for the due ones, else a day whose steps are all ahead."""
    if number < due:
        return today + timedelta(days=30)
    return today + timedelta(days=70 + number % 290)


def _standing(roof: Roof, due_on: date, today: date, now: datetime) -> Standing:
    return Standing(
        roof=roof,
        word="IN_FORCE",
        as_of=today,
        next_due_on=due_on,
        holds_until=due_on,
        verdicts="MMMMMMMMMMMM",
        rule_version=RULE_VERSION,
        assessed_at=now,
    )


def _next_step(coach: Coach, due_on: date, today: date) -> datetime:
    rungs = inspection_rungs(due_on, grace_days=GRACE_DAYS, holidays=())
    day = next_rung_on(rungs, today)
    assert day is not None
    return instant_of(day, time(0), ZoneInfo(coach.time_zone))
