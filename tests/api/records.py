"""People and records for the API's tests; everybody and everything is made up."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal
from itertools import count

from django.test import Client

from fleet.actions.coaches import add_coach, add_owner, description, hand_over
from fleet.actions.readings import notch_reading, penetration
from fleet.actions.roofs import installation, open_roof, record
from fleet.models import (
    Coach,
    Owner,
    Role,
    Roof,
    Substrate,
    System,
    SystemCoat,
    SystemSubstrate,
    User,
)
from warranty.actions.promises import add_edition, assign_terms
from warranty.models import Edition
from warranty.rules.terms import Anchor

SOLD_AT = datetime(2025, 6, 2, 12, tzinfo=UTC)
EARLIER = datetime(2025, 1, 10, 12, tzinfo=UTC)
COMPLETED_ON = date(2024, 6, 3)
_numbers = count(1)


def person(role: str = Role.OFFICE, owner: Owner | None = None) -> User:
    """Return somebody who signs in."""
    name = f"{role.lower()}-{next(_numbers)}"
    return User.objects.create(username=name, role=role, owner=owner)


def client_of(user: User | None) -> Client:
    """Return a program that has signed in as this person, or as nobody."""
    client = Client()
    if user is not None:
        client.force_login(user)
    return client


def owner(name: str = "Sandbar Coach Hire", kind: str = "rental_fleet") -> Owner:
    return add_owner(name=name, kind=kind)


def owner_of(uuid: str) -> Owner:
    return Owner.objects.get(uuid=uuid)


def manager_of(held_by: Owner) -> User:
    return person(Role.FLEET_MANAGER, held_by)


def coach(
    by: User,
    held_by: Owner | None = None,
    *,
    unit_no: str = "",
    town: str = "Mill Narrows",
) -> Coach:
    described = description(
        length=Decimal("26"),
        width=Decimal("8"),
        length_unit="ft",
        town=town,
        state="OH",
    )
    return add_coach(
        unit_no=unit_no or f"HL-{next(_numbers):04}",
        described=described,
        owner=held_by,
        held_from=date(2024, 1, 1) if held_by else None,
        by=by,
        now=EARLIER,
    )


def system() -> System:
    made, created = System.objects.get_or_create(
        code="HARDTOP-2", defaults={"title": "Two coats on a hard roof"}
    )
    if created:
        SystemSubstrate.objects.create(system=made, substrate=Substrate.ALUMINIUM)
        SystemCoat.objects.create(
            system=made,
            position=1,
            role="base",
            wet_target_um=Decimal(500),
            volume_solids_ratio=Decimal("0.65"),
            dry_min_um=Decimal(300),
        )
    return made


def roof(by: User, of: Coach) -> Roof:
    """Return a completed roof under terms."""
    opened = open_roof(coach=of, by=by, now=EARLIER)
    work = installation(
        system=system(),
        substrate=Substrate.ALUMINIUM,
        started_on=COMPLETED_ON,
        completed_on=COMPLETED_ON,
    )
    record(roof=opened, kind="installation", facts=[work], by=by, now=EARLIER)
    assign_terms(
        roof=opened, edition=edition(), happened_on=COMPLETED_ON, by=by, now=EARLIER
    )
    opened.refresh_from_db()
    return opened


def edition(code: str = "RENT-2024") -> Edition:
    known = Edition.objects.filter(code=code).first()
    return known or add_edition(
        edition=Edition(
            code=code,
            title="Rental promise",
            owner_kind="rental_fleet",
            anchor=Anchor.ANNIVERSARY.value,
            interval_months=12,
            window_days=60,
            grace_days=30,
            reinstatement_days=90,
            registration_days=30,
            serious_cure_days=30,
        ),
        now=EARLIER,
    )


def vent(of: Roof, by: User) -> None:
    fact = penetration(
        label="vent 1",
        kind="VENT",
        x=Decimal(5),
        y=Decimal(4),
        place_unit="ft",
        width=Decimal(14),
        length=Decimal(14),
        size_unit="in",
        is_detailed=True,
        happened_on=COMPLETED_ON,
    )
    record(roof=of, kind="penetrations", facts=[fact], by=by, now=EARLIER)


def film(of: Roof, by: User, *, spots: int = 1) -> None:
    facts = [
        notch_reading(
            coat="base",
            area_no=1,
            spot_no=spot,
            shot_no=1,
            last_wet=Decimal(28),
            first_dry=Decimal(30),
            unit="mil",
            happened_on=COMPLETED_ON,
        )
        for spot in range(1, spots + 1)
    ]
    record(roof=of, kind="film", facts=facts, by=by, now=EARLIER)


def sell(sold: Coach, to: Owner, by: User, on: date = date(2025, 6, 1)) -> None:
    hand_over(coach=sold, owner=to, from_on=on, by=by, now=SOLD_AT)
    sold.refresh_from_db()
