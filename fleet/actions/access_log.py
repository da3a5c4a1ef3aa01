"""Write down what happened at the door."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from fleet.models import AccessEvent, AccessKind, User


def note_access(
    kind: AccessKind,
    *,
    now: datetime,
    by: User | None = None,
    owner_id: int | None = None,
    address: str = "",
    about: UUID | None = None,
    detail: str = "",
) -> AccessEvent:
    """Write one event; it stays as it is. The owner is that of who did it, if any."""
    return AccessEvent.objects.create(
        at=now,
        kind=kind,
        user_uuid=by.uuid if by else None,
        user_name=str(by)[:150] if by else "",
        owner_number=owner_id or (by.owner_id if by else None),
        address=address,
        about_uuid=about,
        detail="".join(each for each in detail if each.isprintable())[:200],
    )
