"""One coach's film readings: rows without a key, told apart by where they belong.

Equal rows on one spot are separate readings. Rows and recorded readings of a spot are
matched as they say the same, whatever their order in the sheet; what is left over on
both sides is a correction, what is left over in the sheet alone is new.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from fleet.actions.errors import InvalidValue
from fleet.actions.readings import metres, notch_reading
from fleet.models import FilmMethod, FilmReading
from warranty.actions.importing.facts import PLACE, TABLES
from warranty.actions.importing.matching import (
    Chain,
    chains_of,
    is_imported,
    key_uuid,
    says_the_same,
)
from warranty.actions.importing.plan import CoachPlan, RoofPlan, RowOf, refused, tell
from warranty.actions.importing.readings import day_for
from warranty.actions.importing.result import Outcome
from warranty.actions.importing.roof import roof_for, warn_of_future
from warranty.actions.importing.rows import FilmRow, read_film
from warranty.workbook.errors import RowRefused

Spot = tuple[int, str, int, int]  # roof, coat, area, spot
_COMPARED = TABLES[FilmReading].compared


@dataclass(slots=True, kw_only=True)
class _Told:
    """One row of the sheet and the reading it tells."""

    row: FilmRow
    at: RowOf
    wanted: FilmReading
    occurrence: int


@dataclass(slots=True, kw_only=True)
class _Spots:
    """The coach's spots: how often the sheet named each, and the rows that go in."""

    counts: dict[Spot, int] = field(default_factory=lambda: defaultdict(int))
    told: dict[Spot, list[_Told]] = field(default_factory=lambda: defaultdict(list))


def plan_film(plan: CoachPlan) -> None:
    """Plan the film readings of the coach's roofs."""
    spots = _Spots()
    result = plan.batch.result
    for raw in plan.unit.rows.get("film", ()):
        at = RowOf(
            sheet="film", row_no=raw.row_no, key=plan.unit.unit_no, result=result
        )
        try:
            _read(plan, read_film(raw), at, spots)
        except RowRefused as why:
            result.refuse("film", raw.row_no, plan.unit.unit_no, why)
    if not spots.told:
        return
    known = _on_record(plan)
    for spot, told in spots.told.items():
        _match(plan.roofs[spot[0]], spot, told, known.get(spot, []))


def _read(plan: CoachPlan, row: FilmRow, at: RowOf, spots: _Spots) -> None:
    spot = (row.roof_no, row.coat, row.area_no, row.spot_no)
    # A refused reading keeps its place: put right later, it takes that place.
    spots.counts[spot] += 1
    roof = roof_for(plan, row.roof_no)
    wanted = _reading(row, roof)
    warn_of_future(plan, at, "happened_on", wanted.happened_on)
    spots.told[spot].append(
        _Told(row=row, at=at, wanted=wanted, occurrence=spots.counts[spot])
    )


def _reading(row: FilmRow, roof: RoofPlan) -> FilmReading:
    if (row.x_ft is None) != (row.y_ft is None):
        raise RowRefused(
            column="x_ft" if row.x_ft is None else "y_ft",
            value="",
            code="missing-value",
            reason="A place needs both its x and its y.",
        )
    try:
        return notch_reading(
            coat=row.coat,
            area_no=row.area_no,
            spot_no=row.spot_no,
            shot_no=1,
            last_wet=row.last_wet,
            first_dry=row.first_dry,
            unit=row.unit,
            happened_on=day_for(row, roof, row.happened_on),
            x_m=None if row.x_ft is None else metres("x_ft", row.x_ft, "ft"),
            y_m=None if row.y_ft is None else metres("y_ft", row.y_ft, "ft"),
        )
    except InvalidValue as error:
        raise refused(error, {}, row) from None


def _on_record(plan: CoachPlan) -> dict[Spot, list[Chain[FilmReading]]]:
    found: dict[Spot, list[Chain[FilmReading]]] = defaultdict(list)
    for roof_no, roof in plan.roofs.items():
        rows = plan.batch.record.facts(FilmReading, roof.roof.pk)
        wet = [row for row in rows if row.method == FilmMethod.NOTCH]
        for chain in chains_of(wet):
            first = chain.rows[0]
            found[roof_no, first.coat, first.area_no, first.spot_no].append(chain)
    return found


def _match(
    roof: RoofPlan, spot: Spot, told: list[_Told], known: list[Chain[FilmReading]]
) -> None:
    left = list(known)
    open_rows = []
    for each in told:
        chain = next((c for c in left if _says_now(c, each.wanted)), None)
        if chain is None:
            open_rows.append(each)
        else:
            left.remove(chain)
            each.at.result.count("film", [Outcome.UNCHANGED])
    rest = []
    for each in open_rows:
        chain = next((c for c in left if _said_before(c, each.wanted)), None)
        if chain is None:
            rest.append(each)
        else:
            left.remove(chain)
            _tell(roof, spot, each, [chain], shot_no=chain.last.shot_no)
    taken = {row.shot_no for chain in known for row in chain.rows}
    for each in rest:
        if left:
            chain = left.pop(0)
            _tell(roof, spot, each, [chain], shot_no=chain.last.shot_no)
            continue
        shot_no = each.occurrence
        if shot_no in taken:
            shot_no = max(taken) + 1
        taken.add(shot_no)
        _tell(roof, spot, each, [], shot_no=shot_no)


def _says_now(chain: Chain[FilmReading], wanted: FilmReading) -> bool:
    return chain.end is not None and says_the_same(chain.end, wanted, _COMPARED)


def _said_before(chain: Chain[FilmReading], wanted: FilmReading) -> bool:
    return not is_imported(chain.last) and any(
        is_imported(row) and says_the_same(row, wanted, _COMPARED) for row in chain.rows
    )


def _tell(
    roof: RoofPlan,
    spot: Spot,
    each: _Told,
    chains: list[Chain[FilmReading]],
    *,
    shot_no: int,
) -> None:
    wanted, result = each.wanted, each.at.result
    wanted.shot_no = shot_no
    if chains and wanted.x_m is None:
        for name in PLACE:
            setattr(wanted, name, getattr(chains[0].last, name))
    try:
        told = tell(
            wanted,
            chains,
            uuid=key_uuid("film", each.row.unit_no, *spot, shot_no),
            at=each.at,
            add=roof.facts["film"].append,
        )
    except RowRefused as why:
        result.refuse("film", each.at.row_no, each.at.key, why)
        return
    result.count("film", [told.outcome])
