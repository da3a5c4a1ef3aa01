"""Recompute every chain and hold every record against it."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC
from functools import cache

from django.apps import apps
from django.db import models

from fleet.ledger.chain import Link, first_fault
from fleet.models import (
    CoachFact,
    LedgerEntry,
    LedgerHead,
    PrivateText,
    Record,
    Roof,
    RoofFact,
)
from fleet.selectors.records import coach_ids_with_merged

BATCH_ROOFS = 100
Key = tuple[str, str]  # a record's type and uuid


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerFault:
    """The first thing wrong with one roof's ledger."""

    unit_no: str
    roof_no: int
    roof: str
    seq: int
    reason: str


@dataclass(slots=True, kw_only=True)
class Verification:
    """What a check of the ledgers came to."""

    roofs: int = 0
    entries: int = 0
    records: int = 0
    erased: int = 0
    faults: list[LedgerFault] = field(default_factory=list)


def verify_ledgers(
    *, progress: Callable[[int, int], None] | None = None
) -> Verification:
    """Check all roofs: chain, head, and every record against its entry."""
    result = Verification()
    roofs = Roof.objects.select_related("coach", "head").order_by("pk")
    total = roofs.count()
    batch: list[Roof] = []
    for roof in roofs.iterator(chunk_size=BATCH_ROOFS):
        batch.append(roof)
        if len(batch) == BATCH_ROOFS:
            _verify_batch(batch, result)
            batch = []
            if progress:
                progress(result.roofs, total)
    _verify_batch(batch, result)
    if progress:
        progress(result.roofs, total)
    return result


@cache
def record_tables() -> dict[str, type[Record]]:
    """Return every record table of the project by the type name in payloads."""
    return {
        table._meta.model_name or "": table
        for table in apps.get_models()
        if issubclass(table, Record)
    }


def _verify_batch(roofs: list[Roof], result: Verification) -> None:
    if not roofs:
        return
    rows = _rows_of(roofs)
    entries: dict[int, list[LedgerEntry]] = defaultdict(list)
    found = LedgerEntry.objects.filter(roof__in=roofs).order_by("roof_id", "seq")
    for entry in found.iterator(chunk_size=500):
        entries[entry.roof_id].append(entry)
    for roof in roofs:
        result.roofs += 1
        fault = _fault_of(roof, entries[roof.pk], rows[roof.pk], result)
        if fault is not None:
            seq, reason = fault
            result.faults.append(
                LedgerFault(
                    unit_no=roof.coach.unit_no,
                    roof_no=roof.roof_no,
                    roof=str(roof.uuid),
                    seq=seq,
                    reason=reason,
                )
            )


def _fault_of(
    roof: Roof,
    entries: list[LedgerEntry],
    rows: dict[Key, list[Record]],
    result: Verification,
) -> tuple[int, str] | None:
    result.entries += len(entries)
    fault = first_fault(str(roof.uuid), map(_link, entries))
    if fault is not None:
        return fault.seq, fault.reason
    head: LedgerHead | None = getattr(roof, "head", None)
    last = entries[-1] if entries else None
    if head is None or last is None:
        return 0, "the roof has no chain"
    if (head.seq, head.entry_sha256) != (last.seq, last.entry_sha256):
        return last.seq, "the head does not name the last entry"
    return _record_fault(entries, rows, result)


def _record_fault(
    entries: list[LedgerEntry], rows: dict[Key, list[Record]], result: Verification
) -> tuple[int, str] | None:
    seen: dict[Key, int] = {}
    for entry in entries:
        payload = json.loads(entry.payload)
        for kept in payload["records"]:
            key = (kept["type"], kept["uuid"])
            seen[key] = entry.seq
            if kept["type"] not in record_tables():
                continue
            result.records += 1
            reason = _difference(kept, rows.get(key, []), entry, payload["by"], result)
            if reason:
                return entry.seq, reason
    unlisted = next((key for key in rows if key not in seen), None)
    if unlisted is not None:
        kind, uuid = unlisted
        return entries[-1].seq, f"{kind} {uuid} stands in no entry"
    return None


def _difference(
    kept: dict[str, object],
    rows: Iterable[Record],
    entry: LedgerEntry,
    by: str,
    result: Verification,
) -> str:
    name = f"{kept['type']} {kept['uuid']}"
    reason = f"{name} is gone"
    for row in rows:
        reason = _row_difference(kept, row, name, result)
        if not reason and isinstance(row, RoofFact):
            reason = _entry_difference(row, entry, by, name)
        if not reason:
            return ""
    return reason


def _entry_difference(row: RoofFact, entry: LedgerEntry, by: str, name: str) -> str:
    """Return how a row contradicts its entry: place, time or hand."""
    if row.entry_id != entry.pk:
        return f"{name} was moved to another entry"
    if row.recorded_at != entry.recorded_at:
        return f"{name} was changed: recorded_at"
    if str(row.recorded_by.uuid) != by:
        return f"{name} was changed: recorded_by"
    return ""


def _row_difference(
    kept: dict[str, object], row: Record, name: str, result: Verification
) -> str:
    now = row.ledger_record()
    for field_name, value in kept.items():
        text = getattr(row, field_name, None)
        if isinstance(text, PrivateText) and text.erased_at is not None:
            # The law took the text; its salted hash stays and proves nothing more.
            result.erased += 1
            now[field_name] = value
    changed = [n for n in kept.keys() | now.keys() if kept.get(n) != now.get(n)]
    return f"{name} was changed: {', '.join(sorted(changed))}" if changed else ""


def _link(entry: LedgerEntry) -> Link:
    return Link(
        seq=entry.seq,
        kind=entry.kind,
        payload=entry.payload,
        payload_sha256=entry.payload_sha256,
        previous_sha256=entry.previous_sha256,
        entry_sha256=entry.entry_sha256,
        recorded_at=entry.recorded_at.astimezone(UTC).isoformat(
            timespec="microseconds"
        ),
    )


def _rows_of(roofs: list[Roof]) -> dict[int, dict[Key, list[Record]]]:
    """Return the rows of every record table for these roofs, by type and uuid."""
    rows: dict[int, dict[Key, list[Record]]] = defaultdict(lambda: defaultdict(list))
    roofs_of_coach: dict[int, list[int]] = defaultdict(list)
    for roof in roofs:
        roofs_of_coach[roof.coach_id].append(roof.pk)
    kept_of = coach_ids_with_merged(roofs_of_coach)
    for kind, table in record_tables().items():
        for row in _read(table, roofs, list(kept_of)):
            key = (kind, str(row.uuid))
            if isinstance(row, CoachFact):
                for roof_id in roofs_of_coach[kept_of[row.coach_id]]:
                    rows[roof_id][key].append(row)
            elif isinstance(row, RoofFact):
                rows[row.roof_id][key].append(row)
    return rows


def _read(
    table: type[Record], roofs: list[Roof], coach_ids: list[int]
) -> Iterator[Record]:
    named = [
        name
        for name in table.ledger_fields
        if isinstance(table._meta.get_field(name), models.ForeignKey)
    ]
    rows = table._default_manager.select_related(*named, "recorded_by").order_by("pk")
    if issubclass(table, CoachFact):
        return rows.filter(coach_id__in=coach_ids).iterator(chunk_size=500)
    return rows.filter(roof__in=roofs).iterator(chunk_size=500)
