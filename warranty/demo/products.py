"""The invented products and editions of the demo."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Final

from fleet.film.units import UM_PER_MIL
from fleet.models import System, SystemCoat, SystemSubstrate
from warranty.actions.promises import add_edition
from warranty.demo.chance import Chance
from warranty.models import Edition
from warranty.rules.promise import RIGHTS_SENTENCE

MEMBRANE_OLD: Final = "LAKE-MEM-1"
MEMBRANE: Final = "LAKE-MEM-2"
HARDTOP: Final = "LAKE-HARD-1"
LIFE_OLD: Final = "LIFE-A"
LIFE: Final = "LIFE-B"
HIRE: Final = "HIRE-10"


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatSpec:
    """One coat; dry limits None where it is not judged. [mil], [1]"""

    role: str
    product: str
    wet_mil: int
    solids: str
    dry_mil: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemSpec:
    """One product build as the office would enter it."""

    title: str
    substrates: tuple[str, ...]
    coats: tuple[CoatSpec, ...]


def _two_coats(
    *, primer_mil: int, wet_mil: int, solids: str, dry_min_mil: str
) -> tuple[CoatSpec, ...]:
    primer = CoatSpec(
        role="primer", product="Grip primer", wet_mil=primer_mil, solids="0.36"
    )
    films = [
        CoatSpec(
            role=role,
            product=product,
            wet_mil=wet_mil,
            solids=solids,
            dry_mil=(dry_min_mil, "18"),
        )
        for role, product in (("base", "Body coat"), ("finish", "Weather coat"))
    ]
    return (primer, *films)


SYSTEMS: Final[dict[str, SystemSpec]] = {
    MEMBRANE_OLD: SystemSpec(
        title="Two-coat build over membrane, first recipe (withdrawn)",
        substrates=("EPDM", "TPO"),
        coats=_two_coats(primer_mil=5, wet_mil=30, solids="0.48", dry_min_mil="12.5"),
    ),
    MEMBRANE: SystemSpec(
        title="Two-coat build over rubber or thermoplastic membrane",
        substrates=("EPDM", "TPO"),
        coats=_two_coats(primer_mil=6, wet_mil=28, solids="0.50", dry_min_mil="12.5"),
    ),
    HARDTOP: SystemSpec(
        title="Two-coat build over aluminium or fibreglass",
        substrates=("ALUMINIUM", "FIBREGLASS"),
        coats=_two_coats(primer_mil=4, wet_mil=26, solids="0.52", dry_min_mil="12"),
    ),
}
# What every edition of the demo says, item by item. Invented; no legal advice.
TEXT: Final[dict[str, str]] = {
    "covered": "Water that comes through the film, its seams or its details, and the"
    " repair of the film where it lifts, cracks or wears through.",
    "exclusions": "Impact, hail and branches. Fire. Movement of the frame. Whatever is"
    " fitted to the roof after completion. Damage inside the coach.",
    "remedy": "We find the leak and repair or recoat the place. We pay materials and"
    " labour, and we begin within ten working days of the report.",
    "not_paid": "Bringing the coach to us, and income lost meanwhile.",
    "duties": "Have the roof inspected in its window. Wash it twice a year with mild"
    " soap and a soft brush; no petroleum, citrus or abrasive cleaners. Report impact,"
    " and anything that is to be fitted to the roof before it is fitted. Tell us when"
    " the coach is sold.",
    "duties_reason": "Sealant ages and seams move. Small gaps that are found in time"
    " cost little; water that stands under a film for a season costs a deck.",
    "claim_procedure": "1. Call or write to the office; keep the coach dry and do not"
    " climb a wet roof.\n2. Tell us where the water shows and since when.\n3. We look"
    " at the roof and answer in writing, with a reason for each point.\n4. Repairs that"
    " cannot wait may be made at once; keep photos and receipts.",
    "who_may_work": "Any competent person may make a leak safe. Lasting repairs of the"
    " film are made by us, or by somebody we have agreed to, at no charge.",
    "dispute_mechanism": "There is no informal mechanism. Courts stay open to you.",
    "rights": RIGHTS_SENTENCE,
    "registration": "Registration is a condition. Register with the office, by letter,"
    " telephone or the page it names, within the days that are stated.",
}
EDITIONS: Final[dict[str, dict[str, object]]] = {
    LIFE_OLD: {
        "title": "Limited warranty for the life of the coach, first edition",
        "owner_kind": "private",
        "anchor": "anniversary",
        "interval_months": 12,
        "window_days": 45,
        "grace_days": 30,
        "reinstatement_days": 120,
        "registration_days": 21,
        "serious_cure_days": 30,
    },
    LIFE: {
        "title": "Limited warranty for the life of the coach",
        "owner_kind": "private",
        "anchor": "anniversary",
        "interval_months": 12,
        "window_days": 60,
        "grace_days": 60,
        "reinstatement_days": 180,
        "registration_days": 30,
        "serious_cure_days": 30,
    },
    HIRE: {
        "title": "Limited ten-year warranty for rental fleets",
        "owner_kind": "rental_fleet",
        "anchor": "last_inspection",
        "interval_months": 6,
        "window_days": 45,
        "grace_days": 30,
        "reinstatement_days": 90,
        "registration_days": 30,
        "serious_cure_days": 21,
        "term_months": 120,
    },
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Products:
    """The rows that roofs of the demo are made under."""

    systems: dict[str, System]
    editions: dict[str, Edition]


def add_products(chance: Chance, *, now: datetime) -> Products:
    """Add the systems and publish the editions."""
    return Products(
        systems={
            code: _add_system(code, spec, chance) for code, spec in SYSTEMS.items()
        },
        editions={
            code: add_edition(
                edition=Edition(uuid=chance.uuid(), code=code, **terms, **TEXT),
                now=now,
            )
            for code, terms in EDITIONS.items()
        },
    )


def _add_system(code: str, spec: SystemSpec, chance: Chance) -> System:
    system = System.objects.create(
        uuid=chance.uuid(),
        code=code,
        title=spec.title,
        air_min_c=Decimal(10),
        air_max_c=Decimal(35),
        rh_max_ratio=Decimal("0.85"),
        dew_margin_c=Decimal(3),
    )
    for substrate in spec.substrates:
        SystemSubstrate.objects.create(system=system, substrate=substrate)
    for position, coat in enumerate(spec.coats, start=1):
        low, high = coat.dry_mil or (None, None)
        SystemCoat.objects.create(
            system=system,
            position=position,
            role=coat.role,
            product=coat.product,
            wet_target_um=_um(coat.wet_mil),
            volume_solids_ratio=Decimal(coat.solids),
            dry_min_um=None if low is None else _um(low),
            dry_max_um=None if high is None else _um(high),
        )
    return system


def _um(mil: int | str) -> Decimal:
    return Decimal(mil) * UM_PER_MIL
