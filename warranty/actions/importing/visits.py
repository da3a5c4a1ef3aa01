"""One coach's visits, what was found at them, and what a repair cured."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from fleet.actions.roofs import text
from fleet.models import Cure, Finding, PrivateText, Visit, VisitKind
from warranty.actions.importing.matching import (
    Chain,
    by_key,
    chains_of,
    is_imported,
    key_uuid,
)
from warranty.actions.importing.plan import (
    CoachPlan,
    RoofPlan,
    RowOf,
    each_row,
    strike,
    tell,
)
from warranty.actions.importing.result import Outcome
from warranty.actions.importing.roof import roof_for, warn_of_future
from warranty.actions.importing.rows import VisitRow, read_visit
from warranty.workbook.errors import RowRefused


@dataclass(slots=True, kw_only=True)
class _RoofVisits:
    """One roof's visits by reference, the findings of each, and the cures."""

    visits: dict[object, list[Chain[Visit]]]
    finding_chains: dict[object, list[Chain[Finding]]]
    cure_chains: dict[object, list[Chain[Cure]]]
    # Findings that count from now on, by the reference of their visit.
    findings: dict[str, list[Finding]] = field(
        default_factory=lambda: defaultdict(list)
    )
    counting: dict[str, Visit] = field(default_factory=dict)
    moved: dict[int, Finding] = field(default_factory=dict)  # by the old row's id


def plan_visits(plan: CoachPlan) -> None:
    """Plan the visits first, then the cures: a repair may stand above its finding."""
    on_roof = {no: _on_record(plan, roof) for no, roof in plan.roofs.items()}

    def tell_row(row: VisitRow, at: RowOf) -> list[Outcome]:
        roof = roof_for(plan, row.roof_no)
        _require_free(plan, roof, row)
        return _tell_visit(plan, roof, on_roof[row.roof_no], row, at)

    def key_of(row: VisitRow) -> object:
        return row.ref

    told = list(each_row(plan, "visits", read_visit, key_of, tell_row))
    handled: set[int] = set()
    for row, at, outcomes in told:
        outcomes += _tell_cures(plan, on_roof, row, at, handled)
        plan.batch.result.count("visits", outcomes)
        _warn_of_days(plan, row, at)
    for no, roof in plan.roofs.items():
        _repoint(plan, roof, on_roof[no], handled)


def _on_record(plan: CoachPlan, roof: RoofPlan) -> _RoofVisits:
    record, roof_id = plan.batch.record, roof.roof.pk
    found = _RoofVisits(
        visits=by_key(chains_of(record.facts(Visit, roof_id)), lambda row: row.ref),
        finding_chains=by_key(
            chains_of(record.facts(Finding, roof_id)),
            lambda row: row.visit.ref if row.visit else None,
        ),
        cure_chains=by_key(
            chains_of(record.facts(Cure, roof_id)), lambda row: row.visit.ref
        ),
    )
    for ref, chains in found.finding_chains.items():
        if isinstance(ref, str):
            found.findings[ref] = [c.end for c in chains if c.end is not None]
    return found


def _require_free(plan: CoachPlan, roof: RoofPlan, row: VisitRow) -> None:
    holder = plan.batch.record.visit_roofs.get(row.ref)
    if holder is not None and holder != roof.roof.pk:
        raise RowRefused(
            column="ref",
            value=row.ref,
            code="reference-taken",
            reason=(
                f"Visit {row.ref} is on record for another roof. Give this one another "
                "reference."
            ),
        )


def _tell_visit(
    plan: CoachPlan, roof: RoofPlan, known: _RoofVisits, row: VisitRow, at: RowOf
) -> list[Outcome]:
    wanted = Visit(
        ref=row.ref,
        kind=row.kind,
        happened_on=row.happened_on,
        technician=plan.batch.people.technician(row.technician),
        result=row.result,
        # Without a severity it is no finding, and still not lost.
        note=None if row.severity else text(row.finding),
        shop=text(row.shop) or _shop_on_record(known.visits[row.ref]),
    )
    told = tell(
        wanted,
        known.visits[row.ref],
        uuid=key_uuid("visit", row.ref),
        at=at,
        add=roof.facts["visit"].append,
    )
    known.counting[row.ref] = told.fact
    return [told.outcome, *_tell_finding(roof, known, row, told.fact, at)]


def _shop_on_record(chains: list[Chain[Visit]]) -> PrivateText | None:
    """Return the other shop on record: a sheet without one does not make it ours."""
    return chains[-1].last.shop if chains else None


def _tell_finding(
    roof: RoofPlan, known: _RoofVisits, row: VisitRow, visit: Visit, at: RowOf
) -> list[Outcome]:
    chains = known.finding_chains[row.ref]
    add = roof.facts["findings"].append
    if not row.severity:
        told = [c for c in chains if c.end is not None and is_imported(c.end)]
        for chain in told:
            known.findings[row.ref].remove(chain.last)
        return [strike(chain, at=at, add=add) for chain in told]
    wanted = Finding(
        visit=visit,
        happened_on=row.happened_on,
        severity=row.severity,
        note=text(row.finding),
    )
    done = tell(wanted, chains, uuid=key_uuid("finding", row.ref), at=at, add=add)
    if done.outcome is Outcome.NEW:
        known.findings[row.ref].append(done.fact)
    elif done.outcome is Outcome.CORRECTED:
        old = [f for f in known.findings[row.ref] if f.uuid == done.fact.supersedes]
        for finding in old:
            known.findings[row.ref].remove(finding)
            known.moved[finding.pk] = done.fact
        known.findings[row.ref].append(done.fact)
    return [done.outcome]


def _tell_cures(
    plan: CoachPlan,
    on_roof: dict[int, _RoofVisits],
    row: VisitRow,
    at: RowOf,
    handled: set[int],
) -> list[Outcome]:
    known, roof = on_roof[row.roof_no], plan.roofs[row.roof_no]
    add = roof.facts["cures"].append
    cures = _cured(known, row, at)
    outcomes = []
    for ref, finding in cures:
        chains = [
            chain
            for chain in known.cure_chains[row.ref]
            if known.moved.get(chain.last.finding_id, chain.last.finding).uuid
            == finding.uuid
        ]
        handled.update(id(chain) for chain in chains)
        wanted = Cure(
            finding=finding,
            visit=known.counting[row.ref],
            happened_on=row.happened_on,
        )
        told = tell(
            wanted,
            chains,
            uuid=key_uuid("cure", row.ref, ref, finding.uuid),
            at=at,
            add=add,
        )
        outcomes.append(told.outcome)
    for chain in known.cure_chains[row.ref]:
        is_ours = chain.end is not None and is_imported(chain.end)
        if is_ours and id(chain) not in handled:
            handled.add(id(chain))
            outcomes.append(strike(chain, at=at, add=add))
    return outcomes


def _cured(known: _RoofVisits, row: VisitRow, at: RowOf) -> list[tuple[str, Finding]]:
    """Return the findings that a row cures; say what it names in vain."""
    if row.cures and row.kind != VisitKind.REPAIR:
        at.warn(
            "not-a-repair",
            "Only a repair cures a finding: the visit went in, the cure did not.",
            column="cures",
            value=", ".join(row.cures),
        )
        return []
    found = []
    for ref in row.cures:
        findings = known.findings.get(ref, [])
        if not findings:
            at.warn(
                "nothing-to-cure",
                f"Visit {ref} has no finding on this roof: the repair went in, the "
                "cure did not.",
                column="cures",
                value=ref,
            )
        for finding in findings:
            if finding.happened_on > row.happened_on:
                at.warn(
                    "cured-before-found",
                    f"This repair comes before what visit {ref} found on "
                    f"{finding.happened_on}.",
                    column="happened_on",
                    value=str(row.happened_on),
                )
            found.append((ref, finding))
    return found


def _repoint(
    plan: CoachPlan, roof: RoofPlan, known: _RoofVisits, handled: set[int]
) -> None:
    """Let cures on record that the sheet does not tell name the corrected finding."""
    chains = {id(c): c for found in known.cure_chains.values() for c in found}
    for chain in chains.values():
        end = chain.end
        if end is None or id(chain) in handled or end.finding_id not in known.moved:
            continue
        at = RowOf(
            sheet="visits",
            row_no=0,
            key=plan.unit.unit_no,
            result=plan.batch.result,
        )
        wanted = Cure(
            finding=known.moved[end.finding_id],
            visit=end.visit,
            happened_on=end.happened_on,
        )
        tell(
            wanted,
            [chain],
            uuid=end.uuid,
            at=at,
            add=roof.facts["cures"].append,
        )


def _warn_of_days(plan: CoachPlan, row: VisitRow, at: RowOf) -> None:
    retired_on = plan.row.retired_on if plan.row else plan.coach.retired_on
    value = str(row.happened_on)
    if retired_on and row.happened_on > retired_on:
        at.warn(
            "visit-after-retirement",
            f"The coach left the road on {retired_on}, before this visit.",
            column="happened_on",
            value=value,
        )
    completed_on = plan.roofs[row.roof_no].completed_on
    before = {VisitKind.INSPECTION, VisitKind.REINSTATEMENT}
    if completed_on and row.happened_on < completed_on and row.kind in before:
        at.warn(
            "visit-before-completion",
            f"This visit comes before the roof was completed on {completed_on}.",
            column="happened_on",
            value=value,
        )
    warn_of_future(plan, at, "happened_on", row.happened_on)
