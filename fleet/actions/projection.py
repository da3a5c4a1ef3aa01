"""Refresh the columns of coaches and roofs from the facts that count."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from datetime import date

from django.db.models import F

from fleet.ledger.correction import rows_that_stand
from fleet.models import (
    Coach,
    CoachDescription,
    CoachFact,
    Installation,
    Ownership,
    Retirement,
    Roof,
)
from fleet.selectors.records import coach_ids_with_merged

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


def project_coaches(coach_ids: Collection[int], *, today: date) -> None:
    """Set each coach's columns to what its facts say as of today."""
    kept_of = coach_ids_with_merged(coach_ids)
    described = _standing(CoachDescription, kept_of, "recorded_at")
    owned = _standing(Ownership, kept_of, "from_on")
    retired = _standing(Retirement, kept_of, "retired_on")
    coaches = list(Coach.objects.filter(pk__in=coach_ids).order_by("pk"))
    for coach in coaches:
        own = [row for row in described[coach.pk] if row.coach_id == coach.pk]
        for row in own[-1:]:
            for name in DESCRIBED:
                setattr(coach, name, getattr(row, name))
        holding = [row for row in owned[coach.pk] if row.from_on <= today]
        coach.holder_id = holding[-1].owner_id if holding else None
        coach.retired_on = (
            retired[coach.pk][0].retired_on if retired[coach.pk] else None
        )
        coach.version = F("version") + 1
    Coach.objects.bulk_update(
        coaches, [*DESCRIBED, "holder", "retired_on", "version"], batch_size=200
    )


def project_roofs(roof_ids: Collection[int]) -> None:
    """Set each roof's system, substrate and dates to what its installation says."""
    by_roof: dict[int, list[Installation]] = defaultdict(list)
    rows = Installation.objects.filter(roof_id__in=roof_ids)
    for row in rows.order_by("recorded_at", "pk"):
        by_roof[row.roof_id].append(row)
    roofs = list(Roof.objects.filter(pk__in=roof_ids).order_by("pk"))
    for roof in roofs:
        for row in rows_that_stand(by_roof[roof.pk]).rows[-1:]:
            roof.system_id = row.system_id
            roof.substrate = row.substrate
            roof.started_on = row.started_on
            roof.completed_on = row.completed_on
        roof.version = F("version") + 1
    Roof.objects.bulk_update(
        roofs,
        ["system", "substrate", "started_on", "completed_on", "version"],
        batch_size=200,
    )


def _standing(
    table: type[CoachFact], kept_of: dict[int, int], order: str
) -> dict[int, list[CoachFact]]:
    by_coach: dict[int, list[CoachFact]] = defaultdict(list)
    rows = table._default_manager.filter(coach_id__in=kept_of)
    for row in rows.order_by(order, "pk"):
        by_coach[kept_of[row.coach_id]].append(row)
    counted: dict[int, list[CoachFact]] = defaultdict(list)
    for coach_id, known in by_coach.items():
        counted[coach_id] = list(rows_that_stand(known).rows)
    return counted
