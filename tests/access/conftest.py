"""People with passwords, a fleet of two, and a clock that a test sets."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import pytest
from django.test import Client

from fleet.models import Owner, OwnerKind, Role, User
from tests import builders

PASSWORD = "seven gulls on a rail"


@dataclass(slots=True)
class Clock:
    """The time that every part of the program is told."""

    now: datetime = builders.NOON

    def pass_by(self, **span: float) -> None:
        self.now += timedelta(**span)


@dataclass(frozen=True, slots=True, kw_only=True)
class Door:
    """Who may come in."""

    fleet: Owner
    other: Owner
    office: User
    technician: User
    manager: User
    colleague: User
    stranger: User


@pytest.fixture(autouse=True)
def clock(monkeypatch) -> Clock:
    told = Clock()
    monkeypatch.setattr("django.utils.timezone.now", lambda: told.now)
    return told


def with_password(user: User) -> User:
    user.set_password(PASSWORD)
    user.save(update_fields=["password"])
    return user


@pytest.fixture
def door(db) -> Door:
    fleet = builders.make_owner(name="Sandbar Coach Hire", kind=OwnerKind.RENTAL_FLEET)
    other = builders.make_owner(name="Pelican Van Hire", kind=OwnerKind.RENTAL_FLEET)
    return Door(
        fleet=fleet,
        other=other,
        office=with_password(builders.make_user(username="yarrow")),
        technician=with_password(
            builders.make_user(username="tern", role=Role.TECHNICIAN)
        ),
        manager=with_password(builders.make_manager(fleet, username="alder")),
        colleague=builders.make_manager(fleet, username="birch"),
        stranger=builders.make_manager(other, username="cedar"),
    )


def client_of(user: User) -> Client:
    client = Client()
    client.force_login(user)
    return client
