"""Record what an operation says, or say what it waits for or why it cannot be."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from datetime import datetime
from uuid import UUID

from django.db import DataError, IntegrityError, transaction
from django.db.models import Q

from fleet.actions.bookings import mark_done
from fleet.actions.errors import InvalidValue
from fleet.actions.field_bodies import Draft, draft_of
from fleet.actions.field_flags import (
    Flag,
    flag_pairs,
    is_for_the_office,
    own_flags,
)
from fleet.actions.field_members import Members, json_object
from fleet.actions.field_naming import attach, clean, recorded_before
from fleet.actions.recording import recording
from fleet.errors import DomainError
from fleet.models import (
    Booking,
    FieldOperation,
    FieldPhoto,
    LedgerEntry,
    LedgerHead,
    MetCoach,
    OperationState,
    Roof,
    RoofFact,
    Technician,
)


class UnknownRoof(DomainError):
    """The operation names a roof that is not on record."""

    code = "unknown-roof"


def apply(operation: FieldOperation, *, now: datetime) -> list[UUID]:
    """Record an operation if it can be; return the ids that are here since then.

    The caller's transaction is open and holds the phone's row. Sets the state and
    saves it; a refused operation is kept aside with its reason.
    """
    facts: list[RoofFact] = []
    given = json_object(bytes(operation.raw)) or {}
    _read_heading(operation, given)
    try:
        draft = draft_of(given, technician=_technician(operation))
        operation.roof = roof = locked_roof(draft)
        _judge_flags(operation, draft, roof)
        facts = _record(operation, draft, roof, now)
    except DomainError as refusal:
        _keep_aside(operation, refusal.code, refusal.message)
    except (DataError, IntegrityError):
        _keep_aside(
            operation,
            "refused-by-database",
            "The register cannot hold these values together. Correct and apply them.",
        )
    operation.is_open = is_for_the_office(operation.state, operation.flags)
    operation.save()
    if facts and operation.roof is not None:
        flag_pairs(operation.roof, facts)
        operation.refresh_from_db(fields=["flags", "is_open"])
    return [fact.uuid for fact in facts]


def _read_heading(operation: FieldOperation, given: dict[str, object]) -> None:
    """Keep what an operation is about, also when nothing else of it can be used."""
    top = Members(given)
    operation.kind = operation.kind or "?"
    with suppress(InvalidValue):
        operation.kind = top.text("kind", shortest=1, longest=24)


def apply_with_waiting(operation: FieldOperation, *, now: datetime) -> None:
    """Record an operation and then whatever waited for it, in one transaction."""
    arrived = apply(operation, now=now)
    if operation.roof_id is not None:
        wake(arrived, roof_id=operation.roof_id, now=now)


def wake(arrived: Iterable[UUID], *, now: datetime, roof_id: int | None = None) -> None:
    """Record what waited for these ids, and what waited for that in turn."""
    here = list(arrived)
    while True:
        freed = _freed(here, roof_id)
        if not freed:
            return
        rows = FieldOperation.objects.filter(pk__in=freed).order_by("pk")
        found = list(rows.select_related("device__user", "roof"))
        here = [uuid for operation in found for uuid in apply(operation, now=now)]
        if not here:
            return


def _freed(here: list[UUID], roof_id: int | None) -> list[int]:
    """Return the operations that wait for something that is here."""
    waiting = FieldOperation.objects.filter(state=OperationState.WAITING)
    if roof_id is None:
        waiting = waiting.filter(waits_for__in=here)
    else:
        # A photo that came by another phone at the same moment woke nobody.
        photos = FieldPhoto.objects.filter(stands=True).values("photo")
        is_here = Q(waits_for__in=here) | Q(waits_for__in=photos)
        waiting = waiting.filter(is_here, roof_id=roof_id)
    return list(waiting.values_list("pk", flat=True))


def _record(
    operation: FieldOperation, draft: Draft, roof: Roof, now: datetime
) -> list[RoofFact]:
    for fact in draft.facts:
        clean(fact)
    missing = attach(draft, roof, operation.device)
    if missing is not None:
        operation.state = OperationState.WAITING
        operation.waits_for = missing
        return []
    for fact in draft.facts:
        fact.roof = roof
    entry = recorded_before(draft, roof) or _append(operation, draft, roof, now)
    operation.state, operation.entry = OperationState.APPLIED, entry
    operation.waits_for, operation.reason_code, operation.reason = None, "", ""
    _finish_booking(draft, roof, operation, now)
    return draft.facts


def _append(
    operation: FieldOperation, draft: Draft, roof: Roof, now: datetime
) -> LedgerEntry:
    device = operation.device
    # Its own savepoint: what the database refuses leaves the operation kept.
    with (
        transaction.atomic(),
        recording(by=device.user, now=now, scope=device.scope) as made,
    ):
        made.append(roof, draft.kind, draft.facts)
    return draft.facts[0].entry


def _technician(operation: FieldOperation) -> Technician | None:
    return Technician.objects.filter(user_id=operation.device.user_id).first()


def told_as(uuids: Iterable[UUID]) -> Q:
    """Return which chains phones mean: by the roof's id, or by one made up on a roof
    that nobody had booked, once the office has said which that is."""
    named = list(uuids)
    met = MetCoach.objects.filter(told_roof__in=named).values("roof_id")
    return Q(roof__uuid__in=named) | Q(roof_id__in=met)


def locked_roof(draft: Draft) -> Roof:
    """Return the roof with its chain locked: what arrives meanwhile, arrives after."""
    heads = LedgerHead.objects.select_for_update(of=("self",)).select_related("roof")
    head = heads.filter(told_as([draft.roof_uuid])).first()
    if head is None:
        raise UnknownRoof("No such roof. The office decides where this belongs.")
    return head.roof


def _booking(draft: Draft, roof: Roof) -> Booking | None:
    if draft.booking_uuid is None:
        return None
    return Booking.objects.filter(roof=roof, uuid=draft.booking_uuid).first()


def _judge_flags(operation: FieldOperation, draft: Draft, roof: Roof) -> None:
    booking = _booking(draft, roof)
    flags = own_flags(draft, booking, received_at=operation.received_at)
    kept = set(operation.flags) - {Flag.BOOKING_CHANGED.value}
    operation.flags = sorted(kept | {flag.value for flag in flags})


def _finish_booking(
    draft: Draft, roof: Roof, operation: FieldOperation, now: datetime
) -> None:
    booking = _booking(draft, roof)
    if booking is not None and any(_is_end(fact) for fact in draft.facts):
        mark_done(booking=booking, by=operation.device.user, now=now)


def _is_end(fact: RoofFact) -> bool:
    """Return whether a visit's record tells its end, not its beginning."""
    return bool(fact.supersedes) or getattr(fact, "result", "NONE") != "NONE"


def _keep_aside(operation: FieldOperation, code: str, reason: str) -> None:
    if operation.roof is None:
        operation.roof = _told_roof(operation)
    operation.state = OperationState.KEPT_ASIDE
    operation.waits_for, operation.entry = None, None
    operation.reason_code, operation.reason = code, reason


def _told_roof(operation: FieldOperation) -> Roof | None:
    """Return the roof that an operation tells of, whatever else is wrong with it."""
    told = Members(json_object(bytes(operation.raw)) or {}).told_uuid("roof")
    heads = LedgerHead.objects.select_related("roof")
    head = heads.filter(told_as([told])).first() if told else None
    return head.roof if head else None
