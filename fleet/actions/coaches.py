"""Owners and coaches: add, describe, hand over, retire, merge."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from uuid import UUID, uuid4

from django.db.models import F, Q

from fleet.actions.errors import AlreadyMerged, CoachKnown, InvalidValue
from fleet.actions.events import Happening, tell
from fleet.actions.projection import HELD, MERGED
from fleet.actions.readings import metres
from fleet.actions.recording import already_recorded, recording
from fleet.models import (
    Coach,
    CoachDescription,
    CoachFact,
    EventKind,
    Merge,
    MergeKind,
    Owner,
    Ownership,
    PrivateText,
    Retirement,
    Roof,
    User,
)
from fleet.vin import normalise


def add_owner(
    *,
    name: str,
    kind: str,
    email: str = "",
    phone: str = "",
    uuid: UUID | None = None,
) -> Owner:
    """Add an owner."""
    if not name.strip():
        raise InvalidValue("name", "An owner needs a name.")
    return Owner.objects.create(
        uuid=uuid or uuid4(), name=name.strip(), kind=kind, email=email, phone=phone
    )


def description(
    *,
    length: Decimal,
    width: Decimal,
    length_unit: str,
    vin: str = "",
    model_year: int | None = None,
    make: str = "",
    model: str = "",
    body: str = "",
    town: str = "",
    state: str = "",
    time_zone: str = "",
    happened_on: date | None = None,
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> CoachDescription:
    """Return what a coach is said to be, sizes as measured and in metres.

    Raises:
        InvalidValue: a size that no coach has.
    """
    length_m, width_m = (
        metres("length", length, length_unit),
        metres("width", width, length_unit),
    )
    if not 0 < length_m <= 30:
        raise InvalidValue(
            "length", f"A coach is not {length} {length_unit} long. Check the unit."
        )
    if not 0 < width_m <= 5:
        raise InvalidValue(
            "width", f"A coach is not {width} {length_unit} wide. Check the unit."
        )
    return CoachDescription(
        uuid=uuid or uuid4(),
        supersedes=supersedes,
        vin_as_typed=vin[:40],
        vin=normalise(vin)[:17],
        model_year=model_year,
        make=make,
        model=model,
        body=body,
        length=length,
        width=width,
        length_unit=length_unit,
        length_m=length_m,
        width_m=width_m,
        town=town,
        state=state,
        time_zone=time_zone,
        happened_on=happened_on,
    )


def add_coach(
    *,
    unit_no: str,
    described: CoachDescription,
    by: User,
    now: datetime,
    owner: Owner | None = None,
    held_from: date | None = None,
    uuid: UUID | None = None,
) -> Coach:
    """Add a coach with its description and, where known, its holder.

    Raises:
        CoachKnown: the number is taken.
    """
    if Coach.objects.filter(unit_no=unit_no).exists():
        raise CoachKnown(
            f"Coach {unit_no} is on record already. Correct it or use another number.",
            unit_no=unit_no,
        )
    with recording(by=by, now=now) as made:
        coach = new_coach(unit_no, described, uuid=uuid)
        coach.save()
        facts: list[CoachFact] = [described]
        described.coach = coach
        if owner is not None and held_from is not None:
            facts.append(Ownership(coach=coach, owner=owner, from_on=held_from))
        made.append_to_coach([], "coach", facts)
    coach.refresh_from_db()
    return coach


def coach_facts(coach: Coach) -> list[CoachFact]:
    """Return what is recorded about a coach and those merged into it, oldest first."""
    facts: list[CoachFact] = []
    of = Q(coach=coach) | Q(coach__merged_into=coach)
    for table in (CoachDescription, Ownership, Retirement):
        rows = table._default_manager.filter(of).order_by("pk")
        joined = ("coach", "recorded_by", *_JOINED.get(table, ()))
        facts.extend(rows.select_related(*joined))
    return sorted(facts, key=lambda fact: fact.recorded_at)


_JOINED: dict[type[CoachFact], tuple[str, ...]] = {Ownership: ("owner",)}


def locked_coach(coach: Coach) -> Coach:
    """Return the coach that this one counts as, locked against other writers.

    Lock the chains of its roofs first: all writers take chains, then coaches.
    """
    found = Coach.objects.select_for_update().get(pk=coach.pk)
    if found.merged_into_id is None:
        return found
    return Coach.objects.select_for_update().get(pk=found.merged_into_id)


def new_coach(
    unit_no: str, described: CoachDescription, *, uuid: UUID | None = None
) -> Coach:
    """Return an unsaved coach row; its columns follow from its facts."""
    if not unit_no.strip():
        raise InvalidValue("unit_no", "A coach needs the office's number.")
    return Coach(
        uuid=uuid or uuid4(),
        unit_no=unit_no,
        length_m=described.length_m,
        width_m=described.width_m,
    )


def record_about_coach(
    *, coach: Coach, fact: CoachFact, kind: str, by: User, now: datetime
) -> CoachFact:
    """Record one fact about a coach in the ledgers of all its roofs.

    A coach that was merged into another speaks for that one.
    """
    with recording(by=by, now=now) as made:
        made.lock(_roof_ids(coach))
        coach = locked_coach(coach)
        # A roof may have been opened, or moved by a merge, until now.
        roof_ids = _roof_ids(coach)
        made.lock(roof_ids)
        fact.coach, fact.recorded_at, fact.recorded_by = coach, now, by
        fact.scope = made.scope
        known = already_recorded(fact)
        if known is not None:
            return known
        made.append_to_coach(roof_ids, kind, [fact])
        made.touch(roof_ids)
    return fact


def _roof_ids(coach: Coach) -> list[int]:
    return list(coach.roofs.order_by("pk").values_list("pk", flat=True))


def describe_coach(
    *, coach: Coach, described: CoachDescription, by: User, now: datetime
) -> CoachFact:
    """Record a new description; name the older one in ``supersedes`` to correct it."""
    return record_about_coach(coach=coach, fact=described, kind="coach", by=by, now=now)


def hand_over(
    *,
    coach: Coach,
    owner: Owner,
    from_on: date,
    by: User,
    now: datetime,
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> CoachFact:
    """Record that an owner holds the coach from a day on."""
    fact = Ownership(
        uuid=uuid or uuid4(), supersedes=supersedes, owner=owner, from_on=from_on
    )
    return record_about_coach(coach=coach, fact=fact, kind="ownership", by=by, now=now)


def retire_coach(
    *,
    coach: Coach,
    retired_on: date,
    by: User,
    now: datetime,
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> CoachFact:
    """Record that the coach left the road."""
    fact = Retirement(
        uuid=uuid or uuid4(), supersedes=supersedes, retired_on=retired_on
    )
    return record_about_coach(coach=coach, fact=fact, kind="retirement", by=by, now=now)


def merge_owners(
    *, kept: Owner, dropped: Owner, why: str, by: User, now: datetime
) -> Merge:
    """Make a duplicate owner count as the one that is kept.

    Raises:
        AlreadyMerged: one of the two was merged before.
    """
    roof_ids = _roofs_of_owner(dropped)
    with recording(by=by, now=now) as made:
        made.lock(roof_ids)
        _refuse_merged(Owner, kept.pk, dropped.pk)
        merge = _merge(MergeKind.OWNER, kept.uuid, dropped.uuid, why, by, now)
        # Those merged into the dropped one before count for the kept one now.
        same = Owner.objects.filter(Q(pk=dropped.pk) | Q(merged_into=dropped))
        same.update(merged_into=kept, version=F("version") + 1)
        moved = Coach.objects.filter(holder=dropped)
        tell([_came_by_merge(coach, kept.pk, HELD, now) for coach in moved])
        moved.update(holder=kept)
        for roof_id in roof_ids:
            made.note(roof_id, "owners_merged", [merge.ledger_record()])
    return merge


def merge_coaches(
    *, kept: Coach, dropped: Coach, why: str, by: User, now: datetime
) -> Merge:
    """Make a duplicate coach's roofs and facts count for the one that is kept.

    Raises:
        AlreadyMerged: one of the two was merged before.
    """
    with recording(by=by, now=now) as made:
        made.lock([*_roof_ids(kept), *_roof_ids(dropped)])
        _refuse_merged(Coach, kept.pk, dropped.pk)
        roofs = list(Roof.objects.filter(coach__in=[kept, dropped]).order_by("pk"))
        made.lock(roof.pk for roof in roofs)
        merge = _merge(MergeKind.COACH, kept.uuid, dropped.uuid, why, by, now)
        # Every chain of the kept coach tells all that was recorded of either.
        facts = [*coach_facts(kept), *coach_facts(dropped)]
        # Those merged into the dropped one before count for the kept one now.
        same = Coach.objects.filter(Q(pk=dropped.pk) | Q(merged_into=dropped))
        same.update(merged_into=kept, version=F("version") + 1)
        taken = max((r.roof_no for r in roofs if r.coach_id == kept.pk), default=0)
        moved = [roof for roof in roofs if roof.coach_id == dropped.pk]
        for number, roof in enumerate(moved, start=taken + 1):
            Roof.objects.filter(pk=roof.pk).update(
                coach=kept, roof_no=number, version=F("version") + 1
            )
        records = [merge.ledger_record(), *(fact.ledger_record() for fact in facts)]
        for roof in roofs:
            made.note(roof.pk, "coaches_merged", records)
        made.project_coach(kept.pk)
        tell([_came_by_merge(dropped, dropped.holder_id, MERGED, now)])
    return merge


def _came_by_merge(
    coach: Coach, owner_id: int | None, detail: str, now: datetime
) -> Happening:
    return Happening(
        kind=EventKind.COACH,
        subject=coach.uuid,
        coach_id=coach.pk,
        owner_id=owner_id,
        detail=detail,
        at=now,
    )


def _refuse_merged(table: type[Owner] | type[Coach], kept: int, dropped: int) -> None:
    if kept == dropped:
        raise InvalidValue("dropped", "A record cannot be merged into itself.")
    # Locked and read again: of two merges at once the second sees the first.
    rows = table._default_manager.select_for_update().filter(pk__in=[kept, dropped])
    if any(row.merged_into_id for row in rows.order_by("pk")):
        raise AlreadyMerged("One of the two was merged before. Choose the kept one.")


def _roofs_of_owner(owner: Owner) -> list[int]:
    roofs = Roof.objects.filter(coach__ownerships__owner=owner).distinct()
    return list(roofs.order_by("pk").values_list("pk", flat=True))


def _merge(
    kind: MergeKind, kept: UUID, dropped: UUID, why: str, by: User, now: datetime
) -> Merge:
    text = PrivateText.objects.create(body=why)
    return Merge.objects.create(
        kind=kind, kept=kept, dropped=dropped, why=text, recorded_at=now, recorded_by=by
    )
