"""The steps of telling people about a date: which day each falls on.

Reminders lead to a deadline, so a step that falls on a day when nobody should be
written to is sent on the business day before it: politeness never eats into the time
that somebody has. The deadline itself never moves.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

from warranty.rules.response import is_business_day


class Step(StrEnum):
    """One thing that a person is told about one date."""

    BEFORE_60 = "BEFORE_60"
    BEFORE_30 = "BEFORE_30"
    BEFORE_7 = "BEFORE_7"
    ON_THE_DAY = "ON_THE_DAY"
    MID_GRACE = "MID_GRACE"
    LAST_GRACE_WEEK = "LAST_GRACE_WEEK"
    SUSPENDED = "SUSPENDED"
    REINSTATED = "REINSTATED"
    ENDED = "ENDED"
    REGISTRATION = "REGISTRATION"
    CURE = "CURE"
    CLAIM = "CLAIM"


# What a person can ask not to be sent. News of a standing and of a claim are no
# reminders: they tell what happened to somebody's rights.
REMINDERS: Final[frozenset[Step]] = frozenset(
    {
        Step.BEFORE_60,
        Step.BEFORE_30,
        Step.BEFORE_7,
        Step.ON_THE_DAY,
        Step.MID_GRACE,
        Step.LAST_GRACE_WEEK,
        Step.REGISTRATION,
        Step.CURE,
    }
)
# Days before a due date on which a reminder is sent. Project convention. [d]
_BEFORE: Final[tuple[tuple[Step, int], ...]] = (
    (Step.BEFORE_60, 60),
    (Step.BEFORE_30, 30),
    (Step.BEFORE_7, 7),
    (Step.ON_THE_DAY, 0),
)
_WEEK: Final = 7
# Most days before a deadline of registration or cure. Project convention. [d]
_MOST_LEAD: Final = 7


class LadderInputError(ValueError):
    """A grace or a deadline that no ladder can stand on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rung:
    """One step with its days.

    Parameters
    ----------
    step : Step
    on : date
        The day it is sent.
    about_on : date
        The date it is about; with it the step is told once.
    by_on : date
        The last day to act. Sending waits for nobody's weekend beyond it.
    until_on : date
        The last day on which telling it, late, still helps.
    """

    step: Step
    on: date
    about_on: date
    by_on: date
    until_on: date


def inspection_rungs(
    due_on: date, *, grace_days: int, holidays: Collection[date]
) -> tuple[Rung, ...]:
    """Return the reminders of one due date, in order of their days.

    Of two that fall on one day the later step stands. The middle of the grace is
    ``due + grace // 2`` and told from a grace of four days on; the last week of grace
    is told from one of more than seven days on, on its first day.

    Parameters
    ----------
    due_on : date
    grace_days : int
        [d], >= 0
    holidays : collection of date
        Days on which nobody is written to, beside weekends.

    Raises
    ------
    LadderInputError
        If ``grace_days`` is negative.
    """
    if grace_days < 0:
        raise LadderInputError(f"grace_days must be >= 0, got {grace_days}.")
    closes_on = due_on + timedelta(days=grace_days)
    steps = [
        (step, due_on - timedelta(days=days), due_on, due_on) for step, days in _BEFORE
    ]
    # The due date itself still helps while the grace runs.
    steps[-1] = (*steps[-1][:3], closes_on)
    if grace_days >= 4:
        middle = due_on + timedelta(days=grace_days // 2)
        steps.append((Step.MID_GRACE, middle, closes_on, closes_on))
    if grace_days > _WEEK:
        last = closes_on - timedelta(days=_WEEK - 1)
        steps.append((Step.LAST_GRACE_WEEK, last, closes_on, closes_on))
    by_day: dict[date, Rung] = {}
    for step, day, by_on, until_on in steps:
        on = business_day_until(day, holidays)
        by_day[on] = Rung(
            step=step, on=on, about_on=due_on, by_on=by_on, until_on=until_on
        )
    return tuple(by_day[day] for day in sorted(by_day))


def deadline_rung(
    step: Step, deadline_on: date, *, allowed_days: int, holidays: Collection[date]
) -> Rung:
    """Return the one reminder of a deadline: a week before, or half the time if less.

    Raises
    ------
    LadderInputError
        If ``allowed_days`` is negative.
    """
    if allowed_days < 0:
        raise LadderInputError(f"allowed_days must be >= 0, got {allowed_days}.")
    lead = min(_MOST_LEAD, allowed_days // 2)
    return Rung(
        step=step,
        on=business_day_until(deadline_on - timedelta(days=lead), holidays),
        about_on=deadline_on,
        by_on=deadline_on,
        until_on=deadline_on,
    )


def rung_of_day(rungs: Sequence[Rung], day: date, *, since: date) -> Rung | None:
    """Return the step that should have been told by ``day``: the last one whose day
    has come, unless it came before ``since`` or no longer helps."""
    come = [rung for rung in rungs if rung.on <= day]
    if not come:
        return None
    last = max(come, key=lambda rung: rung.on)
    return last if last.on >= since and day <= last.until_on else None


def next_rung_on(rungs: Sequence[Rung], day: date) -> date | None:
    """Return the day of the first step after ``day``."""
    return min((rung.on for rung in rungs if rung.on > day), default=None)


def business_day_until(day: date, holidays: Collection[date]) -> date:
    """Return the last business day that is not after ``day``."""
    while not is_business_day(day, holidays):
        day -= timedelta(days=1)
    return day
