"""One coach's roofs: what was laid, under which terms, from which lots."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from fleet.actions.errors import InvalidValue
from fleet.actions.readings import coat_log
from fleet.actions.roofs import installation
from fleet.models import CoatLog, Installation, Roof, RoofFact
from warranty.actions.importing.matching import by_key, chains_of, is_imported, key_uuid
from warranty.actions.importing.plan import (
    CoachPlan,
    RoofPlan,
    RowOf,
    each_row,
    refused,
    strike,
    tell,
)
from warranty.actions.importing.result import Outcome
from warranty.actions.importing.rows import CoatUse, RoofRow, read_roof
from warranty.models import Registration, TermsAssignment
from warranty.workbook.errors import RowRefused

Adder = Callable[[str, RoofFact], None]


def plan_roofs(plan: CoachPlan) -> None:
    """Plan the roofs on record and those that the workbook adds."""
    for roof_no, roof in plan.batch.record.roofs.get(plan.coach.pk, {}).items():
        plan.roofs[roof_no] = RoofPlan(
            roof=roof,
            is_new=False,
            substrate=roof.substrate,
            started_on=roof.started_on,
            completed_on=roof.completed_on,
        )
    tell_row = partial(_tell_roof, plan)
    result = plan.batch.result
    for row, at, outcomes in each_row(plan, "roofs", read_roof, _roof_no, tell_row):
        result.count("roofs", outcomes)
        _warn_of_days(plan, row, at)


def roof_for(plan: CoachPlan, roof_no: int) -> RoofPlan:
    """Return the roof that a row belongs to.

    Raises:
        RowRefused: the coach has no such roof.
    """
    found = plan.roofs.get(roof_no)
    if found is None:
        raise RowRefused(
            column="roof_no",
            value=str(roof_no),
            code="unknown-roof",
            reason=(
                f"Coach {plan.unit.unit_no} has no roof {roof_no}. Add it to roofs, or "
                "correct its row there if it was refused."
            ),
        )
    return found


def _roof_no(row: RoofRow) -> int:
    return row.roof_no


def _tell_roof(plan: CoachPlan, row: RoofRow, at: RowOf) -> list[Outcome]:
    known = plan.roofs.get(row.roof_no)
    roof_plan = known or RoofPlan(
        roof=Roof(coach=plan.coach, roof_no=row.roof_no), is_new=True
    )
    added: list[tuple[str, RoofFact]] = []

    def add(kind: str, fact: RoofFact) -> None:
        added.append((kind, fact))

    outcomes = [
        _install(plan, roof_plan, row, at, add),
        *_promise(plan, roof_plan, row, at, add),
        *_register(plan, roof_plan, row, at, add),
        *_coats(plan, roof_plan, row, at, add),
    ]
    for kind, fact in added:
        roof_plan.facts[kind].append(fact)
    plan.roofs[row.roof_no] = roof_plan
    return outcomes


def _install(
    plan: CoachPlan, roof: RoofPlan, row: RoofRow, at: RowOf, add: Adder
) -> Outcome:
    system = plan.batch.catalogue.systems.get(row.system)
    if system is None:
        raise _unknown("system", row.system)
    from_coach = plan.row.substrate if plan.row is not None else ""
    substrate = row.substrate or from_coach or roof.substrate
    if not substrate:
        raise RowRefused(
            column="substrate",
            value="",
            code="missing-value",
            reason="Nothing says what this roof is made of. Fill in the substrate.",
        )
    try:
        wanted = installation(
            system=system,
            substrate=substrate,
            started_on=row.started_on,
            completed_on=row.completed_on,
        )
    except InvalidValue as error:
        raise refused(error, {}, row) from None
    told = tell(
        wanted,
        chains_of(plan.batch.record.facts(Installation, roof.roof.pk)),
        uuid=key_uuid("installation", row.unit_no, row.roof_no),
        at=at,
        add=partial(add, "installation"),
    )
    counting = told.fact
    roof.substrate = counting.substrate
    roof.started_on, roof.completed_on = counting.started_on, counting.completed_on
    return told.outcome


def _promise(
    plan: CoachPlan, roof: RoofPlan, row: RoofRow, at: RowOf, add: Adder
) -> list[Outcome]:
    if not row.terms:
        return []
    edition = plan.batch.catalogue.editions.get(row.terms)
    if edition is None:
        raise _unknown("terms", row.terms)
    wanted = TermsAssignment(
        edition=edition, happened_on=row.completed_on or row.started_on
    )
    told = tell(
        wanted,
        chains_of(plan.batch.record.facts(TermsAssignment, roof.roof.pk)),
        uuid=key_uuid("terms", row.unit_no, row.roof_no),
        at=at,
        add=partial(add, "terms"),
    )
    if told.outcome is not Outcome.UNCHANGED:
        roof.cover = edition
    return [told.outcome]


def _register(
    plan: CoachPlan, roof: RoofPlan, row: RoofRow, at: RowOf, add: Adder
) -> list[Outcome]:
    chains = chains_of(plan.batch.record.facts(Registration, roof.roof.pk))
    adder = partial(add, "registration")
    if row.registered_on is None:
        told = [c for c in chains if c.end is not None and is_imported(c.end)]
        return [strike(chain, at=at, add=adder) for chain in told]
    wanted = Registration(registered_on=row.registered_on)
    uuid = key_uuid("registration", row.unit_no, row.roof_no)
    return [tell(wanted, chains, uuid=uuid, at=at, add=adder).outcome]


def _coats(
    plan: CoachPlan, roof: RoofPlan, row: RoofRow, at: RowOf, add: Adder
) -> list[Outcome]:
    known = by_key(
        chains_of(plan.batch.record.facts(CoatLog, roof.roof.pk)), lambda log: log.coat
    )
    adder = partial(add, "coats")
    used = {use.coat for use in row.coats}
    outcomes = [
        strike(chain, at=at, add=adder)
        for coat, chains in known.items()
        for chain in chains
        if coat not in used and chain.end is not None and is_imported(chain.end)
    ]
    for use in row.coats:
        told = tell(
            _coat_log(row, use),
            known[use.coat],
            uuid=key_uuid("coat", row.unit_no, row.roof_no, use.coat),
            at=at,
            add=adder,
        )
        outcomes.append(told.outcome)
    return outcomes


def _coat_log(row: RoofRow, use: CoatUse) -> CoatLog:
    if use.volume_gal is not None and use.volume_gal >= 10_000:
        raise RowRefused(
            column=f"{use.coat}_gal",
            value=str(use.volume_gal),
            code="out-of-range",
            reason="No roof takes ten thousand gallons. Check the value.",
        )
    try:
        return coat_log(
            coat=use.coat,
            lot=use.lot,
            volume=use.volume_gal,
            volume_unit="gal",
            happened_on=row.completed_on or row.started_on,
        )
    except InvalidValue as error:
        raise RowRefused(
            column=f"{use.coat}_gal",
            value=str(use.volume_gal),
            code=error.code,
            reason=error.message,
        ) from None


def _unknown(noun: str, code: str) -> RowRefused:
    return RowRefused(
        column=noun,
        value=code,
        code=f"unknown-{noun}",
        reason=f"No {noun} {code} is on record or in this workbook. Add it first.",
    )


def _warn_of_days(plan: CoachPlan, row: RoofRow, at: RowOf) -> None:
    completed_on, registered_on = row.completed_on, row.registered_on
    if completed_on and registered_on and registered_on < completed_on:
        at.warn(
            "registered-before-completion",
            f"Registered before the roof was completed on {completed_on}.",
            column="registered_on",
            value=str(registered_on),
        )
    for column, day in (
        ("started_on", row.started_on),
        ("completed_on", completed_on),
        ("registered_on", registered_on),
    ):
        warn_of_future(plan, at, column, day)


def warn_of_future(plan: CoachPlan, at: RowOf, column: str, day: object) -> None:
    """Say that a day has not come yet."""
    today = plan.batch.today
    if isinstance(day, type(today)) and day > today:
        at.warn(
            "in-the-future",
            f"This day has not come yet; today is {today}.",
            column=column,
            value=str(day),
        )
