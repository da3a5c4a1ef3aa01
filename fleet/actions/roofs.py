"""Roofs: open, install, and record what was read and seen on them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from uuid import UUID, uuid4, uuid5

from fleet.actions.coaches import coach_facts, locked_coach
from fleet.actions.errors import InvalidValue, NotARepair
from fleet.actions.recording import Recording, known_rows, recording
from fleet.models import (
    OFFICE_SCOPE,
    Coach,
    CoachFact,
    Cure,
    Finding,
    Installation,
    LedgerHead,
    PrivateText,
    Roof,
    RoofFact,
    System,
    Technician,
    User,
    Visit,
    VisitKind,
    VisitResult,
)


def open_roof(
    *,
    coach: Coach,
    by: User,
    now: datetime,
    roof_no: int | None = None,
    uuid: UUID | None = None,
) -> Roof:
    """Open a roof and its chain; what is known of the coach stands at its head."""
    with recording(by=by, now=now) as made:
        # What is recorded about the coach meanwhile waits, and then sees this roof.
        coach = locked_coach(coach)
        used = coach.roofs.order_by("-roof_no").values_list("roof_no", flat=True)
        number = roof_no or (used[0] + 1 if used else 1)
        roof = Roof.objects.create(
            uuid=uuid or uuid4(), coach=coach, roof_no=number, opened_at=now
        )
        # A recording joined half-way may still hold facts about the coach.
        made.flush()
        start_chain(made, roof, coach_facts(coach))
    return roof


def start_chain(made: Recording, roof: Roof, facts: Sequence[CoachFact]) -> None:
    """Give a new roof its chain: an opening entry that holds the coach's facts."""
    start_chains(made, [(roof, facts)])


def start_chains(
    made: Recording, opened: Sequence[tuple[Roof, Sequence[CoachFact]]]
) -> None:
    """Give new roofs their chains, each opening with its coach's facts."""
    LedgerHead.objects.bulk_create(LedgerHead(roof=roof) for roof, _ in opened)
    made.lock(roof.pk for roof, _ in opened)
    for roof, facts in opened:
        opening: dict[str, object] = {
            "type": "roof",
            "uuid": str(roof.uuid),
            "coach": str(roof.coach.uuid),
            "roof_no": roof.roof_no,
        }
        records = [opening, *(fact.ledger_record() for fact in facts)]
        made.note(roof.pk, "opened", records)


def record(
    *,
    roof: Roof,
    kind: str,
    facts: Sequence[RoofFact],
    by: User,
    now: datetime,
    scope: str = OFFICE_SCOPE,
) -> list[RoofFact]:
    """Record facts about one roof as one ledger entry; known ones stay as they are.

    Raises:
        RecordConflict: an id was used before with other content.
    """
    with recording(by=by, now=now, scope=scope) as made:
        made.lock([roof.pk])
        for fact in facts:
            # Joined to an open recording, its scope is the one that is written.
            fact.roof, fact.scope = roof, made.scope
        known = known_rows(facts)
        pairs = list(zip(facts, known, strict=True))
        made.append(roof, kind, [fact for fact, row in pairs if row is None])
    return [row or fact for fact, row in pairs]


def record_installation(
    *,
    roof: Roof,
    system: System,
    substrate: str,
    started_on: date,
    completed_on: date | None,
    by: User,
    now: datetime,
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> Installation:
    """Record which system was laid on what, and when.

    Raises:
        InvalidValue: completed before it started.
    """
    fact = installation(
        system=system,
        substrate=substrate,
        started_on=started_on,
        completed_on=completed_on,
        uuid=uuid,
        supersedes=supersedes,
    )
    [kept] = record(roof=roof, kind="installation", facts=[fact], by=by, now=now)
    if not isinstance(kept, Installation):
        raise TypeError("an installation was expected")
    return kept


def installation(
    *,
    system: System,
    substrate: str,
    started_on: date,
    completed_on: date | None,
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> Installation:
    """Return an installation fact, its dates in order."""
    if completed_on is not None and completed_on < started_on:
        raise InvalidValue(
            "completed_on",
            f"Completed on {completed_on} lies before the start on {started_on}.",
        )
    return Installation(
        uuid=uuid or uuid4(),
        supersedes=supersedes,
        system=system,
        substrate=substrate,
        started_on=started_on,
        completed_on=completed_on,
    )


def text(body: str) -> PrivateText | None:
    """Return a free text, kept apart from its fact so that it can be erased later.

    It is saved with the fact that names it.
    """
    return PrivateText(body=body) if body.strip() else None


def technician(name: str) -> Technician | None:
    """Return the technician of this name, added when new; none for no name."""
    if not name.strip():
        return None
    return Technician.objects.get_or_create(name=name.strip())[0]


def record_visit(
    *,
    roof: Roof,
    ref: str,
    kind: str,
    happened_on: date,
    by: User,
    now: datetime,
    result: str = VisitResult.NONE,
    technician_name: str = "",
    note: str = "",
    findings: Sequence[Finding] = (),
    cured: Sequence[Finding] = (),
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
    scope: str = OFFICE_SCOPE,
) -> Visit:
    """Record a visit with what was found at it and what it cured.

    Raises:
        NotARepair: something is cured by a visit that is no repair.
    """
    if cured and kind != VisitKind.REPAIR:
        raise NotARepair("Only a repair cures a finding. Record the repair as one.")
    told = {"roof": roof, "by": by, "now": now, "scope": scope}
    with recording(by=by, now=now, scope=scope) as made:
        made.lock([roof.pk])
        visit = Visit(
            uuid=uuid or uuid4(),
            scope=scope,
            supersedes=supersedes,
            ref=ref,
            kind=kind,
            happened_on=happened_on,
            result=result,
            technician=technician(technician_name),
            note=text(note),
        )
        [kept] = record(kind="visit", facts=[visit], **told)
        # Known by the visit and their place in it: sent again they are the same.
        for place, finding in enumerate(findings):
            finding.visit, finding.uuid = kept, uuid5(kept.uuid, f"finding {place}")
        cures = [
            Cure(
                uuid=uuid5(kept.uuid, f"cure {finding.uuid}"),
                finding=finding,
                visit=kept,
                happened_on=happened_on,
            )
            for finding in cured
        ]
        record(kind="findings", facts=findings, **told)
        record(kind="cures", facts=cures, **told)
    if not isinstance(kept, Visit):
        raise TypeError("a visit was expected")
    return kept
