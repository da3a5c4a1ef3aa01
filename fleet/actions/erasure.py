"""Erase a person, and leave a tombstone in each ledger that knew of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from typing import Protocol
from uuid import UUID

from django.apps import apps
from django.conf import settings
from django.db import models, transaction
from django.utils.module_loading import import_string

from fleet import store
from fleet.actions.errors import InvalidValue
from fleet.actions.recording import recording
from fleet.civil import office_day
from fleet.exhibits.sniff import MediaType
from fleet.models import (
    Contact,
    FieldOperation,
    Look,
    Owner,
    PrivateText,
    Record,
    Roof,
    RoofFact,
    StoredFile,
    User,
)

ERASED_NAME = "(erased)"
Spans = list[tuple[date, date | None]]


@dataclass(frozen=True, slots=True, kw_only=True)
class ErasedDocument:
    """A document that goes with a person: its row is marked, its bytes follow."""

    uuid: UUID
    sha256: str
    size_bytes: int
    roof_id: int


class ErasureSubscriber(Protocol):
    """Called in the transaction that erases an owner; returns what goes with them."""

    def __call__(
        self, *, owner: Owner, held: Mapping[int, Spans], now: datetime
    ) -> list[ErasedDocument]: ...


def erase_owner(*, owner: Owner, why: str, by: User, now: datetime) -> tuple[int, ...]:
    """Empty an owner's personal fields and every free text about their time of holding.

    Measured values, dates and hashes stay: the ledgers still verify and say *erased*.
    Returns the ids of the roofs whose ledgers got a tombstone.

    Raises:
        InvalidValue: no reason is given.
    """
    if not why.strip():
        raise InvalidValue("why", "Say on which request the person is erased.")
    roofs = _roofs_held_by(owner)
    with recording(by=by, now=now) as made:
        made.lock(roof.pk for roof in roofs)
        Owner.objects.filter(pk=owner.pk).update(
            name=ERASED_NAME, email="", phone="", version=models.F("version") + 1
        )
        Contact.objects.filter(owner=owner).delete()
        held = {roof.pk: _spans(roof, owner) for roof in roofs}
        gone = _erase_documents(owner, held, now)
        for roof in roofs:
            spans = held[roof.pk]
            erased = _erase_texts(roof, spans, now)
            _erase_bodies(roof, spans, erased, now)
            tombstone: dict[str, object] = {
                "type": "erasure",
                "uuid": str(owner.uuid),
                "texts": [str(text.uuid) for text in erased],
            }
            documents = [str(each.uuid) for each in gone if each.roof_id == roof.pk]
            if documents:
                tombstone["documents"] = documents
            made.note(roof.pk, "erased", [tombstone])
    return tuple(roof.pk for roof in roofs)


def _erase_documents(
    owner: Owner, held: Mapping[int, Spans], now: datetime
) -> list[ErasedDocument]:
    """Have each room mark its documents, and let their bytes go once that is safe."""
    gone: list[ErasedDocument] = []
    for name in settings.ERASURE_SUBSCRIBERS:
        subscriber: ErasureSubscriber = import_string(name)
        gone.extend(subscriber(owner=owner, held=held, now=now))
    for each in gone:
        StoredFile.objects.update_or_create(
            sha256=each.sha256,
            defaults={"erased_at": now},
            create_defaults={
                "size_bytes": each.size_bytes,
                "media_type": MediaType.PDF.value,
                "kept_at": now,
                "checked_at": now,
                "look": Look.NOT_A_PICTURE,
                "erased_at": now,
            },
        )
        # Undone with the transaction, nothing is lost; after it the bytes go.
        transaction.on_commit(partial(store.forget, each.sha256))
    return gone


def _roofs_held_by(owner: Owner) -> list[Roof]:
    roofs = Roof.objects.filter(coach__ownerships__owner=owner).distinct()
    return list(roofs.order_by("pk"))


def _spans(roof: Roof, owner: Owner) -> Spans:
    """Return from which day to before which day the owner held the coach."""
    starts = sorted(
        roof.coach.ownerships.values_list("from_on", "owner_id"), key=lambda row: row[0]
    )
    return [
        (start, starts[place + 1][0] if place + 1 < len(starts) else None)
        for place, (start, owner_id) in enumerate(starts)
        if owner_id == owner.pk
    ]


def is_within(day: date, spans: Spans) -> bool:
    return any(start <= day and (end is None or day < end) for start, end in spans)


def _erase_bodies(
    roof: Roof, spans: Spans, erased: Sequence[PrivateText], now: datetime
) -> None:
    """Empty what phones sent about that time: the same words, as they were typed."""
    texts = [text.pk for text in erased]
    entry_ids = {
        entry_id
        for table, field in _texts_by_table()
        for entry_id in table._default_manager.filter(
            **{"roof": roof, f"{field}__in": texts}
        ).values_list("entry_id", flat=True)
    }
    sent = FieldOperation.objects.filter(roof=roof, erased_at__isnull=True)
    told = [
        pk
        for pk, entry_id, at in sent.values_list("pk", "entry_id", "received_at")
        if entry_id in entry_ids or is_within(office_day(at), spans)
    ]
    FieldOperation.objects.filter(pk__in=told).update(raw=b"", erased_at=now)


def _erase_texts(roof: Roof, spans: Spans, now: datetime) -> Sequence[PrivateText]:
    """Empty the texts of a roof that fall into the owner's time of holding."""
    ids = [
        text_id
        for table, field in _texts_by_table()
        for text_id, day in _dated_texts(table, field, roof)
        if is_within(day, spans)
    ]
    texts = list(PrivateText.objects.filter(pk__in=ids, erased_at__isnull=True))
    PrivateText.objects.filter(pk__in=[text.pk for text in texts]).update(
        body="", salt="", erased_at=now
    )
    return texts


def _texts_by_table() -> list[tuple[type[RoofFact], str]]:
    return [
        (table, field.name)
        for table in apps.get_models()
        if issubclass(table, RoofFact)
        for field in table._meta.get_fields()
        if isinstance(field, models.ForeignKey) and field.related_model is PrivateText
    ]


# What each table calls the day that its text tells of; else when it was recorded.
_DAYS = ("happened_on", "noticed_on", "from_on", "captured_at", "recorded_at")


def _dated_texts(table: type[Record], field: str, roof: Roof) -> list[tuple[int, date]]:
    names = {each.name for each in table._meta.get_fields()}
    day = next(name for name in _DAYS if name in names)
    rows = table._default_manager.filter(
        **{"roof": roof, f"{field}__isnull": False}
    ).order_by("pk")
    return [
        (text_id, office_day(told) if isinstance(told, datetime) else told)
        for text_id, told in rows.values_list(f"{field}_id", day)
    ]
