"""Erase a person, and leave a tombstone in each ledger that knew of them."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date, datetime
from uuid import UUID

from django.apps import apps
from django.db import models

from fleet.actions.erased_files import erase_files
from fleet.actions.errors import InvalidValue
from fleet.actions.recording import recording
from fleet.civil import office_day
from fleet.models import (
    Exhibit,
    ExhibitKind,
    FieldOperation,
    Owner,
    PrivateText,
    Record,
    Roof,
    RoofFact,
    SignerRole,
    User,
)

ERASED_NAME = "(erased)"
Spans = list[tuple[date, date | None]]


def erase_owner(
    *,
    owner: Owner,
    why: str,
    by: User,
    now: datetime,
    exhibits: Collection[UUID] = (),
    documents: Mapping[int, Collection[str]] | None = None,
) -> tuple[int, ...]:
    """Empty an owner's personal fields and every free text about their time of holding.

    Measured values, dates and hashes stay: the ledgers still verify and say *erased*.
    What the owner signed goes with the texts; of photos, those in ``exhibits``; of
    documents, the hashes in ``documents``, by roof. Returns the ids of the roofs whose
    ledgers got a tombstone.

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
        for roof in roofs:
            spans = _spans(roof, owner)
            erased = _erase_texts(roof, spans, now)
            _erase_bodies(roof, spans, erased, now)
            tombstone: dict[str, object] = {
                "type": "erasure",
                "uuid": str(owner.uuid),
                "texts": [str(text.uuid) for text in erased],
            }
            asked = _files_asked(roof, spans, exhibits)
            asked |= set((documents or {}).get(roof.pk, ()))
            files = erase_files(asked, roof_ids=[each.pk for each in roofs], now=now)
            if files:
                tombstone["files"] = files
            made.note(roof.pk, "erased", [tombstone])
    return tuple(roof.pk for roof in roofs)


def _files_asked(roof: Roof, spans: Spans, chosen: Collection[UUID]) -> set[str]:
    """Return the bytes of what the owner signed, and of the exhibits they name."""
    rows = Exhibit.objects.filter(roof=roof).values_list(
        "uuid", "sha256", "kind", "signer_role", "recorded_at", "device_at"
    )
    return {
        digest
        for uuid, digest, kind, role, recorded_at, device_at in rows
        if uuid in chosen
        or (
            kind == ExhibitKind.SIGN_OFF
            and role != SignerRole.TECHNICIAN
            and _is_within(office_day(device_at or recorded_at), spans)
        )
    }


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


def _is_within(day: date, spans: Spans) -> bool:
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
        if entry_id in entry_ids or _is_within(office_day(at), spans)
    ]
    FieldOperation.objects.filter(pk__in=told).update(raw=b"", erased_at=now)


def _erase_texts(roof: Roof, spans: Spans, now: datetime) -> Sequence[PrivateText]:
    """Empty the texts of a roof that fall into the owner's time of holding."""
    ids = [
        text_id
        for table, field in _texts_by_table()
        for text_id, day in _dated_texts(table, field, roof)
        if _is_within(day, spans)
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
