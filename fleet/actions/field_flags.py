"""Mark for the office what two phones, or a phone and the office, say differently.

A flag depends on what is recorded, never on what came first: when the second record
of a pair arrives, both operations are flagged.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from enum import StrEnum

from fleet.actions.field_bodies import Draft
from fleet.models import (
    Booking,
    BookingState,
    FieldOperation,
    Installation,
    OperationState,
    Roof,
    RoofFact,
    Visit,
)

CLOCK_TOLERANCE = timedelta(minutes=5)


class Flag(StrEnum):
    """Why the office may want to look at an operation."""

    DISPUTED = "disputed"
    SAME_VISIT_TWICE = "same-visit-twice"
    BOOKING_CHANGED = "booking-changed"
    CLOCK_SKEW = "clock-skew"
    UNKNOWN_FIELD = "unknown-field"


# A newer phone's extra members are kept and need no decision.
FOR_THE_OFFICE = frozenset(Flag) - {Flag.UNKNOWN_FIELD}


def own_flags(
    draft: Draft, booking: Booking | None, *, received_at: datetime
) -> set[Flag]:
    """Return what an operation shows by itself and beside its booking."""
    flags: set[Flag] = set()
    if draft.captured_at - received_at > CLOCK_TOLERANCE:
        flags.add(Flag.CLOCK_SKEW)
    if draft.unknown:
        flags.add(Flag.UNKNOWN_FIELD)
    if draft.booking_uuid and _has_changed(draft, booking):
        flags.add(Flag.BOOKING_CHANGED)
    return flags


def _has_changed(draft: Draft, booking: Booking | None) -> bool:
    if booking is None or booking.state == BookingState.CANCELLED:
        return True
    told = draft.booking_version
    return told is not None and told != booking.version


def flag_pairs(roof: Roof, facts: Sequence[RoofFact]) -> None:
    """Flag the operations whose records contradict or repeat the given facts."""
    entries: dict[Flag, set[int]] = defaultdict(set)
    entries[Flag.DISPUTED] |= _rival_corrections(roof, facts)
    if any(isinstance(fact, Installation) for fact in facts):
        entries[Flag.DISPUTED] |= _several(
            Installation.objects.filter(roof=roof, supersedes__isnull=True)
        )
    for fact in facts:
        if isinstance(fact, Visit) and fact.supersedes is None:
            entries[Flag.SAME_VISIT_TWICE] |= _same_visits(roof, fact)
    for flag, entry_ids in entries.items():
        add_flag(flag, entry_ids)


def _rival_corrections(roof: Roof, facts: Sequence[RoofFact]) -> set[int]:
    named: dict[type[RoofFact], set[object]] = defaultdict(set)
    for fact in facts:
        if fact.supersedes:
            named[type(fact)].add(fact.supersedes)
    rivals: set[int] = set()
    for table, uuids in named.items():
        rows = table._default_manager.filter(roof=roof, supersedes__in=uuids)
        by_uuid: dict[object, list[RoofFact]] = defaultdict(list)
        for row in rows:
            by_uuid[row.supersedes].append(row)
        for several in by_uuid.values():
            if len(several) > 1 and not any(row.settles for row in several):
                rivals |= {row.entry_id for row in several}
    return rivals


def _same_visits(roof: Roof, fact: Visit) -> set[int]:
    return _several(
        Visit.objects.filter(
            roof=roof,
            kind=fact.kind,
            happened_on=fact.happened_on,
            supersedes__isnull=True,
        )
    )


def _several(rows: Iterable[RoofFact]) -> set[int]:
    entry_ids = [row.entry_id for row in rows]
    return set(entry_ids) if len(entry_ids) > 1 else set()


def add_flag(flag: Flag, entry_ids: Iterable[int]) -> None:
    """Add a flag to the operations that made these entries, and open them again."""
    wanted = list(entry_ids)
    if not wanted:
        return
    for operation in FieldOperation.objects.filter(entry_id__in=wanted):
        if flag.value not in operation.flags:
            operation.flags = sorted({*operation.flags, flag.value})
            operation.is_open = True
            operation.save(update_fields=["flags", "is_open"])


def is_for_the_office(state: str, flags: Iterable[str]) -> bool:
    """Return whether the office has something to decide."""
    if state in {OperationState.KEPT_ASIDE, OperationState.CONFLICT}:
        return True
    return bool(FOR_THE_OFFICE & {Flag(flag) for flag in flags})
