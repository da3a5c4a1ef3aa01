"""Receive what a phone sends: every body kept, each operation recorded once."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from django.db import transaction

from fleet.actions.field_apply import apply_with_waiting, told_as, wake
from fleet.actions.field_members import Members, json_object
from fleet.actions.recording import told_once
from fleet.errors import DomainError
from fleet.models import FieldDevice, FieldOperation, LedgerHead, OperationState


class OperationConflict(DomainError):
    """Another body stands under this id; both are kept for the office."""

    code = "op-conflict"
    http_status = 409


class NotAnObject(DomainError):
    """The bytes are no JSON object; they are kept for the office."""

    code = "not-an-object"
    http_status = 422


@dataclass(frozen=True, slots=True, kw_only=True)
class Received:
    """One operation as it stands after this delivery."""

    operation: FieldOperation
    is_new: bool


def receive(*, device: FieldDevice, op_id: UUID, raw: bytes, now: datetime) -> Received:
    """Keep one body under its id and record what it says, in one transaction.

    The same bytes again are the same operation. What it names and is not here yet
    makes it wait; what cannot be recorded is kept aside with the reason.

    Raises:
        OperationConflict: other bytes stand under this id; both are kept.
        NotAnObject: the bytes are no JSON object; they are kept.
    """
    digest = hashlib.sha256(raw).hexdigest()
    with transaction.atomic():
        # A phone's deliveries follow one another, also when it sends them twice.
        lock_device(device)
        bodies = FieldOperation.objects.filter(device=device, op_id=op_id)
        known = bodies.filter(sha256=digest).select_related("entry").first()
        operation = known or _kept(device, op_id, raw, digest, now)
        if known is None and operation.stands:
            apply_with_waiting(operation, now=now)
    if operation.stands:
        return Received(operation=operation, is_new=known is None)
    if operation.state == OperationState.CONFLICT:
        raise OperationConflict(
            "Another body was sent under this id before. Both are kept; the office "
            "decides.",
            op=str(op_id),
            verdict=operation.state,
            sha256=digest,
            stands_sha256=bodies.get(stands=True).sha256,
        )
    raise NotAnObject(
        "The body is no JSON object. It is kept for the office.",
        op=str(op_id),
        verdict=OperationState.KEPT_ASIDE.value,
        sha256=digest,
    )


def lock_device(device: FieldDevice) -> None:
    """Wait for the phone's other delivery to end; hold off the next."""
    rows = FieldDevice.objects.select_for_update().filter(pk=device.pk)
    list(rows.values_list("pk"))


def receive_together(
    *, device: FieldDevice, sent: Sequence[tuple[UUID, bytes]], now: datetime
) -> list[Received | DomainError]:
    """Receive several bodies in one transaction, each whole by itself.

    What is refused is answered in its place. Should the register itself fail, none of
    them is kept, and the caller tries them one by one.
    """
    with told_once():
        lock_device(device)
        _lock_roofs(raw for _, raw in sent)
        answers = [_received(device, op_id, raw, now) for op_id, raw in sent]
    return _as_they_stand(answers)


def _as_they_stand(
    answers: list[Received | DomainError],
) -> list[Received | DomainError]:
    """Return the answers with what later ones changed: what waited, what is flagged."""
    pks = [each.operation.pk for each in answers if isinstance(each, Received)]
    now = FieldOperation.objects.select_related("entry").in_bulk(pks)
    return [
        replace(each, operation=now[each.operation.pk])
        if isinstance(each, Received)
        else each
        for each in answers
    ]


def _received(
    device: FieldDevice, op_id: UUID, raw: bytes, now: datetime
) -> Received | DomainError:
    try:
        return receive(device=device, op_id=op_id, raw=raw, now=now)
    except DomainError as refusal:
        return refusal


def _lock_roofs(bodies: Iterable[bytes]) -> None:
    """Lock the chains of all roofs told of, in id order as every writer does."""
    told = {Members(json_object(raw) or {}).told_uuid("roof") for raw in bodies}
    named = [uuid for uuid in told if uuid is not None]
    heads = LedgerHead.objects.select_for_update().filter(told_as(named))
    list(heads.order_by("roof_id").values_list("pk"))


def _kept(
    device: FieldDevice, op_id: UUID, raw: bytes, digest: str, now: datetime
) -> FieldOperation:
    """Keep a body nobody has seen; a second readable one is a conflict."""
    is_object = json_object(raw) is not None
    taken = FieldOperation.objects.filter(device=device, op_id=op_id, stands=True)
    stands = is_object and not taken.exists()
    operation = FieldOperation(
        device=device,
        op_id=op_id,
        raw=raw,
        sha256=digest,
        received_at=now,
        stands=stands,
        state=OperationState.KEPT_ASIDE,
    )
    if is_object and not stands:
        operation.state = OperationState.CONFLICT
        operation.reason_code = OperationConflict.code
        operation.reason = "Another body was sent under this id before."
    if not is_object:
        operation.reason_code = NotAnObject.code
        operation.reason = "The body is no JSON object."
    if not stands:
        operation.is_open = True
        operation.save()
    return operation


def photo_arrived(*, photo: UUID, now: datetime) -> None:
    """Record the operations that waited for a photo's bytes."""
    wake([photo], now=now)
