"""A technician with a phone, a booked roof, and a server that can go away."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from django.urls import get_resolver
from django.utils import timezone
from playwright.sync_api import Playwright, sync_playwright

from fleet.actions.bookings import plan_booking
from fleet.actions.devices import make_code
from fleet.actions.readings import penetration
from fleet.actions.roofs import record
from fleet.models import (
    Booking,
    CoatRole,
    PenetrationKind,
    Role,
    Roof,
    Substrate,
    System,
    SystemCoat,
    SystemSubstrate,
    User,
)
from tests import builders
from tests.browser.field.phone import Phone
from tests.browser.field.server import FieldServer

SEALS = (("front vent", 4, 3), ("air conditioner", 14, 4), ("rear vent", 27, 3))


@pytest.fixture(scope="module")
def playwright() -> Iterator[Playwright]:
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        # Playwright keeps a loop in this thread, where Django would refuse to query.
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        yield playwright


@pytest.fixture
def field_server(playwright, shared_database) -> Iterator[FieldServer]:
    # The first request would import every room while a browser waits.
    get_resolver().check()
    server = FieldServer()
    server.start()
    yield server
    server.stop()


@pytest.fixture
def phone_of(playwright, field_server, tmp_path):
    """Return a function that hands out phones and ends their browsers afterwards."""
    phones: list[Phone] = []

    def handed(name: str = "one", **over: str) -> Phone:
        profile = tmp_path / f"phone-{name}"
        phone = Phone(
            playwright=playwright, profile=profile, base=field_server.url, **over
        )
        phones.append(phone)
        return phone

    yield handed
    for phone in phones:
        phone.kill()


@pytest.fixture
def technician(shared_database) -> User:
    return builders.make_user(username="ines", role=Role.TECHNICIAN)


@pytest.fixture
def code(technician) -> str:
    return make_code(user=technician, by=technician, now=timezone.now())


@pytest.fixture
def system(shared_database) -> System:
    """A primer without dry limits, and two coats of 28 mil wet at half solids."""
    system = System.objects.create(
        code="MEMBRANE-2",
        title="Two coats over membrane",
        air_min_c=10,
        air_max_c=40,
        rh_max_ratio=Decimal("0.85"),
        dew_margin_c=3,
    )
    SystemSubstrate.objects.create(system=system, substrate=Substrate.EPDM)
    build = (
        (CoatRole.PRIMER, 6, None),
        (CoatRole.BASE, 28, 1),
        (CoatRole.FINISH, 28, 1),
    )
    for position, (role, wet_mil, is_limited) in enumerate(build, 1):
        SystemCoat.objects.create(
            system=system,
            position=position,
            role=role,
            wet_target_um=Decimal(wet_mil) * Decimal("25.4"),
            volume_solids_ratio=Decimal("0.5"),
            dry_min_um=Decimal("317.5") if is_limited else None,
            dry_max_um=Decimal("457.2") if is_limited else None,
            recoat_min_hours=8,
            recoat_max_hours=96,
        )
    return system


@pytest.fixture
def roof(system) -> Roof:
    """A coach of 33 by 8 feet: three areas by the rule, three penetrations."""
    coach = builders.make_coach(
        unit_no="HL-7001",
        described=builders.make_description(length=Decimal(33), width=Decimal(8)),
    )
    roof = builders.make_roof(coach=coach)
    facts = [
        penetration(
            label=label,
            kind=PenetrationKind.AIR_CONDITIONER
            if "air" in label
            else PenetrationKind.VENT,
            x=Decimal(x),
            y=Decimal(y),
            place_unit="ft",
            width=Decimal(14),
            length=Decimal(14),
            size_unit="in",
            is_detailed=False,
            happened_on=timezone.localdate(),
        )
        for label, x, y in SEALS
    ]
    record(
        roof=roof,
        kind="penetrations",
        facts=facts,
        by=builders.office(),
        now=datetime.now(UTC),
    )
    return roof


@pytest.fixture
def booked(roof, technician):
    """Return a function that books the technician's attendance at the roof."""

    def planned(kind: str) -> Booking:
        return plan_booking(
            roof=roof,
            kind=kind,
            planned_on=timezone.localdate(),
            by=builders.office(),
            now=timezone.now(),
            window="8 to 12",
            place="Storage lot 4, row C",
        )

    return planned
