"""One coach's penetrations and climate readings: one row, one fact, one key."""

from __future__ import annotations

from datetime import UTC, date

from fleet.actions.errors import InvalidValue
from fleet.actions.readings import climate_reading, penetration
from fleet.models import ClimateReading, Penetration
from warranty.actions.importing.matching import by_key, chains_of, key_uuid
from warranty.actions.importing.plan import (
    CoachPlan,
    RoofPlan,
    RowOf,
    each_row,
    refused,
    tell,
)
from warranty.actions.importing.result import Outcome
from warranty.actions.importing.roof import roof_for, warn_of_future
from warranty.actions.importing.rows import (
    ClimateRow,
    PenetrationRow,
    Row,
    read_climate,
    read_penetration,
)
from warranty.workbook.errors import RowRefused

_PLACE = {"x": "x_ft", "y": "y_ft", "width": "width_in", "length": "length_in"}
_WEATHER = {"air": "air_f", "surface": "surface_f"}
# The record holds lengths below a kilometre; no roof is a hundred metres long.
_FARTHEST_M = 100


def plan_penetrations(plan: CoachPlan) -> None:
    """Plan what goes through or stands on the coach's roofs."""
    known = {
        no: by_key(
            chains_of(plan.batch.record.facts(Penetration, roof.roof.pk)),
            lambda row: row.label.casefold(),
        )
        for no, roof in plan.roofs.items()
    }

    def tell_row(row: PenetrationRow, at: RowOf) -> list[Outcome]:
        roof = roof_for(plan, row.roof_no)
        wanted = _penetration(row, roof)
        _warn_of_place(plan, wanted, at)
        told = tell(
            wanted,
            known[row.roof_no][row.label.casefold()],
            uuid=key_uuid(
                "penetration", row.unit_no, row.roof_no, row.label.casefold()
            ),
            at=at,
            add=roof.facts["penetrations"].append,
        )
        return [told.outcome]

    def key_of(row: PenetrationRow) -> object:
        return row.roof_no, row.label.casefold()

    for _, _, outcomes in each_row(
        plan, "penetrations", read_penetration, key_of, tell_row
    ):
        plan.batch.result.count("penetrations", outcomes)


def plan_climate(plan: CoachPlan) -> None:
    """Plan the weather that was read while the coach's roofs were coated."""
    known = {
        no: by_key(
            chains_of(plan.batch.record.facts(ClimateReading, roof.roof.pk)),
            lambda row: (row.taken_at, row.coat),
        )
        for no, roof in plan.roofs.items()
    }

    def tell_row(row: ClimateRow, at: RowOf) -> list[Outcome]:
        roof = roof_for(plan, row.roof_no)
        told = tell(
            _climate(row),
            known[row.roof_no][row.taken_at, row.coat],
            uuid=key_uuid(
                "climate",
                row.unit_no,
                row.roof_no,
                row.taken_at.astimezone(UTC).isoformat(),
                row.coat,
            ),
            at=at,
            add=roof.facts["climate"].append,
        )
        _warn_of_day(plan, roof, row, at)
        return [told.outcome]

    def key_of(row: ClimateRow) -> object:
        return row.roof_no, row.taken_at, row.coat

    for _, _, outcomes in each_row(plan, "climate", read_climate, key_of, tell_row):
        plan.batch.result.count("climate", outcomes)


def day_for(row: Row, roof: RoofPlan, day: date | None) -> date:
    """Return the day of a row: its own, or the roof's completion.

    Raises:
        RowRefused: neither is known.
    """
    found = day or roof.day
    if found is None:
        raise RowRefused(
            column="happened_on",
            value="",
            code="missing-value",
            reason=f"Nothing says when this was: roof {row.roof_no} has no dates yet.",
        )
    return found


def _penetration(row: PenetrationRow, roof: RoofPlan) -> Penetration:
    try:
        wanted = penetration(
            label=row.label,
            kind=row.kind,
            x=row.x_ft,
            y=row.y_ft,
            place_unit="ft",
            width=row.width_in,
            length=row.length_in,
            size_unit="in",
            is_detailed=row.is_detailed,
            happened_on=day_for(row, roof, row.happened_on),
        )
    except InvalidValue as error:
        raise refused(error, _PLACE, row) from None
    for name, column in (
        ("x_m", "x_ft"),
        ("y_m", "y_ft"),
        ("width_m", "width_in"),
        ("length_m", "length_in"),
    ):
        if getattr(wanted, name) > _FARTHEST_M or (
            column in {"width_in", "length_in"} and not getattr(wanted, name)
        ):
            raise RowRefused(
                column=column,
                value=str(getattr(row, column)),
                code="out-of-range",
                reason="No roof has such a place or size. Check value and unit.",
            )
    return wanted


def _climate(row: ClimateRow) -> ClimateReading:
    try:
        return climate_reading(
            taken_at=row.taken_at,
            air=row.air_f,
            surface=row.surface_f,
            rh_pct=row.rh_pct,
            temperature_unit="F",
            coat=row.coat,
        )
    except InvalidValue as error:
        raise refused(error, _WEATHER, row) from None


def _warn_of_place(plan: CoachPlan, wanted: Penetration, at: RowOf) -> None:
    long, wide = _size_m(plan)
    for column, place, limit in (
        ("x_ft", wanted.x_m, long),
        ("y_ft", wanted.y_m, wide),
    ):
        if place > limit:
            at.warn(
                "off-the-plan",
                f"{wanted.label} lies {place} m out on a roof of {limit} m. Which is "
                "right?",
                column=column,
                value=str(place),
            )


def _size_m(plan: CoachPlan) -> tuple[object, object]:
    return plan.coach.length_m, plan.coach.width_m


def _warn_of_day(plan: CoachPlan, roof: RoofPlan, row: ClimateRow, at: RowOf) -> None:
    day, value = row.taken_at.date(), row.taken_at.isoformat()
    if (roof.started_on and day < roof.started_on) or (
        roof.completed_on and day > roof.completed_on
    ):
        at.warn(
            "outside-the-work",
            f"Read outside the work, which ran from {roof.started_on} to "
            f"{roof.completed_on or 'now'}.",
            column="taken_at",
            value=value,
        )
    warn_of_future(plan, at, "taken_at", day)
