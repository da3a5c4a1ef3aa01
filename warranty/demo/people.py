"""Who owns, works and signs in in the demo."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass

from fleet.models import Owner, OwnerKind, Role, Technician, User
from fleet.selectors.demo import DEMO_OFFICE_ID
from warranty.demo.chance import Chance
from warranty.demo.plan import Owners
from warranty.demo.words import FIRST_NAMES, FLEETS, INSPECTORS, LAST_NAMES

PASSWORD_WORDS = (
    *("alder", "barge", "candle", "ferry", "gravel", "harbor", "kettle", "lantern"),
    *("marsh", "oar", "pebble", "quarry", "ribbon", "sedge", "thimble", "willow"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SignIn:
    """One sign-in of the demo, told once."""

    who: str
    username: str
    password: str


def add_owners(chance: Chance, coaches: int) -> Owners:
    """Add the rental fleets and enough private owners."""
    names = [f"{first} {last}" for first in FIRST_NAMES for last in LAST_NAMES]
    private = [
        _owner(name, OwnerKind.PRIVATE, chance)
        for name in chance.some(names, max(20, round(coaches * 0.8)))
    ]
    fleets = [_owner(name, OwnerKind.RENTAL_FLEET, chance) for name in FLEETS]
    Owner.objects.bulk_create([*fleets, *private])
    return Owners(private=tuple(private), fleets=tuple(fleets))


def _owner(name: str, kind: str, chance: Chance) -> Owner:
    mailbox = name.lower().replace(" ", ".")
    return Owner(
        uuid=chance.uuid(), name=name, kind=kind, email=f"{mailbox}@example.org"
    )


def add_people(chance: Chance, fleet: Owner) -> dict[str, User]:
    """Add who signs in, and a second person of the office, by role."""
    rows = {
        "office": User(
            uuid=DEMO_OFFICE_ID,
            username="office",
            role=Role.OFFICE,
            first_name="Wilma",
            last_name="Heronsgill",
        ),
        "second": User(
            uuid=chance.uuid(),
            username="second-office",
            role=Role.OFFICE,
            first_name="Torvald",
            last_name="Reedwhistle",
            is_active=False,
        ),
        "technician": User(
            uuid=chance.uuid(),
            username="technician",
            role=Role.TECHNICIAN,
            first_name="Dagny",
            last_name="Copperbeck",
        ),
        "fleet": User(
            uuid=chance.uuid(),
            username="fleet",
            role=Role.FLEET_MANAGER,
            owner=fleet,
            first_name="Perrin",
            last_name="Saltgate",
        ),
    }
    for user in rows.values():
        user.email = f"{user.username}@example.org"
        user.set_unusable_password()
        user.save()
    return rows


def add_technicians(
    chance: Chance, people: Mapping[str, User]
) -> dict[str, Technician]:
    """Add who works on roofs; the technician who signs in is one of them."""
    rows = {name: Technician(uuid=chance.uuid(), name=name) for name in INSPECTORS}
    rows["D. Copperbeck"].user = people["technician"]
    for row in rows.values():
        row.save()
    return rows


def give_passwords() -> list[SignIn]:
    """Give the three sign-ins new passwords; they are kept nowhere but hashed.

    Known passwords in the source would open every demo that somebody can reach.
    """
    signs = []
    for username in ("office", "technician", "fleet"):
        user = User.objects.select_related("owner").get(username=username)
        words = [secrets.choice(PASSWORD_WORDS) for _ in range(3)]
        password = "-".join([*words, str(secrets.randbelow(9000) + 1000)])
        user.set_password(password)
        user.save(update_fields=["password"])
        who = user.get_role_display()
        if user.owner is not None:
            who = f"{who} of {user.owner.name}"
        signs.append(SignIn(who=who, username=username, password=password))
    return signs
