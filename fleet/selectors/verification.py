"""Recompute every chain and hold every record against it."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC
from functools import cache
from typing import Final, TypeGuard

from django.apps import apps
from django.db import models

from fleet.ledger.chain import Link, first_fault
from fleet.models import (
    OFFICE_SCOPE,
    CoachFact,
    LedgerEntry,
    LedgerHead,
    Merge,
    PrivateText,
    Record,
    Roof,
    RoofFact,
)
from fleet.selectors.records import coach_ids_with_merged

BATCH_ROOFS = 100
MERGE: Final = "merge"
Key = tuple[str, str, str]  # a record's type, scope and uuid
Row = Record | Merge


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
    rows, merges = _rows_of(roofs), _merges()
    entries: dict[int, list[LedgerEntry]] = defaultdict(list)
    found = LedgerEntry.objects.filter(roof__in=roofs).order_by("roof_id", "seq")
    for entry in found.iterator(chunk_size=500):
        entries[entry.roof_id].append(entry)
    for roof in roofs:
        result.roofs += 1
        own = rows[roof.pk] | merges
        fault = _fault_of(roof, entries[roof.pk], own, result)
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
    rows: dict[Key, Row],
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
    entries: list[LedgerEntry], rows: dict[Key, Row], result: Verification
) -> tuple[int, str] | None:
    seen: set[Key] = set()
    for entry in entries:
        payload = json.loads(entry.payload)
        for kept in payload["records"]:
            if kept["type"] not in record_tables() and kept["type"] != MERGE:
                continue
            key = (kept["type"], kept.get("scope", OFFICE_SCOPE), kept["uuid"])
            seen.add(key)
            result.records += 1
            reason = _difference(kept, rows.get(key), entry, payload["by"], result)
            if reason:
                return entry.seq, reason
    return _unlisted_fault(entries, rows, seen)


def _unlisted_fault(
    entries: list[LedgerEntry], rows: dict[Key, Row], seen: set[Key]
) -> tuple[int, str] | None:
    """Return the first row that no entry tells of, at the entry that it names."""
    seq_of = {entry.pk: entry.seq for entry in entries}
    last = entries[-1].seq
    found = [
        (seq_of.get(row.entry_id, last) if isinstance(row, RoofFact) else last, key)
        for key, row in rows.items()
        # A merge stands in the chains of its own roofs only.
        if key not in seen and not isinstance(row, Merge)
    ]
    if not found:
        return None
    seq, (kind, _, uuid) = min(found)
    return seq, f"{kind} {uuid} stands in no entry"


def _difference(
    kept: dict[str, object],
    row: Row | None,
    entry: LedgerEntry,
    by: str,
    result: Verification,
) -> str:
    name = f"{kept['type']} {kept['uuid']}"
    if row is None:
        return f"{name} is gone"
    reason = _row_difference(kept, row, name, result)
    if not reason and isinstance(row, RoofFact):
        reason = _entry_difference(row, entry, by, name)
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
    kept: dict[str, object], row: Row, name: str, result: Verification
) -> str:
    now = row.ledger_record()
    for field_name, value in kept.items():
        text = getattr(row, field_name, None)
        if _is_erased(text) and isinstance(value, dict):
            # The law took the text; its salted hash stays and proves nothing more.
            result.erased += 1
            now[field_name] = {**value, "text": str(text.uuid)}
    changed = [n for n in kept.keys() | now.keys() if kept.get(n) != now.get(n)]
    return f"{name} was changed: {', '.join(sorted(changed))}" if changed else ""


def _is_erased(text: object) -> TypeGuard[PrivateText]:
    return isinstance(text, PrivateText) and text.erased_at is not None


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


def _rows_of(roofs: list[Roof]) -> dict[int, dict[Key, Row]]:
    """Return the rows of every record table for these roofs."""
    rows: dict[int, dict[Key, Row]] = defaultdict(dict)
    roofs_of_coach: dict[int, list[int]] = defaultdict(list)
    for roof in roofs:
        roofs_of_coach[roof.coach_id].append(roof.pk)
    kept_of = coach_ids_with_merged(roofs_of_coach)
    for kind, table in record_tables().items():
        for row in _read(table, roofs, list(kept_of)):
            key = (kind, row.scope, str(row.uuid))
            if isinstance(row, CoachFact):
                for roof_id in roofs_of_coach[kept_of[row.coach_id]]:
                    rows[roof_id][key] = row
            elif isinstance(row, RoofFact):
                rows[row.roof_id][key] = row
    return rows


def _merges() -> dict[Key, Row]:
    rows = Merge.objects.select_related("why").order_by("pk")
    return {(MERGE, OFFICE_SCOPE, str(row.uuid)): row for row in rows}


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
        of = rows.select_related(*named, "recorded_by", "coach")
        return of.filter(coach_id__in=coach_ids).iterator(chunk_size=500)
    return rows.filter(roof__in=roofs).iterator(chunk_size=500)
