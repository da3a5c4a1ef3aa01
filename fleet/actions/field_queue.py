"""Take in what a phone saved as a file because it could not send it."""

from __future__ import annotations

import base64
import binascii
import hashlib
import logging
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import BinaryIO
from uuid import UUID

from fleet.actions.errors import InvalidValue
from fleet.actions.field_delivery import TOGETHER, RegisterFailed, Sent, deliver
from fleet.actions.field_photos import receive_photo
from fleet.actions.queue_file import Item, NotAQueueFile, Reader
from fleet.errors import DomainError, NotAllowed
from fleet.models import FieldDevice, OperationState, Role, User
from fleet.store.errors import TooLarge

FILE_BYTES_MAX = 512 * 1024 * 1024
OPERATIONS_MAX = 10_000
OPERATION_BYTES_MAX = 1024 * 1024

logger = logging.getLogger(__name__)


class UnknownPhone(DomainError):
    """The file names a phone that was never paired here."""

    code = "unknown-phone"
    http_status = 422


class TextAltered(DomainError):
    """An operation's text is not the one that the phone sealed."""

    code = "digest-mismatch"


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What became of one item of a saved queue."""

    what: str  # "operation" or "photo"
    id: str
    verdict: str  # of the operation, RECEIVED for a photo, else REFUSED
    kind: str = ""
    reason: str = ""

    @property
    def is_whole(self) -> bool:
        """Return whether the register has it, whatever it thinks of it."""
        return self.verdict != "REFUSED"


@dataclass(slots=True, kw_only=True)
class TakenQueue:
    """What became of a saved queue; `cut` tells where the file stops being one."""

    device: FieldDevice
    made_at: str
    items: list[Taken] = field(default_factory=list)
    cut: str = ""

    @property
    def refused(self) -> list[Taken]:
        """Return what is only in the file still."""
        return [each for each in self.items if not each.is_whole]

    @property
    def is_all_here(self) -> bool:
        """Return whether the phone may be told that nothing is missing."""
        return not self.refused and not self.cut


def take_queue_file(
    *, file: BinaryIO, size_bytes: int, by: User, now: datetime
) -> TakenQueue:
    """Receive every operation and photo of a saved queue as if its phone had sent it.

    Each is committed or refused by itself; taken in again, the same file changes
    nothing. Also a revoked phone's file is read: its work was done.

    Raises:
        NotAllowed: somebody but the office brings it.
        TooLarge: the file is larger than any phone's queue.
        NotAQueueFile: it is another file.
        UnknownPhone: it names no phone that was paired here.
    """
    if by.role != Role.OFFICE:
        raise NotAllowed("Only the office takes in a phone's file. Hand it to them.")
    if size_bytes > FILE_BYTES_MAX:
        raise TooLarge("A phone's file has at most 512 MB. Send from the phone.")
    reader = Reader(file)
    head = reader.head()
    device = _device(head.get("device"))
    taken = TakenQueue(device=device, made_at=str(head.get("made_at", ""))[:40])
    try:
        for piece in _pieces(reader.items()):
            taken.items += _take(device, piece, now)
            if len(taken.items) > OPERATIONS_MAX:
                raise TooLarge(f"Only the first {OPERATIONS_MAX} items were read.")
    except (NotAQueueFile, TooLarge) as refusal:
        taken.cut = refusal.message
    logger.info(
        "%s brought %d items of phone %s", by.uuid, len(taken.items), device.uuid
    )
    return taken


def _device(told: object) -> FieldDevice:
    try:
        found = FieldDevice.objects.filter(uuid=UUID(str(told)))
    except ValueError:
        found = FieldDevice.objects.none()
    device = found.select_related("user").first()
    if device is None:
        raise UnknownPhone("The file names no phone that was paired here.")
    return device


def _pieces(items: Iterator[Item]) -> Iterator[list[Item]]:
    """Yield operations several at a time and photos one by one.

    What a cut file still held is handed out before the cut is told.
    """
    piece: list[Item] = []
    try:
        for item in items:
            if item.of == "photos":
                if piece:
                    yield piece
                    piece = []
                yield [item]
                continue
            piece.append(item)
            if len(piece) == TOGETHER:
                yield piece
                piece = []
    except NotAQueueFile as cut:
        if piece:
            yield piece
        raise cut from None
    if piece:
        yield piece


def _take(device: FieldDevice, piece: list[Item], now: datetime) -> list[Taken]:
    if piece[0].of == "photos":
        return [_photo(device, piece[0].value, now)]
    read = [_operation(each.value) for each in piece]
    sent = [each for each in read if not isinstance(each, Taken)]
    answers = iter(deliver(device=device, sent=sent, now=now))
    return [
        each if isinstance(each, Taken) else _told(each, next(answers)) for each in read
    ]


def _operation(value: object) -> Sent | Taken:
    """Return one operation as it is sent, or why it cannot be."""
    given = value if isinstance(value, dict) else {}
    op_id, text = str(given.get("op_id", ""))[:40], given.get("text")
    try:
        if not isinstance(text, str):
            raise InvalidValue("text", "It has no text.")
        raw = text.encode("utf-8", "surrogatepass")
        if len(raw) > OPERATION_BYTES_MAX:
            raise TooLarge("An operation has at most 1 MB.")
        if hashlib.sha256(raw).hexdigest() != given.get("sha256"):
            raise TextAltered("Its text is not the one that the phone sealed.")
        return UUID(op_id), raw
    except DomainError as refusal:
        return _refused("operation", op_id, refusal.message)
    except ValueError:
        return _refused("operation", op_id, "Its id is no UUID.")


def _told(sent: Sent, answer: object) -> Taken:
    op_id = str(sent[0])
    if isinstance(answer, RegisterFailed):
        return _refused("operation", op_id, answer.message)
    if isinstance(answer, DomainError):
        # Kept for the office: another body, or no object.
        verdict = str(answer.detail.get("verdict", "REFUSED"))
        return Taken(what="operation", id=op_id, verdict=verdict, reason=answer.message)
    kept = answer.operation  # type: ignore[attr-defined]  # Received
    is_waiting = kept.state == OperationState.WAITING
    reason = f"Waits for {kept.waits_for}." if is_waiting else kept.reason
    return Taken(
        what="operation", id=op_id, verdict=kept.state, kind=kept.kind, reason=reason
    )


def _photo(device: FieldDevice, value: object, now: datetime) -> Taken:
    given = value if isinstance(value, dict) else {}
    photo, digest = str(given.get("photo", ""))[:40], str(given.get("sha256", ""))
    try:
        content = base64.b64decode(str(given.get("base64", "")), validate=True)
        receive_photo(
            device=device, photo=UUID(photo), chunks=[content], sha256=digest, now=now
        )
    except binascii.Error:
        return _refused("photo", photo, "Its bytes cannot be read.")
    except ValueError:
        return _refused("photo", photo, "Its id is no UUID.")
    except DomainError as refusal:
        if refusal.code == "photo-conflict":
            return Taken(
                what="photo", id=photo, verdict="CONFLICT", reason=refusal.message
            )
        return _refused("photo", photo, refusal.message)
    except Exception:
        logger.exception("A photo of a saved queue failed: %s", photo)
        return _refused("photo", photo, "The register failed on it. Try again.")
    return Taken(what="photo", id=photo, verdict="RECEIVED")


def _refused(what: str, item: str, reason: str) -> Taken:
    return Taken(what=what, id=item, verdict="REFUSED", reason=reason)
