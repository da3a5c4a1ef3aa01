"""The one way that anything is recorded: rows, ledger entries and subscribers in one
transaction."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Protocol, TypeVar

from django.conf import settings
from django.db import transaction
from django.utils.module_loading import import_string

from fleet.actions.events import Happening, gathering, tell
from fleet.actions.fitting import fit_to_columns, refuse_implausible_days, texts_of
from fleet.actions.projection import project_coaches, project_roofs
from fleet.errors import RecordConflict
from fleet.ledger.canonical import canonical_json, sha256_hex
from fleet.ledger.chain import entry_sha256
from fleet.models import (
    CoachFact,
    EventKind,
    Installation,
    LedgerEntry,
    LedgerHead,
    PrivateText,
    Record,
    Roof,
    RoofFact,
    User,
)

BATCH_ROWS = 500
# Whoever keeps a document tells of it: it may be another owner's than the coach.
DOCUMENT_ENTRY = "document"

AnyRecord = TypeVar("AnyRecord", bound=Record)


class Subscriber(Protocol):
    """Called once a recording, in its transaction, with the roofs concerned."""

    def __call__(
        self, *, roof_ids: tuple[int, ...], entry_ids: tuple[int, ...], now: datetime
    ) -> None: ...


@dataclass(slots=True, kw_only=True)
class Recording:
    """One transaction's worth of facts. Made by :func:`recording`, never directly."""

    by: User
    now: datetime
    scope: str
    _heads: dict[int, LedgerHead] = field(default_factory=dict)
    _roof_uuids: dict[int, str] = field(default_factory=dict)
    _entries: list[LedgerEntry] = field(default_factory=list)
    _facts: list[tuple[Record, LedgerEntry | None]] = field(default_factory=list)
    _texts: list[PrivateText] = field(default_factory=list)
    _concerned: set[int] = field(default_factory=set)
    _coach_ids: set[int] = field(default_factory=set)
    _installed: set[int] = field(default_factory=set)
    _entry_ids: list[int] = field(default_factory=list)
    _told: list[tuple[RoofFact, int]] = field(default_factory=list)
    _noted: list[tuple[int, int]] = field(default_factory=list)

    def lock(self, roof_ids: Iterable[int]) -> None:
        """Lock the chains of these roofs, in id order, before their facts are read."""
        wanted = sorted(set(roof_ids) - self._heads.keys())
        if not wanted:
            return  # every append asks; building an empty query costs milliseconds
        heads = (
            LedgerHead.objects.select_for_update(of=("self",))
            .select_related("roof")
            .filter(roof_id__in=wanted)
            .order_by("roof_id")
        )
        for head in heads:
            self._heads[head.roof_id] = head
            self._roof_uuids[head.roof_id] = str(head.roof.uuid)

    def append(self, roof: Roof, kind: str, facts: Sequence[RoofFact]) -> None:
        """Record facts about one roof as one entry of its chain."""
        if not facts:
            return
        for fact in facts:
            fact.roof = roof
        entry = self._link(roof.pk, kind, facts)
        self._facts.extend((fact, entry) for fact in facts)
        self._told.extend((fact, entry.seq) for fact in facts)
        if any(isinstance(fact, Installation) for fact in facts):
            self._installed.add(roof.pk)

    def append_to_coach(
        self, roof_ids: Iterable[int], kind: str, facts: Sequence[CoachFact]
    ) -> None:
        """Record facts about a coach; each of its roofs' chains gets an entry."""
        if not facts:
            return
        for fact in facts:
            self._stamp(fact)
            self._facts.append((fact, None))
            self._coach_ids.add(fact.coach.pk)
        records = [fact.ledger_record() for fact in facts]
        for roof_id in sorted(roof_ids):
            self._chain(roof_id, kind, records)

    def note(
        self, roof_id: int, kind: str, records: Sequence[dict[str, object]]
    ) -> None:
        """Record something that has no fact row: an opening, a merge, a render."""
        entry = self._chain(roof_id, kind, list(records))
        if kind != DOCUMENT_ENTRY:
            self._noted.append((roof_id, entry.seq))

    def touch(self, roof_ids: Iterable[int]) -> None:
        """Have the subscribers look at these roofs though no entry names them."""
        self._concerned.update(roof_ids)

    def flush(self) -> None:
        """Write what was appended so far, in as few statements as there are tables."""
        PrivateText.objects.bulk_create(self._texts, batch_size=BATCH_ROWS)
        LedgerEntry.objects.bulk_create(self._entries, batch_size=BATCH_ROWS)
        self._entry_ids.extend(entry.pk for entry in self._entries)
        by_table: dict[type[Record], list[Record]] = defaultdict(list)
        for fact, entry in self._facts:
            if entry is not None:
                fact.entry = entry  # type: ignore[attr-defined]  # a RoofFact
            by_table[type(fact)].append(fact)
        for table in _named_first(by_table):
            table._default_manager.bulk_create(by_table[table], batch_size=BATCH_ROWS)
        moved = {entry.roof_id for entry in self._entries}
        LedgerHead.objects.bulk_update(
            [self._heads[roof_id] for roof_id in sorted(moved)],
            ["seq", "entry_sha256"],
            batch_size=BATCH_ROWS,
        )
        self._texts.clear()
        self._entries.clear()
        self._facts.clear()

    def project_coach(self, coach_id: int) -> None:
        """Have a coach's columns refreshed though no fact about it is appended."""
        self._coach_ids.add(coach_id)

    def project(self) -> None:
        """Bring the columns of coaches and roofs in line with the facts written."""
        if self._coach_ids:
            project_coaches(self._coach_ids, now=self.now)
        if self._installed:
            project_roofs(self._installed)

    def happenings(self) -> Iterator[Happening]:
        """Yield what the feed of changes tells of what was recorded."""
        roof_ids = {fact.roof_id for fact, _ in self._told}
        roof_ids |= {roof_id for roof_id, _ in self._noted}
        rows = Roof.objects.filter(pk__in=roof_ids) if roof_ids else Roof.objects.none()
        places = {
            pk: (uuid, coach_id, holder_id)
            for pk, uuid, coach_id, holder_id in rows.values_list(
                "pk", "uuid", "coach_id", "coach__holder_id"
            )
        }
        for roof_id, seq in self._noted:
            uuid, coach_id, holder_id = places[roof_id]
            yield Happening(
                kind=EventKind.ROOF,
                subject=uuid,
                coach_id=coach_id,
                roof_id=roof_id,
                owner_id=holder_id,
                entry_seq=seq,
                at=self.now,
            )
        for fact, seq in self._told:
            if not fact.event_kind:
                continue
            _, coach_id, holder_id = places[fact.roof_id]
            yield Happening(
                kind=EventKind(fact.event_kind),
                subject=fact.event_subject(),
                coach_id=coach_id,
                roof_id=fact.roof_id,
                owner_id=fact.event_owner_id(holder_id),
                detail=fact.event_detail(),
                entry_seq=seq,
                at=self.now,
            )

    def _stamp(self, fact: Record) -> None:
        refuse_implausible_days(fact)
        fit_to_columns(fact)
        fact.scope = self.scope
        fact.recorded_at = self.now
        fact.recorded_by = self.by
        self._texts.extend(text for text in texts_of(fact) if text.pk is None)

    def _link(self, roof_id: int, kind: str, facts: Sequence[Record]) -> LedgerEntry:
        for fact in facts:
            self._stamp(fact)
        return self._chain(roof_id, kind, [fact.ledger_record() for fact in facts])

    def _chain(
        self, roof_id: int, kind: str, records: list[dict[str, object]]
    ) -> LedgerEntry:
        self.lock([roof_id])
        head = self._heads[roof_id]
        recorded_at = self.now.astimezone(UTC).isoformat(timespec="microseconds")
        payload = canonical_json({"by": str(self.by.uuid), "records": records})
        entry = LedgerEntry(
            roof_id=roof_id,
            seq=head.seq + 1,
            kind=kind,
            payload=payload,
            payload_sha256=sha256_hex(payload),
            previous_sha256=head.entry_sha256,
            recorded_at=self.now,
        )
        entry.entry_sha256 = entry_sha256(
            roof=self._roof_uuids[roof_id],
            seq=entry.seq,
            kind=kind,
            payload_sha256=entry.payload_sha256,
            previous_sha256=entry.previous_sha256,
            recorded_at=recorded_at,
        )
        head.seq, head.entry_sha256 = entry.seq, entry.entry_sha256
        self._entries.append(entry)
        self._concerned.add(roof_id)
        return entry


_current: ContextVar[Recording | None] = ContextVar("recording", default=None)
_untold: ContextVar[list[Recording] | None] = ContextVar("untold", default=None)


@contextmanager
def recording(*, by: User, now: datetime, scope: str = "office") -> Iterator[Recording]:
    """Open the transaction in which facts are recorded, or join the one that is open.

    On leaving the outermost one, rows and entries are written, the columns of coaches
    and roofs follow, and each subscriber of
    ``LEDGER_SUBSCRIBERS`` is called once with all roofs concerned.
    """
    outer = _current.get()
    if outer is not None:
        yield outer
        return
    with transaction.atomic(), gathering():
        made = Recording(by=by, now=now, scope=scope)
        token = _current.set(made)
        try:
            yield made
            made.flush()
            made.project()
            tell(made.happenings())
            _tell_subscribers(made)
        finally:
            _current.reset(token)


@contextmanager
def told_once() -> Iterator[None]:
    """Open one transaction for several recordings; the subscribers are called once.

    For a batch: each recording in it stays whole by itself, all commit together.
    """
    with transaction.atomic(), gathering():
        untold: list[Recording] = []
        token = _untold.set(untold)
        try:
            yield
        finally:
            _untold.reset(token)
        if untold:
            _call_subscribers(untold)


def _tell_subscribers(made: Recording) -> None:
    if not made._concerned:
        return
    untold = _untold.get()
    if untold is not None:
        untold.append(made)
    else:
        _call_subscribers([made])


def _call_subscribers(made: Sequence[Recording]) -> None:
    roof_ids = sorted({roof_id for each in made for roof_id in each._concerned})
    entry_ids = tuple(entry_id for each in made for entry_id in each._entry_ids)
    for name in settings.LEDGER_SUBSCRIBERS:
        subscriber: Subscriber = import_string(name)
        subscriber(roof_ids=tuple(roof_ids), entry_ids=entry_ids, now=made[-1].now)


def _named_first(tables: Iterable[type[Record]]) -> list[type[Record]]:
    """Return the tables so that each comes after those that its rows name."""
    waiting, ordered = list(tables), list[type[Record]]()
    while waiting:
        for table in waiting:
            named = {field.related_model for field in table._meta.concrete_fields}
            if not named & (set(waiting) - {table}):
                ordered.append(table)
                waiting.remove(table)
                break
        else:
            raise TypeError("record tables name each other in a circle")
    return ordered


def already_recorded(fact: AnyRecord) -> AnyRecord | None:
    """Return the row that the same caller recorded before under this uuid.

    Raises:
        RecordConflict: the uuid was used before with other content.
    """
    return known_rows([fact])[0]


def known_rows(facts: Sequence[AnyRecord]) -> list[AnyRecord | None]:
    """Return for each fact the row known under its uuid, one query a table.

    Known is what was written before, what the open recording holds, and what stands
    earlier among the facts themselves.

    Raises:
        RecordConflict: a uuid was used before with other content.
    """
    known = _pending_rows() | _written_rows(facts)
    result: list[AnyRecord | None] = []
    for fact in facts:
        row = known.get(_identity(fact))
        if row is None:
            known[_identity(fact)] = fact
        elif not _says_the_same(row, fact):
            raise RecordConflict(
                "This id was used before for another record. Send it under a new id.",
                uuid=str(fact.uuid),
            )
        result.append(row)  # type: ignore[arg-type]  # the key names the table
    return result


Identity = tuple[type[Record], str, object]


def _identity(fact: Record) -> Identity:
    return type(fact), fact.scope, fact.uuid


def _pending_rows() -> dict[Identity, Record]:
    current = _current.get()
    if current is None:
        return {}
    return {_identity(fact): fact for fact, _ in current._facts}


def _written_rows(facts: Sequence[Record]) -> dict[Identity, Record]:
    named: dict[tuple[type[Record], str], list[object]] = defaultdict(list)
    for fact in facts:
        named[type(fact), fact.scope].append(fact.uuid)
    return {
        _identity(row): row
        for (table, scope), uuids in named.items()
        for row in table._default_manager.filter(scope=scope, uuid__in=uuids)
    }


def _says_the_same(known: Record, fact: Record) -> bool:
    if isinstance(known, RoofFact) and isinstance(fact, RoofFact):
        is_elsewhere = fact.roof_id is not None and fact.roof_id != known.roof_id
        if is_elsewhere:
            return False
    return _content(known) == _content(fact)


def _content(fact: Record) -> dict[str, object]:
    """Return a record's ledger form with texts compared as texts, not by their salt."""
    record = fact.ledger_record()
    # The caller's scope is part of the id, the time and hand of the entry.
    record.pop("recorded_at", None)
    record.pop("recorded_by", None)
    for name, value in record.items():
        if isinstance(value, dict) and "text" in value:
            record[name] = getattr(fact, name).body
    return record
