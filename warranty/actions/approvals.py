"""The office's word on inspections by other shops, and the inspections themselves."""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID, uuid4

from fleet.actions.attendance import record_attendance, visit
from fleet.actions.errors import InvalidValue
from fleet.actions.recording import recording
from fleet.actions.roofs import record, text
from fleet.civil import office_day
from fleet.errors import DomainError
from fleet.ledger.correction import rows_that_stand
from fleet.models import Roof, User, Visit
from warranty.models import VisitApproval
from warranty.selectors.facts import SATISFYING_KINDS, can_satisfy


class VisitApproved(DomainError):
    """The office has approved this visit already."""

    code = "visit-approved"
    http_status = 409


def record_other_shop(
    *,
    roof: Roof,
    shop: str,
    ref: str,
    kind: str,
    happened_on: date,
    result: str,
    note: str,
    by: User,
    now: datetime,
    uuid: UUID | None = None,
) -> Visit:
    """Record an inspection that another shop made, from its report.

    Raises:
        InvalidValue: no shop, no inspection, or a day still to come.
        VisitKnown: the reference is taken.
    """
    if not shop.strip():
        raise InvalidValue("shop", "Name the shop that made the inspection.")
    if kind not in SATISFYING_KINDS:
        raise InvalidValue("kind", "Only an inspection or a reinstatement enters here.")
    if happened_on > office_day(now):
        raise InvalidValue("happened_on", "The inspection lies in the future.")
    attended = visit(
        ref=ref,
        kind=kind,
        happened_on=happened_on,
        result=result,
        note=note,
        shop=shop,
        uuid=uuid,
    )
    return record_attendance(roof=roof, attended=attended, by=by, now=now)


def approve_visit(
    *,
    visit: Visit,
    why: str,
    by: User,
    now: datetime,
    uuid: UUID | None = None,
) -> VisitApproval:
    """Let another shop's passing inspection count, for a reason.

    It counts from the visit's own day, as known from now on.

    Raises:
        InvalidValue: no reason, or a visit that needs no approval.
        VisitApproved: it stands approved already.
    """
    if not why.strip():
        raise InvalidValue("why", "Say why this inspection counts.")
    if not visit.is_by_other_shop:
        raise InvalidValue("visit", f"Visit {visit.ref} is ours: it counts by itself.")
    if not can_satisfy(visit):
        raise InvalidValue(
            "visit",
            f"Visit {visit.ref} is no passing inspection: it satisfies nothing.",
        )
    fact = VisitApproval(uuid=uuid or uuid4(), visit=visit, why=text(why))
    with recording(by=by, now=now) as made:
        made.lock([visit.roof_id])
        standing = _standing(visit)
        if standing and all(row.uuid != fact.uuid for row in standing):
            raise VisitApproved(f"Visit {visit.ref} is approved already.")
        return _recorded(visit, fact, by=by, now=now)


def withdraw_approval(
    *, approval: VisitApproval, why: str, by: User, now: datetime
) -> VisitApproval:
    """Strike an approval: the visit counts no more, as known from now on.

    Raises:
        InvalidValue: no reason, or it does not stand any more.
    """
    if not why.strip():
        raise InvalidValue("why", "Say why the approval is withdrawn.")
    fact = VisitApproval(
        uuid=uuid4(),
        visit=approval.visit,
        why=text(why),
        supersedes=approval.uuid,
        is_void=True,
    )
    with recording(by=by, now=now) as made:
        made.lock([approval.roof_id])
        if approval.uuid not in {row.uuid for row in _standing(approval.visit)}:
            raise InvalidValue("approval", "It was withdrawn already.")
        return _recorded(approval.visit, fact, by=by, now=now)


def _standing(visit: Visit) -> tuple[VisitApproval, ...]:
    rows = VisitApproval.objects.filter(roof=visit.roof_id, visit__ref=visit.ref)
    return rows_that_stand(list(rows.order_by("recorded_at", "pk"))).rows


def _recorded(
    visit: Visit, fact: VisitApproval, *, by: User, now: datetime
) -> VisitApproval:
    [kept] = record(
        roof=visit.roof, kind="visit-approval", facts=[fact], by=by, now=now
    )
    if not isinstance(kept, VisitApproval):
        raise TypeError("an approval was expected")
    return kept
