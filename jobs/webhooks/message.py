"""What a message says, ids and states alone, and when it is tried again."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum
from typing import Final
from uuid import UUID

# The example schedule of the Standard Webhooks specification ("Deliverability and
# reliability"): the first try is at once, the last one 75:35:05 hours later.
PAUSES: Final = (
    timedelta(seconds=5),
    timedelta(minutes=5),
    timedelta(minutes=30),
    timedelta(hours=2),
    timedelta(hours=5),
    timedelta(hours=10),
    timedelta(hours=14),
    timedelta(hours=20),
    timedelta(hours=24),
)


class EventKind(StrEnum):
    STANDING_CHANGED = "standing.changed"
    INSPECTION_DUE = "inspection.due"
    CLAIM_MOVED = "claim.moved"
    PACKET_READY = "packet.ready"
    TEST = "test"


# Every member a message may have, by kind: ids, states and days. No name, no place.
MEMBERS: Final[Mapping[EventKind, Mapping[str, type]]] = {
    EventKind.STANDING_CHANGED: {
        "roof": UUID,
        "coach": UUID,
        "was": StrEnum,
        "is": StrEnum,
        "as_of": date,
    },
    EventKind.INSPECTION_DUE: {"roof": UUID, "coach": UUID, "due_on": date},
    EventKind.CLAIM_MOVED: {
        "claim": UUID,
        "roof": UUID,
        "was": StrEnum,
        "is": StrEnum,
    },
    EventKind.PACKET_READY: {"packet": UUID, "claim": UUID},
    EventKind.TEST: {},
}


class MessageInputError(ValueError):
    """A message with a member that its kind does not have."""


def body_of(
    kind: EventKind, *, happened_at: datetime, data: Mapping[str, object]
) -> bytes:
    """Return a message's bytes; the same event gives the same ones.

    Raises:
        MessageInputError: a member is missing, unknown, or of another type.
    """
    members = MEMBERS[kind]
    if set(data) != set(members):
        raise MessageInputError(
            f"{kind} must have {sorted(members)}, got {sorted(data)}"
        )
    for name, value in data.items():
        if not isinstance(value, members[name]):
            raise MessageInputError(f"{name} must be a {members[name].__name__}")
    said = {
        "type": kind.value,
        "timestamp": happened_at.astimezone(UTC).isoformat().replace("+00:00", "Z"),
        "data": {name: str(value) for name, value in data.items()},
    }
    return json.dumps(said, separators=(",", ":"), sort_keys=True).encode()


def pause_after(tries: int, *, jitter: float) -> timedelta | None:
    """Return how long to wait after so many failed tries, or None to give up.

    The jitter in [0, 1) adds up to a tenth, so that messages that failed together do
    not come back together.
    """
    if not 1 <= tries <= len(PAUSES):
        return None
    return PAUSES[tries - 1] * (1 + 0.1 * jitter)
