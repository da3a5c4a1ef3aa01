"""What a batch of coaches will become: rows to write, built before any is written."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Generic, TypeVar
from uuid import UUID

from fleet.actions.errors import InvalidValue
from fleet.models import Coach, CoachFact, PrivateText, Record, Roof, RoofFact
from warranty.actions.importing.catalogue import Catalogue
from warranty.actions.importing.facts import TABLES
from warranty.actions.importing.matching import (
    Chain,
    Match,
    correction_uuid,
    find,
    plain_value,
    shown,
)
from warranty.actions.importing.people import People
from warranty.actions.importing.record import OnRecord
from warranty.actions.importing.result import CorrectedValue, ImportResult, Outcome
from warranty.actions.importing.rows import CoachRow, Row
from warranty.models import Claim, Edition
from warranty.workbook.errors import RowRefused
from warranty.workbook.spool import UnitRows

AnyRow = TypeVar("AnyRow", bound=Row)
Fact = TypeVar("Fact", bound=Record)


@dataclass(slots=True, kw_only=True)
class RoofPlan:
    """One roof, on record or new, and the facts to add to it by kind of entry."""

    roof: Roof
    is_new: bool
    substrate: str = ""
    started_on: date | None = None
    completed_on: date | None = None
    facts: dict[str, list[RoofFact]] = field(default_factory=lambda: defaultdict(list))
    cover: Edition | None = None

    @property
    def day(self) -> date | None:
        """Return the day of what a workbook does not date."""
        return self.completed_on or self.started_on


@dataclass(slots=True, kw_only=True)
class CoachPlan:
    """One coach with its rows of the workbook and what they will add."""

    unit: UnitRows
    batch: BatchPlan
    coach: Coach
    is_new: bool
    row: CoachRow | None = None
    at: RowOf | None = None  # where that row stands
    facts: list[CoachFact] = field(default_factory=list)
    roofs: dict[int, RoofPlan] = field(default_factory=dict)
    new_claims: list[Claim] = field(default_factory=list)
    changed_claims: list[Claim] = field(default_factory=list)

    @property
    def first_completed_on(self) -> date | None:
        """Return the day the first roof was completed."""
        days = [plan.completed_on for plan in self.roofs.values() if plan.completed_on]
        return min(days, default=None)


@dataclass(slots=True, kw_only=True)
class BatchPlan:
    """Some coaches planned together, and what they share."""

    record: OnRecord
    people: People
    catalogue: Catalogue
    result: ImportResult
    today: date
    coaches: list[CoachPlan] = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class Told(Generic[Fact]):
    """What a row's fact came to: the outcome, and the row that counts from now on."""

    outcome: Outcome
    fact: Fact


@dataclass(frozen=True, slots=True, kw_only=True)
class RowOf:
    """Where a row stands, for messages about it."""

    sheet: str
    row_no: int
    key: str
    result: ImportResult

    def warn(
        self, code: str, message: str, *, column: str = "", value: str = ""
    ) -> None:
        """Say that something about this row is odd."""
        self.result.warn(
            self.sheet,
            self.row_no,
            self.key,
            code=code,
            message=message,
            column=column,
            value=value,
        )


def tell(
    wanted: Fact,
    chains: Sequence[Chain[Fact]],
    *,
    uuid: UUID,
    at: RowOf,
    add: Callable[[Fact], None],
) -> Told[Fact]:
    """Add a fact where it is new or changed; a known one stays as it is.

    Raises:
        RowRefused: two corrections on record contradict each other.
    """
    table = TABLES[type(wanted)]
    found = find(wanted, chains, table.compared)
    chain = found.chain
    if chain is None:
        wanted.uuid = uuid
        add(wanted)
        return Told(outcome=Outcome.NEW, fact=wanted)
    if found.match is Match.SAME and chain.end is not None:
        return Told(outcome=Outcome.UNCHANGED, fact=chain.end)
    if found.match is Match.STALE:
        at.warn(
            "corrected-since",
            "The record was corrected after this was imported; it stays corrected.",
        )
        return Told(outcome=Outcome.UNCHANGED, fact=chain.last)
    if found.match is Match.DISPUTED:
        raise RowRefused(
            column="",
            value="",
            code="disputed",
            reason=(
                "Two corrections on record contradict each other. "
                "The office has to settle them first."
            ),
        )
    return _correct(wanted, chain, at=at, add=add)


def _correct(
    wanted: Fact, chain: Chain[Fact], *, at: RowOf, add: Callable[[Fact], None]
) -> Told[Fact]:
    table, old = TABLES[type(wanted)], chain.last
    wanted.supersedes = old.uuid
    wanted.uuid = correction_uuid(old.uuid)
    for name in table.kept:
        setattr(wanted, name, getattr(old, name))
    changed = []
    for name in table.compared:
        value = getattr(old, name)
        if isinstance(value, PrivateText) and value.erased_at is not None:
            setattr(wanted, name, value)
            continue
        before = plain_value(old, name, value)
        after = plain_value(wanted, name, getattr(wanted, name))
        if before != after:
            changed.append(
                CorrectedValue(
                    file=at.sheet,
                    row=at.row_no,
                    key=at.key,
                    column=table.columns.get(name, name),
                    old=shown(_named(value, before)),
                    new=shown(_named(getattr(wanted, name), after)),
                )
            )
    at.result.correct(changed)
    add(wanted)
    return Told(outcome=Outcome.CORRECTED, fact=wanted)


def _named(value: object, plain: object) -> object:
    """Return a related row by its own name, not by its number."""
    return str(value) if hasattr(value, "pk") else plain


def strike(chain: Chain[Fact], *, at: RowOf, add: Callable[[Fact], None]) -> Outcome:
    """Strike a fact that the workbook told before and tells no more."""
    old = chain.last
    copied = {
        field.attname: getattr(old, field.attname)
        for field in old._meta.concrete_fields
        if field.name in {*old.ledger_fields, "happened_on", "vin", "coach"}
    }
    void = type(old)(
        **copied, uuid=correction_uuid(old.uuid), supersedes=old.uuid, is_void=True
    )
    table = TABLES[type(old)]
    first = table.compared[0]
    at.result.correct(
        [
            CorrectedValue(
                file=at.sheet,
                row=at.row_no,
                key=at.key,
                column=table.columns.get(first, first),
                old=shown(_named(getattr(old, first), getattr(old, first))),
                new="",
            )
        ]
    )
    add(void)
    return Outcome.CORRECTED


def each_row(
    plan: CoachPlan,
    sheet: str,
    read: Callable[..., AnyRow],
    key_of: Callable[[AnyRow], object],
    tell_row: Callable[[AnyRow, RowOf], list[Outcome]],
) -> Iterator[tuple[AnyRow, RowOf, list[Outcome]]]:
    """Yield each row of a keyed sheet that goes in; refuse or pass over the others."""
    seen: dict[object, AnyRow] = {}
    result = plan.batch.result
    for raw in plan.unit.rows.get(sheet, ()):
        at = RowOf(sheet=sheet, row_no=raw.row_no, key=plan.unit.unit_no, result=result)
        try:
            row = read(raw)
            earlier = seen.get(key_of(row))
            if earlier == row:
                result.sheets[sheet].repeated += 1
                continue
            if earlier is not None:
                raise _repeated_key(sheet, earlier, key_of(row))
            outcomes = tell_row(row, at)
        except RowRefused as why:
            result.refuse(sheet, raw.row_no, plan.unit.unit_no, why)
            continue
        seen[key_of(row)] = row
        yield row, at, outcomes


def _repeated_key(sheet: str, earlier: Row, key: object) -> RowRefused:
    return RowRefused(
        column="",
        value=str(key),
        code="repeated-key",
        reason=(
            f"Row {earlier.row_no} of {sheet} says otherwise under the same key. "
            "Keep the row that is right."
        ),
    )


def refused(error: InvalidValue, columns: dict[str, str], row: object) -> RowRefused:
    """Return a builder's refusal as the refusal of a row, under the column's name."""
    column = columns.get(error.field, error.field)
    return RowRefused(
        column=column,
        value=str(getattr(row, column, "")),
        code=error.code,
        reason=error.message,
    )
