"""Three people with known rights, and one roof of a fleet."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from django.test import Client

from fleet.models import Coach, Owner, Role, Roof, User
from tests.api import records


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """One fleet's roof, and everybody who may ask about it."""

    office_user: User
    holder: Owner
    coach: Coach
    roof: Roof
    office: Client
    technician: Client
    manager: Client
    stranger: Client
    nobody: Client

    def who(self, name: str) -> Client:
        return getattr(self, name)


@pytest.fixture
def world(db) -> World:
    office = records.person()
    holder = records.owner()
    coach = records.coach(office, holder)
    stranger = records.manager_of(records.owner("Pelican Van Rental"))
    return World(
        office_user=office,
        holder=holder,
        coach=coach,
        roof=records.roof(office, coach),
        office=records.client_of(office),
        technician=records.client_of(records.person(Role.TECHNICIAN)),
        manager=records.client_of(records.manager_of(holder)),
        stranger=records.client_of(stranger),
        nobody=records.client_of(None),
    )
