"""Receive what a phone sends: every body kept, each operation recorded once."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from fleet.actions.field_apply import apply_with_waiting, wake
from fleet.actions.field_members import json_object
from fleet.errors import DomainError
from fleet.models import FieldDevice, FieldOperation, OperationState


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
