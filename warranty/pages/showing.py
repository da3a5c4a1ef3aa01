"""Put a roof page's facts into the shape that its template reads."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.safestring import SafeString

from fleet.film.level import BORROWED
from warranty.pages.drawing.film import Band, bands_of
from warranty.pages.drawing.plan import plan_svg
from warranty.pages.drawing.timeline import timeline_svg
from warranty.rules.calendar import add_months
from warranty.rules.clause import Standing, Verdict
from warranty.rules.explain import ClauseResult
from warranty.selectors.explanations import HORIZON_MONTHS
from warranty.selectors.packet.titles import CLAUSE_TITLES
from warranty.selectors.roof_page import RoofPage
from warranty.selectors.roof_plan import Plan, plan_of

WORTH = {
    Standing.PENDING: "The promise has not begun: something it rests on is missing.",
    Standing.IN_FORCE: "The promise holds.",
    Standing.AT_RISK: "The promise holds, and will not for long unless something is "
    "done.",
    Standing.SUSPENDED: "A loss noticed on this day is not covered. The promise can "
    "still be brought back.",
    Standing.ENDED: "The promise is over. Nothing noticed on this day is covered.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ClauseShown:
    """One clause with its title, and whether it is what the standing hangs on."""

    title: str
    result: ClauseResult
    is_met: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPlan:
    """The plan's drawing, its table's rows and the coats that can be shown on it."""

    plan: Plan
    svg: SafeString
    coats: tuple[str, ...]
    bands: tuple[Band, ...]


def shown_roof(page: RoofPage, *, coat: str) -> dict[str, object]:
    """Return what the template of a roof's page needs."""
    said = page.explanation
    return {
        "page": page,
        "worth": WORTH[said.standing] if said else "",
        "clauses": _clauses(said.results) if said else (),
        "reasons": _reasons(page),
        "drawn": _drawn(page, coat),
        "timeline": timeline_svg(
            page.course,
            as_of=page.as_of,
            next_due_on=page.next_due_on,
            horizon=add_months(page.as_of, HORIZON_MONTHS),
        ),
        "borrowed": BORROWED,
    }


def _clauses(results: tuple[ClauseResult, ...]) -> tuple[ClauseShown, ...]:
    return tuple(
        ClauseShown(
            title=CLAUSE_TITLES[result.clause.value],
            result=result,
            is_met=result.verdict is Verdict.MET,
        )
        for result in results
    )


def _reasons(page: RoofPage) -> tuple[ClauseResult, ...]:
    """Return the clauses that explain the standing in one or two sentences."""
    said = page.explanation
    if said is None:
        return ()
    if said.unmet:
        return said.unmet
    if said.standing is Standing.AT_RISK:
        open_now = [r for r in said.results if r.clause.value == "serious_findings"]
        late = [r for r in said.results if r.clause.value == "inspections"]
        return tuple(r for r in (*late, *open_now) if r.holds_until is not None)
    return ()


def _drawn(page: RoofPage, coat: str) -> DrawnPlan | None:
    plan = plan_of(
        page.records, film_maps=page.film_maps, readings=page.readings, coat=coat
    )
    if plan is None:
        return None
    return DrawnPlan(
        plan=plan,
        svg=plan_svg(plan),
        coats=tuple(each.coat for each in page.film_maps),
        bands=bands_of(plan.film) if plan.film else (),
    )
