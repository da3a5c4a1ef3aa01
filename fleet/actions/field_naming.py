"""Find what a draft names, and whether its own ids were used before."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from fleet.actions.errors import InvalidValue, NotARepair
from fleet.actions.field_bodies import Draft, Named
from fleet.actions.field_exhibits import fill
from fleet.actions.recording import already_recorded
from fleet.errors import DomainError, RecordConflict
from fleet.models import (
    DEVICE_SCOPE,
    OFFICE_SCOPE,
    Cure,
    Exhibit,
    FieldDevice,
    FieldPhoto,
    LedgerEntry,
    Roof,
    RoofFact,
    Visit,
    VisitKind,
)

# Values as they were read: too many decimals are refused, never rounded.
AS_READ = frozenset(
    {"last_wet", "first_dry", "dry_value", "air", "surface", "volume", "value"}
)
# A foreign owner's uuid behaves as unknown.
OURS = Q(scope=OFFICE_SCOPE) | Q(scope__startswith=DEVICE_SCOPE)


class DigestMismatch(DomainError):
    """The bytes under a photo's id are not those that the operation tells of."""

    code = "digest-mismatch"


def attach(draft: Draft, roof: Roof, device: FieldDevice) -> UUID | None:
    """Let the facts name rows of this roof; return the first uuid that is not here.

    Raises:
        NotARepair: a cure under a visit of another kind.
        DigestMismatch: a photo's bytes are others than the operation tells.
    """
    rows = _rows(draft.named, roof, device)
    for named in draft.named:
        row = rows.get((named.table, named.uuid))
        if row is None:
            return named.uuid
    for named in draft.named:
        _name(named, rows[named.table, named.uuid])
    for fact in draft.facts:
        if isinstance(fact, Cure) and fact.visit.kind != VisitKind.REPAIR:
            raise NotARepair("Only a repair cures a finding. Record the repair as one.")
        if isinstance(fact, Visit) and fact.supersedes:
            older = rows[Visit, fact.supersedes]
            # A correction keeps the reference: findings are listed by it.
            fact.ref = older.ref
    return None


def _rows(
    wanted: Sequence[Named], roof: Roof, device: FieldDevice
) -> dict[tuple[type[models.Model], UUID], models.Model]:
    by_table: dict[type[models.Model], list[UUID]] = defaultdict(list)
    for named in wanted:
        by_table[named.table].append(named.uuid)
    found: dict[tuple[type[models.Model], UUID], models.Model] = {}
    for table, uuids in by_table.items():
        if issubclass(table, FieldPhoto):
            found |= {(table, row.photo): row for row in _photos(uuids, device)}
            continue
        rows = table._default_manager.filter(OURS, roof=roof, uuid__in=uuids)
        found |= {(table, row.uuid): row for row in rows.order_by("pk")}
    return found


def _photos(uuids: list[UUID], device: FieldDevice) -> list[FieldPhoto]:
    """Return the bytes under these ids, the phone's own last so that they count.

    A phone that was paired anew sends its old photos under another name.
    """
    rows = FieldPhoto.objects.filter(photo__in=uuids, stands=True).order_by("pk")
    return sorted(rows, key=lambda row: row.device_id == device.pk)


def _name(named: Named, row: models.Model) -> None:
    if isinstance(row, FieldPhoto):
        if row.sha256 != named.sha256:
            raise DigestMismatch(
                "The photo's bytes have another hash than this record tells. Take it "
                "again, or have the office look at both.",
                sha256=row.sha256,
            )
        if isinstance(named.fact, Exhibit):
            fill(named.fact, row)
    elif named.fact is not None:
        setattr(named.fact, named.column, row)


def recorded_before(draft: Draft, roof: Roof) -> LedgerEntry | None:
    """Return the entry that holds exactly these facts already.

    A phone that was paired anew, or restored, sends what it sent before.

    Raises:
        RecordConflict: an id was used before for something else.
    """
    by_table: dict[type[RoofFact], list[UUID]] = defaultdict(list)
    for fact in draft.facts:
        by_table[type(fact)].append(fact.uuid)
    known: dict[tuple[type[RoofFact], UUID], RoofFact] = {}
    for table, uuids in by_table.items():
        rows = table._default_manager.filter(OURS, uuid__in=uuids)
        known |= {(table, row.uuid): row for row in rows.select_related("entry")}
    if not known:
        return None
    entries = {row.entry_id: row.entry for row in known.values()}
    if len(known) < len(draft.facts) or len(entries) > 1:
        raise _used_before()
    [entry] = entries.values()
    for fact in draft.facts:
        fact.scope = known[type(fact), fact.uuid].scope
        already_recorded(fact)
    if entry.roof_id != roof.pk or _facts_in(entry) != len(draft.facts):
        raise _used_before()
    return entry


def _facts_in(entry: LedgerEntry) -> int:
    return len(json.loads(entry.payload)["records"])


def _used_before() -> RecordConflict:
    return RecordConflict(
        "An id in here was used before for another record. The office decides."
    )


def clean(fact: RoofFact) -> None:
    """Check a fact's columns; canonical values are rounded to what a column holds.

    Raises:
        InvalidValue: a value that the column does not take.
    """
    # What stands in the last two columns comes with the photo's bytes.
    skipped = {"recorded_at", "scope", "size_bytes", "media_type"}
    for column in fact._meta.concrete_fields:
        if isinstance(column, models.ForeignKey):
            skipped.add(column.name)
        elif isinstance(column, models.DecimalField) and column.name not in AS_READ:
            value = getattr(fact, column.name)
            if value is not None:
                rounded = round(Decimal(value), column.decimal_places)
                setattr(fact, column.name, rounded)
    try:
        fact.clean_fields(exclude=skipped)
    except ValidationError as error:
        name, messages = next(iter(error.message_dict.items()))
        raise InvalidValue(name, f"{name}: {messages[0]}") from None
