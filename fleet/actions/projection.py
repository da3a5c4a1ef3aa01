"""Refresh the columns of coaches and roofs from the facts that count."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from datetime import datetime

from django.db.models import F
from django.db.models.expressions import Combinable
from django.db.models.functions import Coalesce

from fleet.actions.events import Happening, tell
from fleet.civil import office_day
from fleet.ledger.correction import rows_that_stand
from fleet.models import (
    Coach,
    CoachDescription,
    CoachFact,
    EventKind,
    Installation,
    Ownership,
    Retirement,
    Roof,
)
from fleet.selectors.records import by_precedence, coach_ids_with_merged

DESCRIBED = (
    "vin",
    "model_year",
    "make",
    "model",
    "body",
    "length_m",
    "width_m",
    "town",
    "state",
    "time_zone",
)


# What a coach's event says of the owner it is told to.
HELD, LEFT, MERGED = "held", "left", "merged"


def project_coaches(coach_ids: Collection[int], *, now: datetime) -> None:
    """Set each coach's columns to what its facts say as of today, and tell of it."""
    today = office_day(now)
    # Locked before the facts are read: of two writers the later one sees both facts.
    locked = Coach.objects.select_for_update().filter(pk__in=coach_ids)
    coaches = list(locked.order_by("pk"))
    kept_of = coach_ids_with_merged(coach_ids)
    described = _standing(CoachDescription, kept_of, "recorded_at")
    owned = _standing(
        Ownership,
        kept_of,
        "from_on",
        # An owner merged into another holds in that one's name.
        counts_for_id=Coalesce("owner__merged_into_id", "owner_id"),
    )
    retired = _standing(Retirement, kept_of, "retired_on")
    for coach in coaches:
        before = coach.holder_id
        own = [row for row in described[coach.pk] if row.coach_id == coach.pk]
        for row in own[-1:]:
            for name in DESCRIBED:
                setattr(coach, name, getattr(row, name))
        holding = [row for row in owned[coach.pk] if row.from_on <= today]
        coach.holder_id = holding[-1].counts_for_id if holding else None
        coach.retired_on = (
            retired[coach.pk][0].retired_on if retired[coach.pk] else None
        )
        coach.version = F("version") + 1
        tell(_coach_happenings(coach, before, now))
    Coach.objects.bulk_update(
        coaches, [*DESCRIBED, "holder", "retired_on", "version"], batch_size=200
    )


def _coach_happenings(
    coach: Coach, before: int | None, now: datetime
) -> list[Happening]:
    """Return what is told of one coach: to its holder, and to who held it before."""
    told = [(coach.holder_id, "")]
    if coach.holder_id != before:
        told = [(before, LEFT), (coach.holder_id, HELD)]
    return [
        Happening(
            kind=EventKind.COACH,
            subject=coach.uuid,
            coach_id=coach.pk,
            owner_id=owner_id,
            detail=detail,
            at=now,
        )
        for owner_id, detail in told
        if owner_id is not None or detail != LEFT
    ]


def project_roofs(roof_ids: Collection[int]) -> None:
    """Set each roof's system, substrate and dates to what its installation says."""
    by_roof: dict[int, list[Installation]] = defaultdict(list)
    rows = Installation.objects.filter(roof_id__in=roof_ids)
    for row in by_precedence(rows):
        by_roof[row.roof_id].append(row)
    roofs = list(Roof.objects.filter(pk__in=roof_ids).order_by("pk"))
    for roof in roofs:
        standing = rows_that_stand(by_roof[roof.pk]).rows
        newest = standing[-1] if standing else None
        roof.system_id = newest.system_id if newest else None
        roof.substrate = newest.substrate if newest else ""
        roof.started_on = newest.started_on if newest else None
        roof.completed_on = newest.completed_on if newest else None
        roof.version = F("version") + 1
    Roof.objects.bulk_update(
        roofs,
        ["system", "substrate", "started_on", "completed_on", "version"],
        batch_size=200,
    )


def _standing(
    table: type[CoachFact],
    kept_of: dict[int, int],
    order: str,
    **worked_out: Combinable,
) -> dict[int, list[CoachFact]]:
    by_coach: dict[int, list[CoachFact]] = defaultdict(list)
    rows = table._default_manager.filter(coach_id__in=kept_of)
    for row in rows.annotate(**worked_out).order_by(order, "pk"):
        by_coach[kept_of[row.coach_id]].append(row)
    counted: dict[int, list[CoachFact]] = defaultdict(list)
    for coach_id, known in by_coach.items():
        counted[coach_id] = list(rows_that_stand(known).rows)
    return counted
