"""Who owns which coach, when its roof was laid, by whom and from which lots."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from fleet.film.level import areas_required_ft2
from fleet.models import Owner, System
from fleet.vin import check_digit
from warranty.demo.chance import Chance
from warranty.demo.diary import Calendar
from warranty.demo.fates import OTHERWISE_SOUND, Fate, is_rental, room_days
from warranty.demo.products import (
    HARDTOP,
    HIRE,
    LIFE,
    LIFE_OLD,
    MEMBRANE,
    MEMBRANE_OLD,
    Products,
)
from warranty.demo.words import COACHES, CREWS, TOWNS
from warranty.models import Edition

# Film does not cure in the cold: nothing is coated outside these (month, day).
SEASON = ((4, 22), (10, 18))
ROOFS_A_LOT = 9
# Years before today in which another recipe and another edition took over.
NEW_RECIPE_YEARS = 4.6
NEW_EDITION_YEARS = 4.1
SUBSTRATES = ("EPDM", "EPDM", "EPDM", "TPO", "TPO", "ALUMINIUM", "FIBREGLASS")
MEMBRANES = frozenset({"EPDM", "TPO"})
_VIN_SIGNS = "ABCDEFGHJKLMNPRSTVWXY"
_YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"


@dataclass(slots=True, kw_only=True)
class RoofPlan:
    """One roof as it was laid."""

    system: System
    edition: Edition
    substrate: str
    started_on: date
    completed_on: date
    crew: str = ""
    lots: dict[str, str] = field(default_factory=dict)
    is_thin: bool = False  # its base coat came from the lot that ran thin
    is_placed: bool = False  # readings say where on the plan they were taken


@dataclass(slots=True, kw_only=True)
class CoachPlan:
    """One coach and what becomes of it."""

    unit_no: str
    chance: Chance
    fate: Fate
    owner: Owner
    make: str
    model: str
    body: str
    model_year: int
    vin: str
    length_ft: Decimal
    width_ft: Decimal
    town: tuple[str, str, str]
    roofs: list[RoofPlan]

    @property
    def areas(self) -> int:
        """Return how many areas of five spots the roof needs."""
        return int(areas_required_ft2(float(self.length_ft * self.width_ft)))

    @property
    def is_rental(self) -> bool:
        """Return whether it belongs to a rental fleet."""
        return self.owner.kind == "rental_fleet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Owners:
    """Everybody who may hold a coach."""

    private: tuple[Owner, ...]
    fleets: tuple[Owner, ...]


def plan_coach(
    number: int,
    fate: Fate,
    *,
    seed: int,
    calendar: Calendar,
    owners: Owners,
    products: Products,
) -> CoachPlan:
    """Return the plan of one coach, without crew and lots."""
    chance = Chance(seed, f"coach {number}")
    rental = is_rental(fate, chance)
    make, model, body, length_ft = chance.pick(COACHES)
    roofs = _plan_roofs(
        fate, rental=rental, chance=chance, calendar=calendar, products=products
    )
    model_year = roofs[0].started_on.year - chance.whole(3, 19)
    return CoachPlan(
        unit_no=f"N{number:04d}",
        chance=chance,
        fate=fate,
        owner=chance.pick(owners.fleets if rental else owners.private),
        make=make,
        model=model,
        body=body,
        model_year=model_year,
        vin="" if chance.happens(0.06) else _vin(number, model_year, chance),
        length_ft=Decimal(str(length_ft + chance.pick((-0.5, 0.0, 0.0, 0.5)))),
        width_ft=Decimal(chance.pick(("8", "8", "8.5"))),
        town=chance.pick(TOWNS),
        roofs=roofs,
    )


def assign_crews_and_lots(plans: list[CoachPlan], chance: Chance) -> str:
    """Give each roof a crew that is free and the lots in stock; return the thin lot.

    Lots are used up in the order of the work, a few roofs each.
    """
    roofs = sorted(
        (roof for plan in plans for roof in plan.roofs), key=lambda r: r.started_on
    )
    busy_until = dict.fromkeys(CREWS, date.min)
    laid: Counter[str] = Counter()
    for roof in roofs:
        free = [crew for crew in CREWS if busy_until[crew] < roof.started_on]
        roof.crew = chance.pick(free or CREWS)
        busy_until[roof.crew] = roof.completed_on
        lot_no = laid[roof.system.code] // ROOFS_A_LOT + 1
        laid[roof.system.code] += 1
        key = roof.system.code.removeprefix("LAKE-").replace("-", "")
        roof.lots = {
            role: f"{key}-{role[0].upper()}{lot_no:02d}"
            for role in ("primer", "base", "finish")
        }
    thin_lot = _thin_lot(roofs)
    for plan in plans:
        for roof in plan.roofs:
            is_in_lot = roof.lots["base"] == thin_lot
            roof.is_thin = is_in_lot and plan.fate not in OTHERWISE_SOUND
    return thin_lot


def _thin_lot(roofs: list[RoofPlan]) -> str:
    """Return the base lot in the middle of the present membrane recipe's roofs."""
    lots = [roof.lots["base"] for roof in roofs if roof.system.code == MEMBRANE]
    return lots[len(lots) * 2 // 5] if lots else ""


def _plan_roofs(
    fate: Fate,
    *,
    rental: bool,
    chance: Chance,
    calendar: Calendar,
    products: Products,
) -> list[RoofPlan]:
    substrate = chance.pick(SUBSTRATES)
    last = calendar.today - timedelta(days=room_days(fate))
    days = [_working_day(calendar, last, chance)]
    if fate is Fate.COATED_TWICE:
        again = days[0] + timedelta(days=chance.whole(1100, 1400))
        days.append(_in_season(again))
    return [
        _plan_roof(
            fate,
            substrate,
            day,
            rental=rental,
            chance=chance,
            calendar=calendar,
            products=products,
        )
        for day in days
    ]


def _plan_roof(
    fate: Fate,
    substrate: str,
    started_on: date,
    *,
    rental: bool,
    chance: Chance,
    calendar: Calendar,
    products: Products,
) -> RoofPlan:
    soft = substrate in MEMBRANES
    if fate is Fate.OTHER_SUBSTRATE:
        soft = not soft
    old_recipe = started_on < calendar.years_ago(NEW_RECIPE_YEARS)
    membrane = MEMBRANE_OLD if old_recipe else MEMBRANE
    system = membrane if soft else HARDTOP
    life = LIFE_OLD if started_on < calendar.years_ago(NEW_EDITION_YEARS) else LIFE
    return RoofPlan(
        system=products.systems[system],
        edition=products.editions[HIRE if rental else life],
        substrate=substrate,
        started_on=started_on,
        completed_on=started_on + timedelta(days=chance.pick((1, 1, 1, 2))),
        is_placed=started_on >= calendar.phones_since,
    )


def _working_day(calendar: Calendar, last: date, chance: Chance) -> date:
    """Return a first day of work; later years have more of them than the first."""
    span = (last - calendar.first_day).days
    while True:
        day = last - timedelta(days=round(span * chance.share() ** 1.2))
        if day == _in_season(day) and day.weekday() < 5:
            return day


def _in_season(day: date) -> date:
    """Return the day, or the nearest earlier one on which coatings are laid."""
    opens, closes = (date(day.year, *edge) for edge in SEASON)
    if day < opens:
        return date(day.year - 1, *SEASON[1])
    return min(day, closes)


def _vin(number: int, model_year: int, chance: Chance) -> str:
    """Return a number with the right check digit, of a maker that does not exist."""
    code = _YEAR_CODES[(model_year - 1980) % len(_YEAR_CODES)]
    signs = "".join(chance.pick(_VIN_SIGNS) for _ in range(2))
    block = "2" if model_year < 2010 else "C"
    number_text = f"1Z9{signs}{chance.whole(10, 99)}{block}0{code}AR{number:05d}"
    return number_text[:8] + check_digit(number_text) + number_text[9:]
