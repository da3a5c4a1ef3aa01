"""When a roof was inspected, and when it was not."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from math import ceil

from warranty.demo.chance import Chance
from warranty.demo.diary import Calendar
from warranty.demo.fates import Fate
from warranty.demo.plan import CoachPlan, RoofPlan
from warranty.models import Edition
from warranty.rules.calendar import add_months
from warranty.rules.terms import Anchor

INSPECTION = "INSPECTION"
REINSTATEMENT = "REINSTATEMENT"
# Rental desks book half-yearly visits about this far apart. [d]
BOOKED_APART = 174


@dataclass(frozen=True, slots=True, kw_only=True)
class Inspection:
    """One planned attendance that passes."""

    on: date
    kind: str = INSPECTION


@dataclass(slots=True, kw_only=True)
class Course:
    """The inspections of one roof and the days between which it was suspended."""

    inspections: list[Inspection] = field(default_factory=list)
    gaps: list[tuple[date, date]] = field(default_factory=list)


def course_of(
    plan: CoachPlan, roof: RoofPlan, calendar: Calendar, until: date
) -> Course:
    """Return how the inspections of one roof went, as its fate wants it."""
    if roof.edition.anchor == Anchor.ANNIVERSARY:
        return _yearly(plan.fate, roof, calendar, until, plan.chance)
    return _half_yearly(plan.fate, roof, calendar, until, plan.chance)


def _yearly(
    fate: Fate, roof: RoofPlan, calendar: Calendar, until: date, chance: Chance
) -> Course:
    edition = roof.edition
    dues = _dues(roof, until)
    if fate is Fate.FORGOTTEN and dues:
        until = min(until, dues[-1] - timedelta(days=edition.window_days + 1))
    past = [due for due in dues if _closes(edition, due) < calendar.yesterday]
    if fate is Fate.LAPSED and past:
        missed = chance.pick(past)
        until = missed - timedelta(days=edition.window_days + 1)
    gap_due = chance.pick(past) if fate is Fate.REINSTATED and past else None
    course = Course()
    met_until = date.min
    for due in _dues(roof, until + timedelta(days=edition.window_days)):
        if due <= met_until:
            continue
        if due == gap_due:
            back = _reinstate(course, edition, due, chance)
            met_until = back + timedelta(days=edition.window_days)
            continue
        early = min(40, edition.window_days - 3)
        on = due + timedelta(days=chance.whole(-early, 5))
        if on > until:
            break
        course.inspections.append(Inspection(on=on))
    return course


def _half_yearly(
    fate: Fate, roof: RoofPlan, calendar: Calendar, until: date, chance: Chance
) -> Course:
    edition, course = roof.edition, Course()
    first, last = roof.completed_on, _last_booked(fate, roof, calendar, until, chance)
    if fate is Fate.REINSTATED:
        middle = chance.day(
            first + timedelta(days=150), last - timedelta(days=edition.grace_days + 400)
        )
        _book(course, first, middle, chance)
        due = add_months(course.inspections[-1].on, edition.interval_months)
        first = _reinstate(course, edition, due, chance)
    _book(course, first, last, chance)
    return course


def _last_booked(
    fate: Fate, roof: RoofPlan, calendar: Calendar, until: date, chance: Chance
) -> date:
    """Return the day of the last inspection so far."""
    ahead = {
        Fate.DUE_SOON: chance.whole(0, 12),
        Fate.IN_GRACE: -chance.whole(4, 24),
        Fate.OVERDUE: -chance.whole(38, 100),
    }.get(fate)
    if ahead is not None:
        due = calendar.today + timedelta(days=ahead)
        return add_months(due, -roof.edition.interval_months)
    if fate is Fate.LAPSED:
        earliest = roof.completed_on + timedelta(days=150)
        return chance.day(earliest, calendar.today - timedelta(days=400))
    return chance.day(until - timedelta(days=150), until)


def _book(course: Course, first: date, last: date, chance: Chance) -> None:
    """Add inspections evenly from one day to another, the last exactly then."""
    days = (last - first).days
    if days < 90:
        return
    count = ceil(days / BOOKED_APART)
    for number in range(1, count + 1):
        shift = 0 if number == count else chance.whole(-5, 5)
        on = first + timedelta(days=round(days * number / count) + shift)
        course.inspections.append(Inspection(on=on))


def _reinstate(course: Course, edition: Edition, due: date, chance: Chance) -> date:
    """Add a gap after a missed due date and the visit that ended it; return its day."""
    grace_over = due + timedelta(days=edition.grace_days)
    back = grace_over + timedelta(
        days=chance.whole(12, edition.reinstatement_days - 15)
    )
    course.gaps.append((grace_over + timedelta(days=1), back - timedelta(days=1)))
    course.inspections.append(Inspection(on=back, kind=REINSTATEMENT))
    return back


def _dues(roof: RoofPlan, until: date) -> list[date]:
    interval = roof.edition.interval_months
    dues: list[date] = []
    while True:
        due = add_months(roof.completed_on, interval * (len(dues) + 1))
        if due > until:
            return dues
        dues.append(due)


def _closes(edition: Edition, due: date) -> date:
    return due + timedelta(days=edition.grace_days + edition.reinstatement_days)
