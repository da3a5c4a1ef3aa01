"""Operations from phones, one by one or in a batch; each answers for itself."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone

from fleet.actions.errors import InvalidValue
from fleet.actions.field_delivery import deliver
from fleet.actions.field_operations import Received, receive
from fleet.api.field.access import (
    body_of,
    for_a_device,
    members_of,
    open_to_phones,
    problem_body,
)
from fleet.errors import DomainError
from fleet.models import FieldDevice, OperationState
from fleet.store.errors import TooLarge

OP_BYTES_MAX = 1024 * 1024
BATCH_BYTES_MAX = 5 * 1024 * 1024
BATCH_OPS_MAX = 200


@open_to_phones("PUT")
@for_a_device
def operation(request: HttpRequest, device: FieldDevice, op_id: UUID) -> HttpResponse:
    """Take one operation; the same again is the same."""
    raw = body_of(request, most=OP_BYTES_MAX)
    received = receive(device=device, op_id=op_id, raw=raw, now=timezone.now())
    return JsonResponse(receipt(received), status=status_of(received))


@open_to_phones("POST")
@for_a_device
def batch(request: HttpRequest, device: FieldDevice) -> HttpResponse:
    """Take up to 200 operations; each is committed or refused by itself."""
    given = members_of(body_of(request, most=BATCH_BYTES_MAX)).get("ops")
    if not isinstance(given, list) or not given:
        raise InvalidValue("ops", "Send ops: a list of objects with op_id and text.")
    if len(given) > BATCH_OPS_MAX:
        raise TooLarge(f"A batch has at most {BATCH_OPS_MAX} operations. Send less.")
    named = [_named_or_refused(each) for each in given]
    sent = [each for each in named if not isinstance(each, InvalidValue)]
    answers = iter(deliver(device=device, sent=sent, now=timezone.now()))
    results = [
        _told(request, _op_of(each), known)
        if isinstance(known, InvalidValue)
        else _told(request, known[0], next(answers))
        for each, known in zip(given, named, strict=True)
    ]
    return JsonResponse({"results": results})


def _named_or_refused(given: object) -> tuple[UUID, bytes] | InvalidValue:
    try:
        return _named(given)
    except InvalidValue as refusal:
        return refusal


def _op_of(given: object) -> object:
    return given.get("op_id") if isinstance(given, dict) else None


def _told(
    request: HttpRequest, op: object, answer: Received | DomainError
) -> dict[str, object]:
    if isinstance(answer, DomainError):
        told = problem_body(request, answer)
        return {"op": str(op), **told, "status": answer.http_status}
    return {**receipt(answer), "status": status_of(answer)}


def _named(given: object) -> tuple[UUID, bytes]:
    if not isinstance(given, dict):
        raise InvalidValue("ops", "Each operation is an object with op_id and text.")
    op_id, text = given.get("op_id"), given.get("text")
    if not isinstance(text, str):
        raise InvalidValue("text", "Send text: the operation's exact JSON text.")
    try:
        return UUID(str(op_id)), text.encode("utf-8", "surrogatepass")
    except ValueError:
        raise InvalidValue("op_id", "op_id must be a UUID.") from None


def status_of(received: Received) -> int:
    """Return 202 while it waits, 201 when it was recorded just now, else 200."""
    if received.operation.state == OperationState.WAITING:
        return 202
    is_recorded = received.operation.state == OperationState.APPLIED
    return 201 if received.is_new and is_recorded else 200


def receipt(received: Received) -> dict[str, object]:
    """Return what the phone keeps: what became of it, and the hash of its bytes."""
    kept = received.operation
    entry = kept.entry
    return {
        "op": str(kept.op_id),
        "verdict": kept.state,
        "sha256": kept.sha256,
        "received_at": kept.received_at.isoformat(),
        "flags": kept.flags,
        "entry": entry and {"seq": entry.seq, "sha256": entry.entry_sha256},
        "reason": {"code": kept.reason_code, "detail": kept.reason}
        if kept.reason_code
        else None,
        "waits_for": str(kept.waits_for) if kept.waits_for else None,
    }
