"""Record a visit whole: what was found at it and what it cured, sent once or twice."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from uuid import UUID, uuid4, uuid5

from fleet.actions.errors import NotARepair, VisitKnown
from fleet.actions.recording import recording
from fleet.actions.roofs import record, technician, text
from fleet.models import (
    OFFICE_SCOPE,
    Cure,
    Finding,
    Roof,
    RoofFact,
    User,
    Visit,
    VisitKind,
    VisitResult,
)


def visit(
    *,
    ref: str,
    kind: str,
    happened_on: date,
    result: str = VisitResult.NONE,
    technician_name: str = "",
    note: str = "",
    shop: str = "",
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> Visit:
    """Return one attendance at a coach; ``shop`` names another shop that came."""
    return Visit(
        uuid=uuid or uuid4(),
        supersedes=supersedes,
        ref=ref,
        kind=kind,
        happened_on=happened_on,
        result=result,
        technician=technician(technician_name),
        note=text(note),
        shop=text(shop),
    )


def cure(
    *,
    finding: Finding,
    repair: Visit,
    happened_on: date,
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> Cure:
    """Return that a repair cured a finding.

    Raises:
        NotARepair: the visit was something else.
    """
    if repair.kind != VisitKind.REPAIR:
        raise NotARepair("Only a repair cures a finding. Record the repair as one.")
    return Cure(
        uuid=uuid or uuid4(),
        supersedes=supersedes,
        finding=finding,
        visit=repair,
        happened_on=happened_on,
    )


def record_attendance(
    *,
    roof: Roof,
    attended: Visit,
    by: User,
    now: datetime,
    findings: Sequence[Finding] = (),
    cured: Sequence[Finding] = (),
    scope: str = OFFICE_SCOPE,
) -> Visit:
    """Record a visit, its findings and its cures in one transaction.

    Findings and cures are known by the visit's uuid and their place in it, so the
    same attendance sent again is the same, and another under its uuid is refused.

    Raises:
        NotARepair: something is cured by a visit that is no repair.
        VisitKnown: the reference is taken.
        RecordConflict: the uuid was used before for another attendance.
    """
    cures: list[RoofFact] = [
        cure(
            finding=each,
            repair=attended,
            happened_on=attended.happened_on,
            uuid=uuid5(attended.uuid, f"cure {each.uuid}"),
        )
        for each in cured
    ]
    for place, finding in enumerate(findings):
        finding.visit = attended
        finding.happened_on = attended.happened_on
        finding.uuid = uuid5(attended.uuid, f"finding {place}")
    told = {"roof": roof, "by": by, "now": now, "scope": scope}
    with recording(by=by, now=now, scope=scope) as made:
        made.lock([roof.pk])
        [kept] = record(kind="visit", facts=[attended], **told)
        if kept is attended:
            _refuse_taken(attended)
        for fact in (*findings, *cures):
            fact.visit = kept  # type: ignore[attr-defined]  # findings and cures have one
        record(kind="findings", facts=list(findings), **told)
        record(kind="cures", facts=cures, **told)
    if not isinstance(kept, Visit):
        raise TypeError("a visit was expected")
    return kept


def _refuse_taken(attended: Visit) -> None:
    first = Visit.objects.filter(ref=attended.ref, supersedes__isnull=True)
    if attended.supersedes is None and first.exists():
        raise VisitKnown(
            f"Visit {attended.ref} is on record already. Correct it or use another "
            "reference.",
            ref=attended.ref,
        )
