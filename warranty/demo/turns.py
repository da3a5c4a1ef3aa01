"""The one thing that stands out in a roof's history, told."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

from fleet.actions.readings import penetration
from fleet.models import User, Visit
from warranty.demo.diary import OFFICE, Calendar
from warranty.demo.fates import Fate
from warranty.demo.plan import CoachPlan
from warranty.demo.visits import RoofStory
from warranty.models import Waiver

Turn = Callable[[CoachPlan, RoofStory, Calendar, dict[str, User]], None]
WHY: dict[Fate, tuple[str, str]] = {
    Fate.LATE_BUT_WAIVED: (
        "registered",
        "The card was posted in time; the post office held it for a month.",
    ),
    Fate.COLD_BUT_WAIVED: (
        "climate",
        "First reading taken before the heaters ran; the film cured indoors.",
    ),
    Fate.OTHER_SUBSTRATE: (
        "substrate",
        "Trial panel laid and pulled beforehand; the maker agreed in writing.",
    ),
}


def tell_turn(
    plan: CoachPlan, story: RoofStory, calendar: Calendar, people: dict[str, User]
) -> None:
    """Note what the coach's fate adds to a roof's history."""
    turn = _TURNS.get(plan.fate)
    if turn is not None:
        turn(plan, story, calendar, people)


def _waived(
    plan: CoachPlan, story: RoofStory, calendar: Calendar, people: dict[str, User]
) -> None:
    clause, why = WHY[plan.fate]
    chance = story.chance
    on = story.plan.completed_on + timedelta(days=chance.whole(50, 80))
    seconded = chance.happens(0.5)
    fact = Waiver(
        uuid=chance.uuid(),
        clause=clause,
        from_on=on,
        why=chance.text(why),
        seconded_by=people["second"] if seconded else None,
    )
    story.diary.facts(on, story.roof, "waiver", [fact], by=OFFICE)


def _detailed_later(
    plan: CoachPlan, story: RoofStory, calendar: Calendar, people: dict[str, User]
) -> None:
    """One penetration stayed bare; half of the time it was seen to a year later."""
    if not story.chance.happens(0.5):
        return
    [bare] = [row for row in story.penetrations if not row.is_detailed]
    on = min(story.plan.completed_on + timedelta(days=380), story.until)
    story.visit(on, "REPAIR", note=f"Detailed the {bare.label} that was left out.")
    fact = penetration(
        label=bare.label,
        kind=bare.kind,
        x=bare.x_m,
        y=bare.y_m,
        place_unit="m",
        width=bare.width_m,
        length=bare.length_m,
        size_unit="m",
        is_detailed=True,
        happened_on=on,
        uuid=story.chance.uuid(),
    )
    story.diary.facts(on, story.roof, "penetrations", [fact])


def _serious_cured(
    plan: CoachPlan, story: RoofStory, calendar: Calendar, people: dict[str, User]
) -> None:
    """A failed look, a repair in time, and a look that passed."""
    chance = story.chance
    first = story.plan.completed_on + timedelta(days=40)
    found_on = chance.day(first, story.until - timedelta(days=30))
    found = story.serious_finding(found_on)
    story.visit(found_on, "INSPECTION", "FAIL", findings=[found])
    days = chance.whole(3, story.plan.edition.serious_cure_days - 4)
    story.repair(found_on + timedelta(days=days), [found])


def _serious_overdue(
    plan: CoachPlan, story: RoofStory, calendar: Calendar, people: dict[str, User]
) -> None:
    found_on = calendar.today - timedelta(days=story.chance.whole(38, 70))
    found = story.serious_finding(found_on)
    note = "Owner away; waiting for a date to repair."
    story.visit(found_on, "INSPECTION", "FAIL", findings=[found], note=note)


def _disputed(
    plan: CoachPlan, story: RoofStory, calendar: Calendar, people: dict[str, User]
) -> None:
    """Two people corrected the day of one visit, and not to the same day."""
    on = story.plan.completed_on + timedelta(days=story.chance.whole(60, 90))
    visit = story.visit(on, "REPAIR", note="Touched up a scuff at the rear cap.")
    for days, by in ((2, OFFICE), (-5, "technician")):
        fact = Visit(
            uuid=story.chance.uuid(),
            supersedes=visit.uuid,
            ref=visit.ref,
            kind=visit.kind,
            happened_on=on + timedelta(days=days),
            technician=visit.technician,
            note=story.chance.text(f"The sheet says {on + timedelta(days=days)}."),
        )
        told_on = on + timedelta(days=25 + days)
        story.diary.facts(told_on, story.roof, "visit", [fact], by=by)


_TURNS: dict[Fate, Turn] = {
    Fate.LATE_BUT_WAIVED: _waived,
    Fate.COLD_BUT_WAIVED: _waived,
    Fate.OTHER_SUBSTRATE: _waived,
    Fate.LEFT_BARE: _detailed_later,
    Fate.SERIOUS_CURED: _serious_cured,
    Fate.SERIOUS_OVERDUE: _serious_overdue,
    Fate.DISPUTED: _disputed,
}
