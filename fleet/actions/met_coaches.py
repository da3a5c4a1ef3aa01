"""Say which roof a phone met where nobody had booked a visit."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction

from fleet.actions.field_apply import apply_with_waiting
from fleet.actions.field_members import Members, json_object
from fleet.errors import DomainError, NotAllowed
from fleet.models import (
    FieldOperation,
    LedgerHead,
    MetCoach,
    OperationState,
    Role,
    Roof,
    Settlement,
    User,
)


class AlreadyMatched(DomainError):
    """Somebody has said before which roof this is."""

    code = "already-matched"
    http_status = 409


class RoofIsKnown(DomainError):
    """The id is a roof's own: there is nothing to match."""

    code = "roof-is-known"
    http_status = 409


def match_met_coach(*, told_roof: UUID, roof: Roof, by: User, now: datetime) -> int:
    """Record what phones sent under a made-up roof as being about this roof.

    What arrives under that id later is recorded at once. Returns how many operations
    were tried; each is recorded, waits or stays aside by itself.

    Raises:
        NotAllowed: somebody but the office says so.
        RoofIsKnown: the id is that of a roof on record.
        AlreadyMatched: it was matched to another roof before.
    """
    if by.role != Role.OFFICE:
        raise NotAllowed("Only the office says which roof was met. Ask the office.")
    with transaction.atomic():
        # As every writer: what a phone sends meanwhile comes before or after.
        list(LedgerHead.objects.select_for_update().filter(roof=roof).values("pk"))
        if Roof.objects.filter(uuid=told_roof).exists():
            raise RoofIsKnown("This is a roof on record. Load the review again.")
        _match(told_roof, roof, by, now)
        waiting = [row for row in _unplaced() if _roof_told(row) == told_roof]
        for operation in waiting:
            # One that another has woken meanwhile is recorded already.
            operation.refresh_from_db()
            if operation.state == OperationState.KEPT_ASIDE:
                apply_with_waiting(operation, now=now)
    return len(waiting)


def _match(told_roof: UUID, roof: Roof, by: User, now: datetime) -> None:
    known, _ = MetCoach.objects.get_or_create(
        told_roof=told_roof,
        defaults={"roof": roof, "matched_by": by, "matched_at": now},
    )
    # The same word again picks up what came in at the very moment of the first.
    if known.roof_id != roof.pk:
        raise AlreadyMatched(
            "This was matched to another coach before. Load the review again."
        )


def _unplaced() -> list[FieldOperation]:
    rows = FieldOperation.objects.filter(
        stands=True,
        roof__isnull=True,
        state=OperationState.KEPT_ASIDE,
        settlement=Settlement.NONE,
    )
    return list(rows.select_related("device__user").order_by("pk"))


def _roof_told(operation: FieldOperation) -> UUID | None:
    given = json_object(bytes(operation.raw))
    return Members(given or {}).told_uuid("roof")
