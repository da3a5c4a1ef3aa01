"""Film readings that came later: a slip put right, and spots that were left out."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from fleet.actions.readings import dry_reading, notch_reading
from fleet.models import FilmReading
from warranty.demo.fates import Fate
from warranty.demo.laying import SHOTS, SPOTS
from warranty.demo.plan import CoachPlan
from warranty.demo.visits import RoofStory

# A dry film in the middle of what the recipes leave, and its spread. [mil]
DRY_MIL, DRY_SPREAD = 13.9, 0.7
CUT_LATER_SHARE = 0.4


def film_as_typed(
    plan: CoachPlan, story: RoofStory, read: list[FilmReading]
) -> list[FilmReading]:
    """Return the readings as they were first typed; later rows are noted."""
    typed = list(read)
    if plan.fate is Fate.MISREAD:
        at = story.chance.whole(0, len(read) - 1)
        typed[at] = _again(story, read[at], last_wet=Decimal(2), first_dry=Decimal(4))
        right = _again(
            story,
            read[at],
            last_wet=Decimal(read[at].last_wet or 0),
            first_dry=Decimal(read[at].first_dry or 0),
        )
        right.supersedes = typed[at].uuid
        on = story.plan.completed_on + timedelta(days=story.chance.whole(4, 30))
        story.diary.facts(on, story.roof, "film", [right])
    _note_cut_film(story, read)
    return typed


def _again(
    story: RoofStory, row: FilmReading, *, last_wet: Decimal, first_dry: Decimal
) -> FilmReading:
    return notch_reading(
        coat=row.coat,
        area_no=row.area_no,
        spot_no=row.spot_no,
        shot_no=row.shot_no,
        last_wet=last_wet,
        first_dry=first_dry,
        unit=row.unit,
        happened_on=row.happened_on,
        x_m=row.x_m,
        y_m=row.y_m,
        uuid=story.chance.uuid(),
    )


def _note_cut_film(story: RoofStory, read: list[FilmReading]) -> None:
    """Note that the spots a crew left out were cut and read at a later visit."""
    last_area = max(row.area_no for row in read)
    spots = max(row.spot_no for row in read if row.area_no == last_area)
    on = story.plan.completed_on + timedelta(days=story.chance.whole(150, 400))
    cut = story.chance.happens(CUT_LATER_SHARE)
    if spots == SPOTS or not cut or on > story.until:
        return
    story.visit(on, "REPAIR", note="Cut and read the spots left out; patched.")
    facts = [
        _cut(story, coat, last_area, spot, shot, on)
        for coat in ("base", "finish")
        for spot in range(spots + 1, SPOTS + 1)
        for shot in range(1, SHOTS + 1)
    ]
    story.diary.facts(on, story.roof, "film", facts)


def _cut(
    story: RoofStory, coat: str, area: int, spot: int, shot: int, on: date
) -> FilmReading:
    value = story.chance.around(DRY_MIL, DRY_SPREAD)
    return dry_reading(
        coat=coat,
        area_no=area,
        spot_no=spot,
        shot_no=shot,
        method="CUT_FILM",
        value=Decimal(f"{value:.1f}"),
        unit="mil",
        happened_on=on,
        uuid=story.chance.uuid(),
    )
