"""Hand over operations so that none of them holds up the others."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from fleet.actions.field_operations import Received, receive, receive_together
from fleet.errors import DomainError
from fleet.models import FieldDevice

# So many in one transaction: a roof is assessed once for all of them.
TOGETHER = 25

logger = logging.getLogger(__name__)

Sent = tuple[UUID, bytes]


class RegisterFailed(DomainError):
    """The register itself failed on this one; it is not kept."""

    code = "server-error"
    http_status = 500


def deliver(
    *, device: FieldDevice, sent: Sequence[Sent], now: datetime
) -> list[Received | DomainError]:
    """Receive operations, each committed or refused by itself, in their order."""
    return [
        answer
        for start in range(0, len(sent), TOGETHER)
        for answer in _several(device, sent[start : start + TOGETHER], now)
    ]


def _several(
    device: FieldDevice, sent: Sequence[Sent], now: datetime
) -> list[Received | DomainError]:
    """Take some operations in one transaction; when that fails, one by one."""
    try:
        return receive_together(device=device, sent=sent, now=now)
    except Exception:
        # One operation that the register fails on must not hold up the others.
        logger.exception("Field operations failed together; now one by one")
        return [_one(device, each, now) for each in sent]


def _one(device: FieldDevice, sent: Sent, now: datetime) -> Received | DomainError:
    op_id, raw = sent
    try:
        return receive(device=device, op_id=op_id, raw=raw, now=now)
    except DomainError as refusal:
        return refusal
    except Exception:
        logger.exception("A field operation failed: %s", op_id)
        return RegisterFailed(
            "The register failed on this one. It stays where it came from; send it "
            "again."
        )
