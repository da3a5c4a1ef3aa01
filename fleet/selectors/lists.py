"""Lists of records for people and programs: narrowed to the caller, joined once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from typing import TypeVar

from django.db.models import Exists, OuterRef, QuerySet

from fleet.ledger.correction import rows_that_stand
from fleet.models import (
    CoachFact,
    LedgerEntry,
    LedgerHead,
    Merge,
    Ownership,
    Record,
    RoofFact,
    System,
    Technician,
)
from fleet.scope import Scope, Sight
from fleet.selectors.records import coach_ids_with_merged
from fleet.selectors.scopes import within

AnyRoofFact = TypeVar("AnyRoofFact", bound=RoofFact)
AnyCoachFact = TypeVar("AnyCoachFact", bound=CoachFact)


def facts_visible_to(table: type[AnyRoofFact], scope: Scope) -> QuerySet[AnyRoofFact]:
    """Return facts about roofs that a caller may see, corrected ones marked."""
    later = table._default_manager.filter(
        roof=OuterRef("roof"), supersedes=OuterRef("uuid")
    )
    rows = (
        table._default_manager.select_related("roof", "entry", *_joined(table))
        .defer("entry__payload")
        .annotate(is_corrected=Exists(later))
    )
    return within(rows, scope, owner_path="roof__coach__holder_id")


def coach_facts_visible_to(
    table: type[AnyCoachFact], scope: Scope
) -> QuerySet[AnyCoachFact]:
    """Return facts about coaches that a caller may see; of owners only their own."""
    later = table._default_manager.filter(
        coach=OuterRef("coach"), supersedes=OuterRef("uuid")
    )
    rows = table._default_manager.select_related("coach", *_joined(table)).annotate(
        is_corrected=Exists(later)
    )
    rows = within(rows, scope, owner_path="coach__holder_id")
    if table is Ownership:
        rows = within(rows, scope, owner_path="owner_id")
    return rows


def _joined(table: type[Record]) -> list[str]:
    related = [
        name for name in table.ledger_fields if table._meta.get_field(name).is_relation
    ]
    return list(dict.fromkeys(["recorded_by", *related]))


def entries_visible_to(scope: Scope, roof_id: int) -> QuerySet[LedgerEntry]:
    """Return the entries of one roof's chain, for a caller who may see the roof."""
    entries = LedgerEntry.objects.filter(roof_id=roof_id)
    return within(entries, scope, owner_path="roof__coach__holder_id")


def systems() -> QuerySet[System]:
    """Return all systems with their coats and substrates."""
    return System.objects.prefetch_related("coats", "substrates")


def technicians() -> QuerySet[Technician]:
    """Return everybody who works on roofs."""
    return Technician.objects.all()


def merges() -> QuerySet[Merge]:
    """Return all merges of duplicates."""
    return Merge.objects.select_related("why", "recorded_by")


def held_since(coach_ids: Iterable[int], scope: Scope) -> dict[int, date] | None:
    """Return from which day the caller holds each coach; None for who sees all.

    Texts from before that day were written about somebody else.
    """
    if scope.sight is Sight.EVERYTHING:
        return None
    kept_of = coach_ids_with_merged(set(coach_ids))
    by_coach: dict[int, list[Ownership]] = defaultdict(list)
    rows = Ownership.objects.filter(coach_id__in=kept_of).order_by("from_on", "pk")
    for row in rows:
        by_coach[kept_of[row.coach_id]].append(row)
    since: dict[int, date] = {}
    for coach_id, known in by_coach.items():
        day = _start_of_holding(list(rows_that_stand(known).rows), scope.owner_ids)
        if day is not None:
            since[coach_id] = day
    return since


def _start_of_holding(
    ownerships: list[Ownership], owner_ids: tuple[int, ...]
) -> date | None:
    """Return the first day of the last unbroken stretch held by these owners."""
    start: date | None = None
    for row in ownerships:
        if row.owner_id not in owner_ids:
            start = None
        elif start is None:
            start = row.from_on
    return start


def ledger_head(roof_id: int) -> LedgerHead:
    """Return the last link of one roof's chain."""
    return LedgerHead.objects.get(roof_id=roof_id)
