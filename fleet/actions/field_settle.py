"""The office's word on what phones sent: record it as it is, or dismiss it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID, uuid5

from django.db import transaction

from fleet.actions.errors import InvalidValue
from fleet.actions.field_apply import apply_with_waiting, locked_roof
from fleet.actions.field_bodies import Draft, draft_of
from fleet.actions.field_flags import flag_pairs
from fleet.actions.field_members import json_object
from fleet.actions.field_naming import OURS, attach, clean
from fleet.actions.recording import recording
from fleet.errors import DomainError
from fleet.models import (
    FieldOperation,
    OperationState,
    PrivateText,
    Roof,
    RoofFact,
    Settlement,
    Technician,
    User,
)

WHY_MAX = 400


class NothingToSettle(DomainError):
    """The operation was settled before, or needs no decision."""

    code = "nothing-to-settle"
    http_status = 409


class StillRefused(DomainError):
    """The operation cannot be recorded as it is."""

    code = "still-refused"
    http_status = 409


def dismiss(*, operation: FieldOperation, why: str, by: User, now: datetime) -> None:
    """Leave an operation as it is, with the reason. Its bytes stay.

    Raises:
        InvalidValue: no reason is given.
        NothingToSettle: it was settled before.
    """
    if not why.strip():
        raise InvalidValue("why", "Say why this is dismissed.")
    with transaction.atomic():
        kept = _open(operation)
        if kept.state == OperationState.WAITING:
            # Or it would be recorded after all when what it names arrives.
            kept.state, kept.waits_for = OperationState.KEPT_ASIDE, None
            kept.reason_code, kept.reason = "dismissed", "The office dismissed it."
            kept.save(update_fields=["state", "waits_for", "reason_code", "reason"])
        _settle(kept, Settlement.DISMISSED, why, by, now)


def apply_as_is(
    *, operation: FieldOperation, why: str, by: User, now: datetime
) -> None:
    """Record what an operation says after all, as the office's word.

    What was kept aside is tried again; another body under a used id, and a correction
    that another contradicts, count from now on.

    Raises:
        NothingToSettle: it was settled before.
        StillRefused: it cannot be recorded; the reason says why.
    """
    with transaction.atomic():
        kept = _open(operation)
        if kept.state == OperationState.APPLIED:
            _settle_dispute(kept, by, now)
        elif kept.stands:
            _try_again(kept, now)
        else:
            _replace(kept, by, now)
        _settle(kept, Settlement.APPLIED_AS_IS, why, by, now)


def _open(operation: FieldOperation) -> FieldOperation:
    rows = FieldOperation.objects.select_for_update(of=("self",))
    kept = rows.select_related("device__user", "entry").get(pk=operation.pk)
    waits = kept.state == OperationState.WAITING
    if not (kept.is_open or waits) or kept.settlement == Settlement.DISMISSED:
        raise NothingToSettle("This was settled before. Load the page again.")
    return kept


def _settle(
    kept: FieldOperation, how: Settlement, why: str, by: User, now: datetime
) -> None:
    kept.settlement, kept.settled_why = how, why.strip()[:WHY_MAX]
    kept.settled_by, kept.settled_at, kept.is_open = by, now, False
    kept.save(
        update_fields=[
            "settlement",
            "settled_why",
            "settled_by",
            "settled_at",
            "is_open",
        ]
    )


def _try_again(kept: FieldOperation, now: datetime) -> None:
    apply_with_waiting(kept, now=now)
    if kept.state == OperationState.KEPT_ASIDE:
        raise StillRefused(kept.reason)
    if kept.state == OperationState.WAITING:
        raise StillRefused(
            f"It names {kept.waits_for}, which is not here. Dismiss it, or have the "
            "phone send that first."
        )


def _replace(kept: FieldOperation, by: User, now: datetime) -> None:
    """Record another body under a used id as corrections of what the first told."""
    draft, roof = _drafted(kept)
    missing = attach(draft, roof, kept.device)
    if missing is not None:
        raise StillRefused(f"It names {missing}, which is not here. Dismiss it.")
    for fact in draft.facts:
        clean(fact)
        known = type(fact)._default_manager.filter(OURS, roof=roof, uuid=fact.uuid)
        if known.exists():
            fact.supersedes, fact.settles = fact.uuid, True
            fact.uuid = uuid5(fact.uuid, kept.sha256)
    _record(kept, roof, draft.kind, draft.facts, by, now)


def _settle_dispute(kept: FieldOperation, by: User, now: datetime) -> None:
    """Record each correction once more with the office's word behind it."""
    if kept.entry is None or kept.roof is None:
        raise NothingToSettle("This is recorded. There is nothing to settle.")
    draft, roof = _drafted(kept)
    told = [
        row
        for fact in draft.facts
        for row in type(fact)._default_manager.filter(entry=kept.entry, uuid=fact.uuid)
        if row.supersedes and "disputed" in kept.flags
    ]
    words = [_settling(row, kept.sha256) for row in told]
    if words:
        with recording(by=by, now=now) as made:
            made.append(roof, "settlement", words)


def _settling(row: RoofFact, salt: str) -> RoofFact:
    """Return a copy of a correction that settles what it corrects."""
    skipped = {"id", "uuid", "entry", "recorded_at", "recorded_by", "scope", "settles"}
    values = {
        column.name: getattr(row, column.name)
        for column in row._meta.concrete_fields
        if column.name not in skipped
    }
    for name, value in values.items():
        if isinstance(value, PrivateText):
            values[name] = PrivateText(body=value.body)
    return type(row)(**values, uuid=_own_uuid(row.uuid, salt), settles=True)


def _own_uuid(uuid: UUID, salt: str) -> UUID:
    return uuid5(uuid, f"settled {salt}")


def _drafted(kept: FieldOperation) -> tuple[Draft, Roof]:
    given = json_object(bytes(kept.raw))
    if given is None:
        raise StillRefused("The bytes are no JSON object. Dismiss it with a reason.")
    person = Technician.objects.filter(user_id=kept.device.user_id).first()
    draft = draft_of(given, technician=person)
    return draft, locked_roof(draft)


def _record(
    kept: FieldOperation,
    roof: Roof,
    kind: str,
    facts: Sequence[RoofFact],
    by: User,
    now: datetime,
) -> None:
    with recording(by=by, now=now, scope=kept.device.scope) as made:
        made.append(roof, kind, facts)
    entry = facts[0].entry  # type: ignore[attr-defined]  # a RoofFact that was appended
    FieldOperation.objects.filter(pk=kept.pk).update(
        state=OperationState.APPLIED, entry=entry, roof=roof, kind=kind
    )
    kept.refresh_from_db()
    flag_pairs(roof, facts)
