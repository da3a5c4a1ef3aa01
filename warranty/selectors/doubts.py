"""The doubts about a roof's records, with what was answered."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone

import numpy as np

from fleet.film.units import MIL_UM
from fleet.ledger.correction import rows_that_stand
from fleet.models import Check, CoachDescription, Visit
from fleet.selectors.film import coat_verdicts
from fleet.selectors.records import RoofRecords, roof_records
from warranty.models import DoubtAnswer
from warranty.rules.doubts import (
    Attended,
    Doubt,
    Litres,
    Mark,
    WetReading,
    climate_at_night,
    equal_wet_readings,
    litres_and_film,
    same_second,
    too_many_roofs,
)

# Containers are never quite emptied: common practice, no source.
APPLICATION_LOSS_RATIO = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubtShown:
    """One doubt, and the last word on it, if any."""

    doubt: Doubt
    answer: DoubtAnswer | None


def doubts_of(roof_id: int, *, known_at: datetime) -> tuple[DoubtShown, ...]:
    """Return the doubts about one roof's records, open ones first."""
    records = roof_records([roof_id], known_at=known_at).get(roof_id)
    if records is None:
        return ()
    checks = list(
        Check.objects.filter(roof_id=roof_id, recorded_at__lte=known_at)
        .select_related("visit")
        .order_by("checked_at", "pk")
    )
    weather = _weather(records)
    found = (
        *equal_wet_readings(_wet(records)),
        *same_second([*weather, *_checked(checks)]),
        *litres_and_film(_litres(records)),
        *climate_at_night(weather),
        *too_many_roofs(_attended(records, known_at)),
    )
    answers = _answers(roof_id, known_at)
    shown = [DoubtShown(doubt=each, answer=answers.get(each.key)) for each in found]
    return tuple(sorted(shown, key=lambda each: each.answer is not None))


def _answers(roof_id: int, known_at: datetime) -> dict[str, DoubtAnswer]:
    rows = DoubtAnswer.objects.filter(roof_id=roof_id, recorded_at__lte=known_at)
    told = rows.select_related("why", "recorded_by").order_by("pk")
    return {row.key: row for row in told}


def _wet(records: RoofRecords) -> list[WetReading]:
    return [
        WetReading(
            coat=row.coat,
            on=row.happened_on,  # type: ignore[arg-type]  # a date, in a light row
            last_wet_um=float(row.last_wet_um),
            first_dry_um=float(row.first_dry_um),
        )
        for row in records.film
        if row.last_wet_um is not None and row.first_dry_um is not None
    ]


def _weather(records: RoofRecords) -> list[Mark]:
    return [
        Mark(
            kind="weather readings",
            at=row.taken_at.astimezone(timezone(timedelta(minutes=row.offset_minutes))),
            reference=f"ledger entry {row.entry.seq}",
        )
        for row in records.climate
    ]


def _checked(checks: list[Check]) -> list[Mark]:
    # The answers of one form are saved together; of several visits they are not.
    marks: dict[tuple[str, datetime], Mark] = {}
    for row in rows_that_stand(checks).rows:
        key = (row.visit.ref, row.checked_at.replace(microsecond=0))
        marks.setdefault(
            key,
            Mark(kind="visits", at=row.checked_at, reference=f"visit {row.visit.ref}"),
        )
    return list(marks.values())


def _litres(records: RoofRecords) -> list[Litres]:
    if records.description is None or records.installation is None:
        return []
    area_m2 = float(records.description.length_m) * float(records.description.width_m)
    opened: dict[str, float] = defaultdict(float)
    for row in records.coat_logs:
        opened[row.coat] += float(row.volume_ml or 0)
    done_on = records.installation.completed_on
    if done_on is None:
        return []
    return [
        Litres(
            coat=each.coat.role,
            opened_ml=opened[each.coat.role],
            # Thinner leaves no film: the litres are those of the product alone.
            needed_ml=float(np.mean(each.dry_mil))
            * MIL_UM
            * area_m2
            / (float(each.coat.volume_solids_ratio) * (1 - APPLICATION_LOSS_RATIO)),
        )
        for each in coat_verdicts(records, as_of=done_on)
        if len(each.dry_mil)
    ]


def _attended(records: RoofRecords, known_at: datetime) -> list[Attended]:
    """Return the roofs that this roof's technicians attended on the same days."""
    pairs = {
        (visit.technician_id, visit.happened_on)
        for visit in records.visits
        if visit.technician_id is not None
    }
    if not pairs:
        return []
    visits = rows_that_stand(
        list(
            Visit.objects.filter(
                technician_id__in={who for who, _ in pairs},
                happened_on__in={on for _, on in pairs},
                recorded_at__lte=known_at,
            )
            .select_related("technician", "roof__coach")
            .order_by("pk")
        )
    ).rows
    kept = [row for row in visits if (row.technician_id, row.happened_on) in pairs]
    first = _first_checks([row.pk for row in kept])
    towns = _towns([row.roof.coach_id for row in kept], known_at)
    return [
        Attended(
            who=str(row.technician),
            roof=f"{row.roof.coach.unit_no}/{row.roof.roof_no}",
            on=row.happened_on,
            place=towns.get(row.roof.coach_id, ("", ""))[0],
            state=towns.get(row.roof.coach_id, ("", ""))[1],
            at=first.get(row.pk),
            reference=f"visit {row.ref}",
        )
        for row in kept
    ]


def _first_checks(visit_ids: list[int]) -> dict[int, datetime]:
    rows = Check.objects.filter(visit_id__in=visit_ids).order_by("-checked_at", "-pk")
    return dict(rows.values_list("visit_id", "checked_at"))


def _towns(coach_ids: list[int], known_at: datetime) -> dict[int, tuple[str, str]]:
    rows = CoachDescription.objects.filter(
        coach_id__in=set(coach_ids), recorded_at__lte=known_at
    ).order_by("pk")
    return {
        row.coach_id: (", ".join(w for w in (row.town, row.state) if w), row.state)
        for row in rows
    }
