"""One coach: what it is, who holds it, when it left the road."""

from __future__ import annotations

from datetime import date

from fleet.actions.coaches import description
from fleet.actions.erasure import ERASED_NAME
from fleet.actions.errors import InvalidValue
from fleet.models import Coach, CoachDescription, CoachFact, Ownership, Retirement
from fleet.vin import VehicleClass, read_vin
from warranty.actions.importing.matching import chains_of, is_imported, key_uuid
from warranty.actions.importing.plan import (
    BatchPlan,
    CoachPlan,
    RowOf,
    each_row,
    refused,
    strike,
    tell,
)
from warranty.actions.importing.result import Outcome
from warranty.actions.importing.rows import CoachRow, read_coach
from warranty.workbook.errors import RowRefused
from warranty.workbook.spool import UnitRows

_TRAILERS = frozenset({"FIFTH_WHEEL", "TRAVEL_TRAILER", "TOY_HAULER", "PARK_MODEL"})
# Builders' field names and the columns that they came from.
_COLUMNS = {"length": "length_ft", "width": "width_ft"}


def plan_coach(unit: UnitRows, batch: BatchPlan) -> CoachPlan | None:
    """Return the plan of a coach, or None where its rows have no coach to go to."""
    known = batch.record.coaches.get(unit.unit_no)
    if known is not None and known.merged_into is not None:
        _refuse_all(unit, batch, _merged(known))
        return None
    plan = CoachPlan(
        unit=unit,
        batch=batch,
        coach=known or Coach(unit_no=unit.unit_no),
        is_new=known is None,
    )
    for row, at, _ in each_row(plan, "coaches", read_coach, _unit_no, _check):
        plan.row, plan.at = row, at
        _warn_of_number(row, at)
    if known is None and plan.row is None:
        left = UnitRows(
            unit_no=unit.unit_no,
            rows={name: rows for name, rows in unit.rows.items() if name != "coaches"},
        )
        _refuse_all(left, batch, _unknown(unit.unit_no))
        return None
    return plan


def tell_coach(plan: CoachPlan) -> None:
    """Add what the coach's row says. Its roofs are planned by then."""
    row, at = plan.row, plan.at
    if row is None or at is None:
        return
    facts: list[CoachFact] = []
    try:
        outcomes = [
            _describe(plan, row, at, facts),
            *_hold(plan, row, at, facts),
            *_retire(plan, row, at, facts),
        ]
    except RowRefused as why:
        plan.batch.result.refuse(at.sheet, at.row_no, at.key, why)
        return
    plan.facts.extend(facts)
    plan.batch.result.count("coaches", outcomes)
    _warn_of_days(plan, row, at)


def _unit_no(row: CoachRow) -> str:
    return row.unit_no


def _check(row: CoachRow, at: RowOf) -> list[Outcome]:
    _described(row)
    return []


def _described(row: CoachRow) -> CoachDescription:
    try:
        return description(
            length=row.length_ft,
            width=row.width_ft,
            length_unit="ft",
            vin=row.vin,
            model_year=row.model_year,
            make=row.make,
            model=row.model,
            body=row.body,
            town=row.town,
            state=row.state,
        )
    except InvalidValue as error:
        raise refused(error, _COLUMNS, row) from None


def _describe(
    plan: CoachPlan, row: CoachRow, at: RowOf, facts: list[CoachFact]
) -> Outcome:
    wanted = _described(row)
    wanted.coach = plan.coach
    if plan.is_new:
        plan.coach.length_m, plan.coach.width_m = wanted.length_m, wanted.width_m
    known = plan.batch.record.facts(CoachDescription, plan.coach.pk)
    return tell(
        wanted,
        chains_of(known),
        uuid=key_uuid("description", row.unit_no),
        at=at,
        add=facts.append,
    ).outcome


def _hold(
    plan: CoachPlan, row: CoachRow, at: RowOf, facts: list[CoachFact]
) -> list[Outcome]:
    """Tell who holds the coach, from the first completion at the latest."""
    if not row.owner:
        return []
    chains = chains_of(plan.batch.record.facts(Ownership, plan.coach.pk))
    own = [chain for chain in chains if is_imported(chain.rows[0])]
    last = (own or chains)[-1].last if chains else None
    if last is not None and last.owner.name == ERASED_NAME:
        at.warn(
            "erased-holder",
            "The holder was erased on request; the workbook does not bring them back.",
            column="owner",
        )
        return [Outcome.UNCHANGED]
    owner = plan.batch.people.owner(row)
    standing = [chain.end for chain in chains if chain.end is not None]
    holding = max(standing, key=lambda held: (held.from_on, held.pk), default=None)
    # Handed over on record: the workbook may name the new holder by now.
    is_from_record = holding is not None and not (own and holding is own[-1].end)
    if is_from_record and holding is not None and _is_held_by(holding, owner.pk):
        return [Outcome.UNCHANGED]
    if last is not None and _is_held_by(last, owner.pk):
        owner = last.owner  # merged into the named one since: the same holder
    wanted = Ownership(coach=plan.coach, owner=owner, from_on=_held_from(plan, last))
    told = tell(
        wanted,
        own or chains,
        uuid=key_uuid("ownership", row.unit_no),
        at=at,
        add=facts.append,
    )
    return [told.outcome]


def _is_held_by(held: Ownership, owner_id: int | None) -> bool:
    known = {held.owner_id, held.owner.merged_into_id}
    return owner_id is not None and owner_id in known


def _held_from(plan: CoachPlan, last: Ownership | None) -> date:
    if plan.first_completed_on is not None:
        return plan.first_completed_on
    return last.from_on if last else plan.batch.today


def _retire(
    plan: CoachPlan, row: CoachRow, at: RowOf, facts: list[CoachFact]
) -> list[Outcome]:
    chains = chains_of(plan.batch.record.facts(Retirement, plan.coach.pk))
    if row.retired_on is None:
        told = [c for c in chains if c.end is not None and is_imported(c.end)]
        return [strike(chain, at=at, add=facts.append) for chain in told]
    wanted = Retirement(coach=plan.coach, retired_on=row.retired_on)
    uuid = key_uuid("retirement", row.unit_no)
    return [tell(wanted, chains, uuid=uuid, at=at, add=facts.append).outcome]


def _warn_of_number(row: CoachRow, at: RowOf) -> None:
    kind = VehicleClass.TRAILER if row.body in _TRAILERS else VehicleClass.UNKNOWN
    read = read_vin(row.vin, vehicle_class=kind, model_year=row.model_year)
    for doubt in read.warnings:
        code = f"vin-{doubt.doubt.value.casefold().replace('_', '-')}"
        at.warn(code, doubt.message, column="vin", value=row.vin)


def _warn_of_days(plan: CoachPlan, row: CoachRow, at: RowOf) -> None:
    completed_on = plan.first_completed_on
    if completed_on and row.model_year and row.model_year > completed_on.year + 1:
        # Model years run ahead of the calendar by up to one (common practice).
        at.warn(
            "model-year-after-coating",
            f"The roof was completed on {completed_on}, before a coach of model year "
            f"{row.model_year} was built. Which is right?",
            column="year",
            value=str(row.model_year),
        )
    if completed_on and row.retired_on and row.retired_on < completed_on:
        at.warn(
            "retired-before-completion",
            f"The coach left the road before its roof was completed on {completed_on}.",
            column="retired_on",
            value=str(row.retired_on),
        )


def _refuse_all(unit: UnitRows, batch: BatchPlan, why: RowRefused) -> None:
    for name, rows in unit.rows.items():
        for raw in rows:
            batch.result.refuse(name, raw.row_no, unit.unit_no, why)


def _unknown(unit_no: str) -> RowRefused:
    return RowRefused(
        column="unit_no",
        value=unit_no,
        code="unknown-unit",
        reason=f"There is no coach {unit_no}. Add it, or correct the number.",
    )


def _merged(coach: Coach) -> RowRefused:
    return RowRefused(
        column="unit_no",
        value=coach.unit_no,
        code="merged-unit",
        reason=f"Coach {coach.unit_no} was merged into {coach.merged_into}. Use that.",
    )
