"""One roof's ledger as people look at it."""

from __future__ import annotations

from django.db.models import QuerySet

from fleet.models import LedgerEntry, LedgerHead, Roof


def head_seq_of(roof_id: int) -> int:
    """Return how many entries a roof's chain has."""
    head = LedgerHead.objects.filter(roof_id=roof_id).values_list("seq", flat=True)
    return head.first() or 0


def entries_of(roof: Roof) -> QuerySet[LedgerEntry]:
    """Return a roof's entries, the newest first."""
    return roof.entries.order_by("-seq")
