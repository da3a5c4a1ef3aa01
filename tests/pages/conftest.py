"""People with known rights, some roofs, and a day that stands still."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from django.test import Client

from fleet.models import Owner, OwnerKind, Role, Roof, User
from tests import builders


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """A fleet's roof and a private person's, and everybody who may look."""

    fleet: Owner
    fleet_roof: Roof
    private_roof: Roof
    office: Client
    technician: Client
    manager: Client
    stranger: Client
    nobody: Client


@pytest.fixture(autouse=True)
def still_clock(monkeypatch) -> None:
    """Have every page be asked at noon of the day that the builders speak of."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: builders.NOON)


@pytest.fixture
def world(db) -> World:
    fleet = builders.make_owner(name="Sandbar Coach Hire", kind=OwnerKind.RENTAL_FLEET)
    other = builders.make_owner(name="Pelican Van Hire", kind=OwnerKind.RENTAL_FLEET)
    edition = builders.make_edition(owner_kind=OwnerKind.RENTAL_FLEET, code="RENT-T")
    coach = builders.make_coach(
        owner=fleet,
        unit_no="HL-7001",
        described=builders.make_description(
            vin="1z9es8848dbr07001", town="Gull Prairie"
        ),
    )
    return World(
        fleet=fleet,
        fleet_roof=builders.make_promised_roof(coach=coach, edition=edition),
        private_roof=builders.make_promised_roof(),
        office=client_of(builders.office()),
        technician=client_of(builders.make_user(role=Role.TECHNICIAN)),
        manager=client_of(builders.make_manager(fleet)),
        stranger=client_of(builders.make_manager(other)),
        nobody=Client(),
    )


def client_of(user: User) -> Client:
    client = Client()
    client.force_login(user)
    return client
