"""Write a planned batch: one recording, a handful of statements per table."""

from __future__ import annotations

from fleet.actions.recording import Recording
from fleet.actions.roofs import start_chains
from fleet.models import Coach, CoachFact, Owner, Ownership, Roof, Technician, Visit
from warranty.actions.claim_moves import set_clocks
from warranty.actions.claims import holder_on
from warranty.actions.importing.facts import ENTRY_ORDER
from warranty.actions.importing.matching import chains_of
from warranty.actions.importing.plan import BatchPlan, CoachPlan, RoofPlan
from warranty.models import Claim, Coverage


def write(made: Recording, batch: BatchPlan) -> None:
    """Write what a batch adds. Nothing is read or written where nothing is new."""
    if not has_anything(batch):
        return
    _people(batch)
    Coach.objects.bulk_create(plan.coach for plan in batch.coaches if plan.is_new)
    new_roofs = _new_roofs(made, batch)
    _coach_facts(made, batch)
    start_chains(made, new_roofs)
    _roof_facts(made, batch)
    _claims(made, batch)
    _cover(made, batch)


def has_anything(batch: BatchPlan) -> bool:
    """Return whether a batch adds anything to the record."""
    return any(
        plan.is_new
        or plan.facts
        or plan.new_claims
        or plan.changed_claims
        or any(roof.is_new or any(roof.facts.values()) for roof in plan.roofs.values())
        for plan in batch.coaches
    )


def count_facts(batch: BatchPlan) -> int:
    """Return how many facts a batch adds."""
    return sum(
        len(plan.facts)
        + sum(
            len(facts) for roof in plan.roofs.values() for facts in roof.facts.values()
        )
        for plan in batch.coaches
    )


def _people(batch: BatchPlan) -> None:
    """Save the owners and technicians that facts name; a row that changes nothing
    may have named others."""
    named: set[int] = set()
    for plan in batch.coaches:
        named |= {id(f.owner) for f in plan.facts if isinstance(f, Ownership)}
        for roof in plan.roofs.values():
            visits = [f for f in roof.facts.get("visit", ()) if isinstance(f, Visit)]
            named |= {id(visit.technician) for visit in visits}
    people = batch.people
    Owner.objects.bulk_create(o for o in people.new_owners if id(o) in named)
    Technician.objects.bulk_create(t for t in people.new_technicians if id(t) in named)


def _all_roofs(batch: BatchPlan) -> list[RoofPlan]:
    return [roof for plan in batch.coaches for roof in plan.roofs.values()]


def _new_roofs(made: Recording, batch: BatchPlan) -> list[tuple[Roof, list[CoachFact]]]:
    """Save the new roofs; return each with what is known of its coach."""
    opened: list[tuple[Roof, list[CoachFact]]] = []
    for plan in batch.coaches:
        known = batch.record.coach_facts(plan.coach.pk)
        for roof in plan.roofs.values():
            if roof.is_new:
                roof.roof.coach = plan.coach
                roof.roof.opened_at = made.now
                opened.append((roof.roof, [*known, *plan.facts]))
    Roof.objects.bulk_create(roof for roof, _ in opened)
    return opened


def _coach_facts(made: Recording, batch: BatchPlan) -> None:
    for plan in batch.coaches:
        for fact in plan.facts:
            fact.coach = plan.coach
        held = [roof.roof.pk for roof in plan.roofs.values() if not roof.is_new]
        made.append_to_coach(held, "coach", plan.facts)
        if held and plan.facts:
            made.touch(held)


def _roof_facts(made: Recording, batch: BatchPlan) -> None:
    # Kind by kind over all roofs: tables are then written in that order, and a row
    # that others name is written before them.
    roofs = sorted(_all_roofs(batch), key=lambda roof: roof.roof.pk)
    for kind in ENTRY_ORDER:
        for roof in roofs:
            made.append(roof.roof, kind, roof.facts.get(kind, []))


def _claims(made: Recording, batch: BatchPlan) -> None:
    new = [claim for plan in batch.coaches for claim in plan.new_claims]
    Claim.objects.bulk_create(new)
    changed = [claim for plan in batch.coaches for claim in plan.changed_claims]
    for claim in changed:
        claim.version += 1
    held = [claim for plan in batch.coaches for claim in _held_otherwise(plan, changed)]
    Claim.objects.bulk_update(
        [*changed, *held], ["noticed_on", "reported_on", "holder", "version"]
    )
    set_clocks([*new, *changed], now=made.now)


def _held_otherwise(plan: CoachPlan, changed: list[Claim]) -> list[Claim]:
    """Return the coach's other claims that a corrected ownership gives to another."""
    added = [fact for fact in plan.facts if isinstance(fact, Ownership)]
    if plan.is_new or not added:
        return []
    known = plan.batch.record.facts(Ownership, plan.coach.pk)
    standing = [c.end for c in chains_of([*known, *added]) if c.end is not None]
    holders = sorted(standing, key=lambda row: row.from_on)
    moved = []
    for claim in Claim.objects.filter(roof__coach=plan.coach).order_by("pk"):
        holder = holder_on(holders, claim.noticed_on)
        is_same = claim.holder_id == (holder.pk if holder else None)
        if not is_same and claim.pk not in {row.pk for row in changed}:
            claim.holder = holder
            claim.version += 1
            moved.append(claim)
    return moved


def _cover(made: Recording, batch: BatchPlan) -> None:
    promised = [roof for roof in _all_roofs(batch) if roof.cover is not None]
    Coverage.objects.bulk_create(
        [Coverage(roof=roof.roof, edition=roof.cover) for roof in promised],
        update_conflicts=True,
        unique_fields=["roof"],
        update_fields=["edition"],
    )
    made.touch(roof.roof.pk for roof in promised)
