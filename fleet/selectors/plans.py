"""A roof's plan from the records that count."""

from __future__ import annotations

from fleet.selectors.records import RoofRecords
from fleet.site.plan import PlanPenetration, RoofPlan


def plan_of(records: RoofRecords) -> RoofPlan:
    """Return the outline and penetrations of one roof, laps as usual."""
    coach = records.roof.coach
    return RoofPlan(
        length_m=float(coach.length_m),
        width_m=float(coach.width_m),
        penetrations=tuple(
            PlanPenetration(
                label=row.label,
                x_m=float(row.x_m),
                y_m=float(row.y_m),
                length_m=float(row.length_m),
                width_m=float(row.width_m),
            )
            for row in records.penetrations
        ),
    )
