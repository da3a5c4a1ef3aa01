"""Tell what changes, in the transaction that changes it, with a position per owner.

Each transaction gives its positions last of all it does, owner by owner in id order:
whoever holds a stream waits for nobody, so writers cannot lock each other out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from fleet.models import Event, EventKind, EventStream, Owner

BATCH_ROWS = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening:
    """One change to be told: of what kind, about which record, to which owner."""

    kind: EventKind
    subject: UUID
    coach_id: int
    at: datetime
    owner_id: int | None = None
    roof_id: int | None = None
    detail: str = ""
    entry_seq: int | None = None

    @property
    def sameness(self) -> tuple[object, ...]:
        """What makes two changes of one transaction one to a reader."""
        return self.owner_id, self.kind, self.subject, self.detail


_gathered: ContextVar[list[Happening] | None] = ContextVar("gathered", default=None)


@contextmanager
def gathering() -> Iterator[None]:
    """Gather what is told inside, and write it at the end of the outermost one."""
    if _gathered.get() is not None:
        yield
        return
    gathered: list[Happening] = []
    token = _gathered.set(gathered)
    try:
        yield
    finally:
        _gathered.reset(token)
    _write(gathered)


def tell(happenings: Iterable[Happening]) -> None:
    """Tell of changes, with the transaction that makes them."""
    gathered = _gathered.get()
    if gathered is not None:
        gathered.extend(happenings)
        return
    with transaction.atomic():
        _write(list(happenings))


def number_for_office(*, limit: int = 1000) -> None:
    """Give the office's numbers to events that are committed and have none yet.

    Only what is committed is seen here, so a number is never given to a change that
    may still be undone, and none comes before one that was read already.
    """
    waiting = Event.objects.filter(office_position__isnull=True).order_by("pk")
    if not waiting.exists():
        return
    with transaction.atomic():
        [office] = _locked([EventStream.OFFICE])
        events = list(waiting.only("pk")[:limit])
        for number, event in enumerate(events, start=office.position + 1):
            event.office_position = number
        Event.objects.bulk_update(events, ["office_position"], batch_size=BATCH_ROWS)
        office.position += len(events)
        office.save(update_fields=["position"])


def _write(gathered: Sequence[Happening]) -> None:
    if not gathered:
        return
    named = {each.owner_id for each in gathered if each.owner_id is not None}
    # Who was merged into another is told in that one's stream.
    counts_for = {
        pk: kept or pk
        for pk, kept in Owner.objects.filter(pk__in=named).values_list(
            "pk", "merged_into_id"
        )
    }
    streams = {row.stream: row for row in _locked(set(counts_for.values()))}
    events = []
    for each in _once_each(gathered):
        owner_id = counts_for[each.owner_id] if each.owner_id else None
        position = None
        if owner_id is not None:
            streams[owner_id].position += 1
            position = streams[owner_id].position
        events.append(
            Event(
                owner_id=owner_id,
                position=position,
                kind=each.kind,
                subject=each.subject,
                detail=each.detail,
                coach_id=each.coach_id,
                roof_id=each.roof_id,
                entry_seq=each.entry_seq,
                recorded_at=each.at,
            )
        )
    Event.objects.bulk_create(events, batch_size=BATCH_ROWS)
    EventStream.objects.bulk_update(
        streams.values(), ["position"], batch_size=BATCH_ROWS
    )


def _once_each(gathered: Sequence[Happening]) -> Iterable[Happening]:
    """Return the changes in order, the first of those that tell a reader the same."""
    first: dict[tuple[object, ...], Happening] = {}
    for each in gathered:
        first.setdefault(each.sameness, each)
    return first.values()


def _locked(numbers: Iterable[int]) -> list[EventStream]:
    """Return the streams, locked in order; one that is new is made first."""
    wanted = sorted(numbers)
    if not wanted:
        return []
    rows = EventStream.objects.select_for_update().filter(stream__in=wanted)
    known = list(rows.order_by("stream"))
    if len(known) == len(wanted):
        return known
    missing = set(wanted) - {row.stream for row in known}
    EventStream.objects.bulk_create(
        [EventStream(stream=number) for number in sorted(missing)],
        ignore_conflicts=True,
    )
    return list(rows.order_by("stream"))
