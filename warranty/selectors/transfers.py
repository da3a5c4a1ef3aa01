"""Transfers, and whether the inspection that an edition asks for has come."""

from __future__ import annotations

from datetime import date

from django.db.models import Exists, OuterRef, QuerySet

from fleet.models import Visit, VisitResult
from fleet.scope import Scope
from fleet.selectors.scopes import within
from warranty.models import Transfer
from warranty.selectors.facts import SATISFYING_KINDS


def transfers_visible_to(scope: Scope) -> QuerySet[Transfer]:
    """Return the transfers that a caller may see, with whether they are inspected.

    Both holders of a sale see it; each other's name only staff do.
    """
    since = Visit.objects.filter(
        roof=OuterRef("roof"),
        kind__in=SATISFYING_KINDS,
        result=VisitResult.PASS,
        happened_on__gte=OuterRef("sold_on"),
    )
    rows = Transfer.objects.select_related(
        "roof", "former", "holder", "recorded_by", "entry"
    ).annotate(is_inspected=Exists(since))
    taken = within(rows, scope, owner_path="holder_id")
    return taken | within(rows, scope, owner_path="former_id")


def is_open(transfer: Transfer) -> bool:
    """Return whether the edition still waits for its inspection."""
    return transfer.needs_inspection and not transfer.is_inspected  # type: ignore[attr-defined]  # annotated


def days_late(transfer: Transfer) -> int:
    """Return how many days after the deadline we were told. [d]"""
    limit: date | None = transfer.deadline_on
    return 0 if limit is None else max((transfer.told_on - limit).days, 0)
