"""Take in a claim as it is sent: once for each sender's id, only for their own days."""

from __future__ import annotations

from datetime import datetime
from uuid import uuid4

from fleet.actions.errors import InvalidValue
from fleet.actions.recording import already_recorded, recording
from fleet.models import Roof, User
from fleet.scope import Scope, Sight
from fleet.selectors.records import roof_records
from warranty.actions.claims import holder_on, report_claim
from warranty.models import Claim, ClaimReport


def take_claim(
    *, roof: Roof, ref: str, report: ClaimReport, by: User, now: datetime, scope: Scope
) -> tuple[Claim, bool]:
    """Open the claim that a report tells of; return it and whether it is new.

    The sender's uuid names the report, so the same report sent again is the same
    claim. Without a reference the register gives one.

    Raises:
        ClaimKnown: the reference is taken.
        RecordConflict: the uuid was used before for another report.
        InvalidValue: the sender did not hold the coach when the loss was noticed.
    """
    with recording(by=by, now=now, scope=scope.record_scope) as made:
        made.lock([roof.pk])
        report.scope = scope.record_scope
        known = _known(report, roof)
        if known is not None:
            return known.claim, False
        _refuse_foreign_day(roof, report, scope, now)
        claim = report_claim(
            roof=roof,
            # Not of the sender's uuid: two senders may choose the same.
            ref=ref or f"C-{uuid4().hex[:12].upper()}",
            report=report,
            by=by,
            now=now,
            scope=scope.record_scope,
        )
    return claim, True


def _known(report: ClaimReport, roof: Roof) -> ClaimReport | None:
    sent = ClaimReport.objects.select_related("claim")
    first = sent.filter(scope=report.scope, uuid=report.uuid, roof=roof).first()
    if first is not None:
        report.claim = first.claim
    elif not sent.filter(scope=report.scope, uuid=report.uuid).exists():
        return None
    else:
        # Used for another roof: compared with that report it is another content.
        report.claim = Claim(roof=roof)
    return already_recorded(report)


def _refuse_foreign_day(
    roof: Roof, report: ClaimReport, scope: Scope, now: datetime
) -> None:
    if scope.sight is Sight.EVERYTHING:
        return
    records = roof_records([roof.pk], known_at=now)[roof.pk]
    holder = holder_on(records.ownerships, report.noticed_on)
    if holder is None or holder.pk not in scope.owner_ids:
        raise InvalidValue(
            "noticed_on",
            f"You did not hold this coach on {report.noticed_on}. Check the day, or "
            "ask the office.",
        )
