"""Signs that a record may be too good to be true, as questions and never verdicts.

What counts as a sign is common practice, no source; the limits are project convention.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum
from typing import Final

from fleet.film.balance import DOUBT_RATIO
from fleet.ledger.canonical import canonical_json, sha256_hex

# One area by the rule: five spots of three readings. Fewer may be equal by chance.
EQUAL_READINGS: Final = 15
# Of the film that was read, the litres opened explain it twice over.
HALF: Final = 0.5
# A coat is not laid between these hours of the day at the coach. [h]
NIGHT_FROM_H, NIGHT_UNTIL_H = 23, 4
ROOFS_IN_AN_HOUR: Final = 4
ROOFS_IN_A_DAY: Final = 12


class Sign(StrEnum):
    """One kind of doubt."""

    WET_ALL_EQUAL = "WET_ALL_EQUAL"
    SAME_SECOND = "SAME_SECOND"
    MORE_FILM_THAN_LITRES = "MORE_FILM_THAN_LITRES"
    HALF_THE_LITRES = "HALF_THE_LITRES"
    CLIMATE_AT_NIGHT = "CLIMATE_AT_NIGHT"
    MANY_IN_AN_HOUR = "MANY_IN_AN_HOUR"
    MANY_IN_A_DAY = "MANY_IN_A_DAY"
    FAR_APART = "FAR_APART"


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """A question about some records; ``key`` stays the same while they do."""

    sign: Sign
    key: str
    question: str
    records: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WetReading:
    """One notch gauge reading: last wetted and first dry tooth. [um]"""

    coat: str
    on: date
    last_wet_um: float
    first_dry_um: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """Something read at an instant, which carries the offset at the coach."""

    kind: str
    at: datetime
    reference: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Litres:
    """One coat's product: opened, and needed for the film that was read. [ml]"""

    coat: str
    opened_ml: float
    needed_ml: float
    reference: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Attended:
    """One roof that a person attended on a day, at an instant where one is known."""

    who: str
    roof: str
    on: date
    place: str = ""  # town and state, empty when not recorded
    state: str = ""
    at: datetime | None = None
    reference: str = ""


def _doubt(sign: Sign, question: str, records: Iterable[str], about: str) -> Doubt:
    named = tuple(dict.fromkeys(each for each in records if each))
    key = sha256_hex(
        canonical_json({"sign": sign.value, "about": about, "records": sorted(named)})
    )
    return Doubt(sign=sign, key=key, question=question, records=named)


def equal_wet_readings(readings: Sequence[WetReading]) -> tuple[Doubt, ...]:
    """Return a doubt for each coat and day whose wet readings are all the same.

    Parameters
    ----------
    readings : sequence of WetReading
        In any order; a coat and day with fewer than 15 readings is left out.
    """
    by_coat: dict[tuple[str, date], list[WetReading]] = defaultdict(list)
    for each in readings:
        by_coat[each.coat, each.on].append(each)
    found = []
    for (coat, on), rows in sorted(by_coat.items()):
        values = {(row.last_wet_um, row.first_dry_um) for row in rows}
        if len(rows) < EQUAL_READINGS or len(values) > 1:
            continue
        question = (
            f"All {len(rows)} wet readings of the {coat} coat on {on} are the same. "
            "Was each of them read?"
        )
        found.append(
            _doubt(Sign.WET_ALL_EQUAL, question, (), f"{coat} {on} {len(rows)}")
        )
    return tuple(found)


def same_second(marks: Sequence[Mark]) -> tuple[Doubt, ...]:
    """Return a doubt for each second in which several things were read.

    Parameters
    ----------
    marks : sequence of Mark
        Of one kind, each from its own reading.
    """
    by_second: dict[tuple[str, datetime], list[Mark]] = defaultdict(list)
    for mark in marks:
        by_second[mark.kind, mark.at.replace(microsecond=0)].append(mark)
    return tuple(
        _doubt(
            Sign.SAME_SECOND,
            f"{len(rows)} {kind} were taken in the same second, at {second:%H:%M:%S} "
            f"on {second.date()}. Can one person have taken them?",
            (row.reference for row in rows),
            f"{kind} {second.astimezone(UTC).isoformat()} {len(rows)}",
        )
        for (kind, second), rows in sorted(by_second.items())
        if len(rows) > 1
    )


def litres_and_film(coats: Sequence[Litres]) -> tuple[Doubt, ...]:
    """Return a doubt for each coat whose film and litres do not go together.

    More than the mass balance allows above what was opened, or half of it or less.

    Parameters
    ----------
    coats : sequence of Litres
        A coat without opened litres is left out.
    """
    found = []
    for coat in coats:
        if coat.opened_ml <= 0:
            continue
        share = coat.needed_ml / coat.opened_ml
        needed, opened = f"{coat.needed_ml / 1000:.1f}", f"{coat.opened_ml / 1000:.1f}"
        told = f"The film read on the {coat.coat} coat needs {needed} L; {opened} L"
        about = f"{coat.coat} {needed} {opened}"
        if share > 1 + DOUBT_RATIO + 1e-9:
            question = f"{told} were opened. Is a container missing, or a reading high?"
            sign = Sign.MORE_FILM_THAN_LITRES
        elif share <= HALF + 1e-9:
            question = f"{told} were opened. Where is the rest, or are readings low?"
            sign = Sign.HALF_THE_LITRES
        else:
            continue
        found.append(_doubt(sign, question, (coat.reference,), about))
    return tuple(found)


def climate_at_night(marks: Sequence[Mark]) -> tuple[Doubt, ...]:
    """Return a doubt for each climate reading of the night, by the coach's own clock.

    Parameters
    ----------
    marks : sequence of Mark
        Their instants carry the offset they were read in.
    """
    return tuple(
        _doubt(
            Sign.CLIMATE_AT_NIGHT,
            f"The weather was read at {mark.at:%H:%M} on {mark.at.date()}. Was anybody "
            "at the coach, or was the time left out?",
            (mark.reference,),
            mark.at.isoformat(),
        )
        for mark in sorted(marks, key=lambda each: each.at)
        if mark.at.hour >= NIGHT_FROM_H or mark.at.hour < NIGHT_UNTIL_H
    )


def too_many_roofs(attended: Sequence[Attended]) -> tuple[Doubt, ...]:
    """Return doubts about people who were on too many roofs at once, or too far apart.

    Parameters
    ----------
    attended : sequence of Attended
        Every roof of each person on each day asked; those without a name are left out.
    """
    by_day: dict[tuple[str, date], list[Attended]] = defaultdict(list)
    for each in attended:
        if each.who:
            by_day[each.who, each.on].append(each)
    found: list[Doubt] = []
    for (who, on), rows in sorted(by_day.items()):
        found += _in_an_hour(who, on, rows)
        found += _in_a_day(who, on, rows)
        found += _far_apart(who, on, rows)
    return tuple(found)


def _in_an_hour(who: str, on: date, rows: list[Attended]) -> list[Doubt]:
    timed = sorted((row.at, row.roof) for row in rows if row.at is not None)
    most: set[str] = set()
    for start, _ in timed:
        until = start + timedelta(hours=1)
        within = {roof for at, roof in timed if start <= at < until}
        most = max(most, within, key=len)
    if len(most) < ROOFS_IN_AN_HOUR:
        return []
    question = (
        f"{who} was on {len(most)} roofs within one hour on {on}. How was each of "
        "them looked at?"
    )
    named = [row.reference for row in rows if row.roof in most]
    return [_doubt(Sign.MANY_IN_AN_HOUR, question, named, f"{who} {on}")]


def _in_a_day(who: str, on: date, rows: list[Attended]) -> list[Doubt]:
    roofs = {row.roof for row in rows}
    if len(roofs) < ROOFS_IN_A_DAY:
        return []
    question = (
        f"{who} attended {len(roofs)} roofs on {on}. Was each of them walked and read?"
    )
    named = [row.reference for row in rows]
    return [_doubt(Sign.MANY_IN_A_DAY, question, named, f"{who} {on}")]


def _far_apart(who: str, on: date, rows: list[Attended]) -> list[Doubt]:
    states = {row.state for row in rows if row.state}
    if len(states) < 2:
        return []
    places = sorted({row.place for row in rows if row.place})
    question = (
        f"{who} attended coaches in {' and '.join(places)} on {on}. Do the coaches "
        "stand where the register says, and is the day right?"
    )
    named = [row.reference for row in rows]
    return [_doubt(Sign.FAR_APART, question, named, f"{who} {on}")]
