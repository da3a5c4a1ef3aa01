"""Builders of invented records with valid defaults, made through the actions."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import count
from typing import Any

from fleet.actions.coaches import add_coach, add_owner, description
from fleet.actions.readings import (
    climate_reading,
    coat_log,
    notch_reading,
    penetration,
)
from fleet.actions.recording import Recording, recording
from fleet.actions.roofs import installation, open_roof, record
from fleet.models import (
    Coach,
    CoachDescription,
    CoatRole,
    FilmReading,
    Installation,
    Owner,
    OwnerKind,
    PenetrationKind,
    Role,
    Roof,
    RoofFact,
    Substrate,
    System,
    SystemCoat,
    SystemSubstrate,
    User,
)
from warranty.actions.claims import claim_report, report_claim
from warranty.actions.editions import draft_edition
from warranty.actions.promises import add_edition, cover
from warranty.models import Claim, Edition, Registration, TermsAssignment
from warranty.rules.promise import RIGHTS_SENTENCE
from warranty.rules.terms import Anchor

_numbers = count(1)

# Noon at the office (America/Detroit, in summer), on the day most tests ask about.
NOON = datetime(2026, 6, 1, 16, 0, tzinfo=UTC)
TODAY = date(2026, 6, 1)
RECORDED = datetime(2026, 5, 20, 16, 0, tzinfo=UTC)
HELD_FROM = date(2025, 1, 1)
STARTED = date(2026, 5, 4)
COMPLETED = date(2026, 5, 5)


def make_user(**over: Any) -> User:
    """Somebody of the service office."""
    fields = {"username": f"person-{next(_numbers)}", "role": Role.OFFICE, **over}
    return User.objects.create(**fields)


def office() -> User:
    """The one person of the office that most records are by."""
    return User.objects.get_or_create(
        username="office", defaults={"role": Role.OFFICE}
    )[0]


def make_owner(**over: Any) -> Owner:
    """A private person who holds coaches."""
    name = f"Owner {next(_numbers)} of Harrow Lake"
    return add_owner(**{"name": name, "kind": OwnerKind.PRIVATE, **over})


def make_manager(owner: Owner, **over: Any) -> User:
    """Somebody who looks after one owner's coaches."""
    return make_user(**{"role": Role.FLEET_MANAGER, "owner": owner, **over})


def make_description(**over: Any) -> CoachDescription:
    """An unsaved description of a small coach: one film area by the rule."""
    fields: dict[str, Any] = {
        "length": Decimal(12),
        "width": Decimal(8),
        "length_unit": "ft",
        "make": "Tern",
        "model": "Wanderer",
        "model_year": 2014,
    }
    return description(**{**fields, **over})


def make_coach(**over: Any) -> Coach:
    """A coach, held by a private person unless ``owner`` says otherwise."""
    fields: dict[str, Any] = {
        "unit_no": f"HL-{next(_numbers):04}",
        "by": over.get("by") or office(),
        "now": RECORDED,
        "held_from": HELD_FROM,
    }
    fields.update(over)
    fields.setdefault("described", make_description())
    if "owner" not in over:
        fields["owner"] = make_owner()
    return add_coach(**fields)


def make_system(**over: Any) -> System:
    """A build of one base coat with dry limits of 10 and 20 mil, for EPDM."""
    fields: dict[str, Any] = {
        "code": f"SYS-{next(_numbers)}",
        "title": "Seamless roof, one base coat",
        "air_min_c": Decimal(10),
        "air_max_c": Decimal(35),
        "rh_max_ratio": Decimal("0.85"),
        "dew_margin_c": Decimal(3),
    }
    system = System.objects.create(**{**fields, **over})
    SystemCoat.objects.create(
        system=system,
        position=1,
        role=CoatRole.BASE,
        wet_target_um=Decimal("508"),
        volume_solids_ratio=Decimal("0.6"),
        dry_min_um=Decimal("254"),
        dry_max_um=Decimal("508"),
    )
    SystemSubstrate.objects.create(system=system, substrate=Substrate.EPDM)
    return system


def make_edition(**over: Any) -> Edition:
    """A published edition for the life of the coach, for private persons."""
    fields: dict[str, Any] = {
        "code": f"ED-{next(_numbers)}",
        "title": "Limited warranty for the life of the coach",
        "owner_kind": OwnerKind.PRIVATE,
        "anchor": Anchor.ANNIVERSARY.value,
        "interval_months": 12,
        "window_days": 60,
        "grace_days": 60,
        "reinstatement_days": 180,
        "registration_days": 30,
        "serious_cure_days": 30,
    }
    return add_edition(edition=Edition(**{**fields, **over}), now=RECORDED)


# What a limited warranty says so that every rule of the law's checklist passes.
LAWFUL_TEXT: dict[str, str] = {
    "covered": "Water coming through the film, its seams and its details.",
    "exclusions": "Impact, fire, and whatever is fitted to the roof later.",
    "remedy": "We find the leak and repair or recoat the place, parts and labour paid.",
    "not_paid": "Travel of the owner, and rent lost meanwhile.",
    "duties": "Have the roof inspected every twelve months; report impact at once.",
    "duties_reason": "Sealant ages, and small gaps let water under the film.",
    "claim_procedure": "1. Call us.\n2. Keep the roof dry.\n3. Let us look at it.",
    "who_may_work": "Any competent person may make a leak safe.",
    "dispute_mechanism": "There is none.",
    "rights": RIGHTS_SENTENCE,
    "registration": "Register within 30 days of completion; it is a condition.",
}


def draft_of(**over: Any) -> Edition:
    """An unsaved edition that every rule of the law's checklist passes."""
    fields: dict[str, Any] = {
        "code": f"DR-{next(_numbers)}",
        "title": "Limited warranty for the life of the coach",
        "owner_kind": OwnerKind.PRIVATE,
        "anchor": Anchor.ANNIVERSARY.value,
        "interval_months": 12,
        "window_days": 60,
        "grace_days": 60,
        "reinstatement_days": 180,
        "registration_days": 30,
        "serious_cure_days": 30,
        "accepts_other_shops": True,
        **LAWFUL_TEXT,
    }
    return Edition(**{**fields, **over})


def make_draft(**over: Any) -> Edition:
    """A draft that could be published as it is."""
    return draft_edition(edition=draft_of(**over))


def make_roof(**over: Any) -> Roof:
    """An opened roof: its chain has begun, nothing is installed."""
    fields: dict[str, Any] = {"by": office(), "now": RECORDED, **over}
    if "coach" not in fields:
        fields["coach"] = make_coach(now=fields["now"])
    return open_roof(**fields)


def make_installation(**over: Any) -> Installation:
    """An unsaved installation on EPDM over two days."""
    fields: dict[str, Any] = {
        "substrate": Substrate.EPDM,
        "started_on": STARTED,
        "completed_on": COMPLETED,
        **over,
    }
    if "system" not in fields:
        fields["system"] = make_system()
    return installation(**fields)


def make_reading(**over: Any) -> FilmReading:
    """An unsaved notch reading of 20 to 22 mil wet, 12 mil dry on the base coat."""
    fields: dict[str, Any] = {
        "coat": CoatRole.BASE,
        "area_no": 1,
        "spot_no": 1,
        "shot_no": 1,
        "last_wet": Decimal(20),
        "first_dry": Decimal(22),
        "unit": "mil",
        "happened_on": COMPLETED,
    }
    return notch_reading(**{**fields, **over})


def film_of_one_area() -> list[FilmReading]:
    """Five spots of three readings: what the rule asks of one area."""
    return [
        make_reading(spot_no=spot, shot_no=shot)
        for spot in range(1, 6)
        for shot in range(1, 4)
    ]


def laid_facts() -> list[RoofFact]:
    """Everything but the installation that a laid roof needs on record."""
    mornings = [
        datetime(day.year, day.month, day.day, 14, tzinfo=UTC)
        for day in (STARTED, COMPLETED)
    ]
    return [
        *film_of_one_area(),
        *(
            climate_reading(
                taken_at=at,
                air=Decimal(70),
                surface=Decimal(80),
                rh_pct=Decimal(50),
                temperature_unit="F",
            )
            for at in mornings
        ),
        penetration(
            label="vent 1",
            kind=PenetrationKind.VENT,
            x=Decimal(4),
            y=Decimal(3),
            place_unit="ft",
            width=Decimal(14),
            length=Decimal(14),
            size_unit="in",
            is_detailed=True,
            happened_on=COMPLETED,
        ),
        coat_log(
            coat=CoatRole.BASE,
            lot="L-1",
            happened_on=COMPLETED,
            volume=Decimal(2),
        ),
    ]


def make_installed_roof(**over: Any) -> Roof:
    """A laid roof with all its readings, and no promise yet."""
    laid = over.pop("laid", None) or make_installation()
    by, now = over.get("by") or office(), over.get("now") or RECORDED
    with recording(by=by, now=now) as made:
        roof = make_roof(**over)
        lay(made, roof, laid)
    roof.refresh_from_db()
    return roof


def lay(made: Recording, roof: Roof, laid: Installation) -> None:
    """Record an installation and its readings in the recording that is open."""
    record(roof=roof, kind="installation", facts=[laid], by=made.by, now=made.now)
    record(roof=roof, kind="readings", facts=laid_facts(), by=made.by, now=made.now)


def make_promised_roof(**over: Any) -> Roof:
    """A laid, promised and registered roof: in force on ``TODAY``."""
    edition = over.pop("edition", None) or make_edition()
    registered_on = over.pop("registered_on", COMPLETED + timedelta(days=5))
    by, now = over.get("by") or office(), over.get("now") or RECORDED
    with recording(by=by, now=now) as made:
        roof = make_installed_roof(**over)
        terms = TermsAssignment(edition=edition, happened_on=COMPLETED)
        record(roof=roof, kind="terms", facts=[terms], by=by, now=now)
        cover(made, roof, edition)
        if registered_on:
            told = Registration(registered_on=registered_on)
            record(roof=roof, kind="registration", facts=[told], by=by, now=now)
    roof.refresh_from_db()
    return roof


def make_claim(roof: Roof, **over: Any) -> Claim:
    """A leak noticed and reported on the same day."""
    fields: dict[str, Any] = {
        "noticed_on": TODAY,
        "reported_on": TODAY,
        "description": "Water at the vent after rain.",
        "estimate_cents": 42_000,
    }
    by, now, ref = over.pop("by", None), over.pop("now", NOON), over.pop("ref", "")
    return report_claim(
        roof=roof,
        ref=ref or f"C-{next(_numbers)}",
        report=claim_report(**{**fields, **over}),
        by=by or office(),
        now=now,
    )
