"""Which roofs leaked, when it was noticed, and what was done."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from functools import partial
from uuid import UUID

from fleet.actions.recording import Recording
from fleet.models import Penetration
from warranty.actions.claims import claim_report, report_claim
from warranty.demo.chance import Chance
from warranty.demo.diary import OFFICE, Calendar
from warranty.demo.fates import WELL_KEPT, Fate
from warranty.demo.story import CoachStory
from warranty.demo.visits import RoofStory
from warranty.demo.words import LEAKS
from warranty.models import ClaimReport


class After(StrEnum):
    """How far the handling has come by today."""

    TOLD = "TOLD"  # nobody has looked yet
    SEEN = "SEEN"  # a leak call found it, not repaired
    REPAIRED = "REPAIRED"
    NOTHING = "NOTHING"  # there is no roof to look at any more


@dataclass(slots=True, kw_only=True)
class Loss:
    """One leak as it was reported."""

    roof: RoofStory
    noticed_on: date
    reported_on: date
    after: After
    ref: str = ""


Choose = Callable[[Sequence[CoachStory], Calendar, Chance], Iterator[Loss]]


def tell_losses(
    stories: Sequence[CoachStory], calendar: Calendar, chance: Chance
) -> list[Loss]:
    """Note the leaks of the fleet in the diaries; return them by reference."""
    losses = [loss for choose in _CHOICES for loss in choose(stories, calendar, chance)]
    losses.sort(key=lambda loss: (loss.reported_on, loss.roof.roof.coach.unit_no))
    for number, loss in enumerate(losses, start=1):
        loss.ref = f"CL-{number:04d}"
        _note(loss, calendar)
    return losses


def _share(stories: Sequence[CoachStory], of_240: int) -> int:
    return max(1, round(of_240 * len(stories) / 240))


def _of_fate(stories: Sequence[CoachStory], *fates: Fate) -> list[CoachStory]:
    return [story for story in stories if story.plan.fate in fates]


def _in_gaps(
    stories: Sequence[CoachStory], calendar: Calendar, chance: Chance
) -> Iterator[Loss]:
    """Noticed while the coverage was suspended, and later reinstated."""
    with_gap = [s.roofs[-1] for s in stories if s.roofs[-1].course.gaps]
    for roof in chance.some(with_gap, _share(stories, 7)):
        first, last = roof.course.gaps[0]
        yield _loss(roof, chance.day(first, last), After.REPAIRED, chance)


def _on_retired(
    stories: Sequence[CoachStory], calendar: Calendar, chance: Chance
) -> Iterator[Loss]:
    """Some noticed when the coach was taken apart, some just before."""
    retired = _of_fate(stories, Fate.RETIRED)
    for number, story in enumerate(chance.some(retired, _share(stories, 4))):
        if story.retired_on is None:
            continue
        if number % 2 == 0:
            on = story.retired_on + timedelta(days=chance.whole(2, 15))
            yield _loss(story.roofs[-1], on, After.NOTHING, chance)
        else:
            on = story.retired_on - timedelta(days=chance.whole(60, 90))
            yield _loss(story.roofs[-1], on, After.REPAIRED, chance)


def _on_lapsed(
    stories: Sequence[CoachStory], calendar: Calendar, chance: Chance
) -> Iterator[Loss]:
    for story in chance.some(_of_fate(stories, Fate.LAPSED), _share(stories, 3)):
        on = calendar.today - timedelta(days=chance.whole(30, 120))
        yield _loss(story.roofs[-1], on, After.SEEN, chance)


def _on_thin_film(
    stories: Sequence[CoachStory], calendar: Calendar, chance: Chance
) -> Iterator[Loss]:
    """The lot that ran thin shows in the leaks, some roofs twice."""
    thin = [
        s.roofs[-1]
        for s in stories
        if s.roofs[-1].plan.is_thin and s.plan.fate is not Fate.RETIRED
    ]
    for number, roof in enumerate(chance.some(thin, _share(stories, 5))):
        yield from _repaired(roof, 2 if number == 0 else 1, chance)


def _on_open(
    stories: Sequence[CoachStory], calendar: Calendar, chance: Chance
) -> Iterator[Loss]:
    """Open today: looked at and waiting for the repair, or not looked at yet."""
    open_now = _of_fate(stories, Fate.SERIOUS_OPEN)
    overdue = _of_fate(stories, Fate.OVERDUE)[: _share(stories, 2)]
    for story in [*open_now, *overdue]:
        on = calendar.today - timedelta(days=chance.whole(8, 14))
        yield _loss(story.roofs[-1], on, After.SEEN, chance)
    steady = _of_fate(stories, Fate.STEADY, Fate.SOLD)
    for story in chance.some(steady, _share(stories, 4)):
        on = calendar.today - timedelta(days=chance.whole(2, 5))
        yield _loss(story.roofs[-1], on, After.TOLD, chance)


def _on_covered(
    stories: Sequence[CoachStory], calendar: Calendar, chance: Chance
) -> Iterator[Loss]:
    kept = [s.roofs[-1] for s in stories if s.plan.fate in WELL_KEPT]
    old = [
        roof
        for roof in kept
        if not roof.plan.is_thin and (roof.until - roof.plan.completed_on).days > 200
    ]
    for number, roof in enumerate(chance.some(old, _share(stories, 14))):
        yield from _repaired(roof, 2 if number < 2 else 1, chance)


_CHOICES: tuple[Choose, ...] = (
    _in_gaps,
    _on_retired,
    _on_lapsed,
    _on_thin_film,
    _on_open,
    _on_covered,
)


def _repaired(roof: RoofStory, count: int, chance: Chance) -> Iterator[Loss]:
    """Yield leaks of one roof, each repaired well before the next and before today."""
    first = roof.plan.completed_on + timedelta(days=60)
    room = max(0, (roof.until - timedelta(days=40) - first).days) // count
    for number in range(count):
        on = first + timedelta(days=room * number + chance.whole(0, max(0, room - 45)))
        yield _loss(roof, on, After.REPAIRED, chance)


def _loss(roof: RoofStory, noticed_on: date, after: After, chance: Chance) -> Loss:
    days = chance.whole(0, 1) if after is After.TOLD else chance.whole(0, 5)
    return Loss(
        roof=roof,
        noticed_on=noticed_on,
        reported_on=noticed_on + timedelta(days=days),
        after=after,
    )


def _note(loss: Loss, calendar: Calendar) -> None:
    roof, chance = loss.roof, loss.roof.chance
    place = chance.pick(roof.penetrations)
    report = claim_report(
        noticed_on=loss.noticed_on,
        reported_on=loss.reported_on,
        description="",
        estimate_cents=_estimate_cents(chance),
        penetration_label=place.label,
        x_m=place.x_m,
        y_m=place.y_m,
        uuid=chance.uuid(),
    )
    report.description = chance.text(chance.pick(LEAKS).format(_plain(place)))
    write = partial(_report, loss, report, chance.uuid())
    roof.diary.note(loss.reported_on, write, by=OFFICE, after_days=0)
    if loss.after in {After.SEEN, After.REPAIRED}:
        _note_visits(loss, place, calendar)


def _note_visits(loss: Loss, place: Penetration, calendar: Calendar) -> None:
    roof, chance = loss.roof, loss.roof.chance
    seen_on = loss.reported_on + timedelta(days=chance.whole(1, 2))
    # What is not repaired by us leaves the clause on serious findings alone.
    counts = loss.after is After.REPAIRED or (calendar.today - seen_on).days < 20
    found = (
        roof.serious_finding(seen_on, place)
        if counts
        else roof.minor_finding(seen_on, place)
    )
    roof.visit(seen_on, "LEAK_CALL", findings=[found])
    if loss.after is After.REPAIRED:
        roof.repair(seen_on + timedelta(days=chance.whole(2, 14)), [found])


def _report(loss: Loss, report: ClaimReport, uuid: UUID, made: Recording) -> None:
    made.flush()
    report_claim(
        roof=loss.roof.roof,
        ref=loss.ref,
        report=report,
        by=made.by,
        now=made.now,
        uuid=uuid,
    )


def _estimate_cents(chance: Chance) -> int | None:
    """Return a repair's likely price, in whole fives; some are not estimated yet."""
    if chance.happens(0.08):
        return None
    return round(chance.between(140, 620) * chance.between(1, 3.2) / 5) * 500


def _plain(place: Penetration) -> str:
    return place.label.rstrip("0123456789 ")
