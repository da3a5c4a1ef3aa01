"""Histories of phones on roofs, and what the register knows after each."""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from random import Random
from typing import Any
from uuid import UUID

from django.apps import apps

from fleet.actions.bookings import cancel_booking, move_booking, plan_booking
from fleet.actions.devices import DeviceRevoked, device_of, make_code, pair
from fleet.actions.field_operations import NotAnObject, OperationConflict, receive
from fleet.actions.field_photos import PhotoConflict, receive_photo
from fleet.models import (
    Booking,
    FieldDevice,
    FieldOperation,
    FieldPhoto,
    LedgerEntry,
    OperationState,
    PrivateText,
    Roof,
    RoofFact,
    System,
    User,
)
from tests.builders import make_promised_roof, make_roof, make_system, make_user
from warranty.selectors.standings import standings_of

BEGIN = datetime(2026, 6, 1, 12, tzinfo=UTC)
FAR_FUTURE = datetime(2027, 6, 1, 12, tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """One body, or the bytes of one photo, as a phone sends it."""

    id: UUID
    raw: bytes
    is_photo: bool = False
    fact_uuids: frozenset[str] = frozenset()

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.raw).hexdigest()


@dataclass(slots=True, kw_only=True)
class Pairing:
    """One phone under one of its tokens."""

    device: FieldDevice
    token: str


@dataclass(slots=True, kw_only=True)
class World:
    """Two roofs, two technicians with three phones, and what the office planned."""

    roofs: list[Roof]
    system: System
    bookings: list[Booking]
    # Per phone: its pairing now, and the one it gets after it was revoked.
    phones: list[list[Pairing]]
    office: User = field(default_factory=make_user)


def make_world() -> World:
    """Return the world in which every history begins."""
    office, people = make_user(), [make_user(role="TECHNICIAN") for _ in range(2)]
    roofs = [make_promised_roof(), make_roof()]
    bookings = [
        plan_booking(
            roof=roofs[0],
            kind="INSPECTION",
            planned_on=date(2026, 6, 2),
            by=office,
            now=BEGIN,
        )
        for _ in range(3)
    ]
    cancel_booking(booking=bookings[1], version=1, by=office, now=BEGIN)
    move_booking(
        booking=bookings[2],
        version=1,
        planned_on=date(2026, 6, 3),
        by=office,
        now=BEGIN,
    )
    return World(
        roofs=roofs,
        system=make_system(),
        bookings=bookings,
        phones=[
            [_pairing(person), _pairing(person)]
            for person in (people[0], people[1], people[1])
        ],
        office=office,
    )


def _pairing(person: User) -> Pairing:
    code = make_code(user=person, by=person, now=BEGIN)
    device, token = pair(code=code, device_name="phone", address="", now=BEGIN)
    return Pairing(device=device, token=token)


def deliver(pairing: Pairing, sent: Sent, *, now: datetime) -> str | None:
    """Hand one body to the register; return the hash it acknowledges, if any."""
    try:
        device = device_of(token=pairing.token, now=now)
    except DeviceRevoked:
        return None
    try:
        if sent.is_photo:
            row, _ = receive_photo(
                device=device,
                photo=sent.id,
                chunks=[sent.raw],
                sha256=sent.sha256,
                now=now,
            )
            return row.sha256
        received = receive(device=device, op_id=sent.id, raw=sent.raw, now=now)
    except (OperationConflict, NotAnObject, PhotoConflict) as kept:
        return str(kept.detail["sha256"])
    return received.operation.sha256


Delivery = tuple[Pairing, Sent]


def replay(deliveries: Sequence[Delivery]) -> None:
    """Deliver everything in this order, a minute apart."""
    for minute, (pairing, sent) in enumerate(deliveries):
        deliver(pairing, sent, now=BEGIN + timedelta(minutes=minute))


def reordered(deliveries: Sequence[Delivery], *, seed: int) -> list[Delivery]:
    """Return the deliveries in another order.

    Only bodies that claim one id and differ keep their order among themselves: which
    of them was first decides which one stands.
    """
    order = list(range(len(deliveries)))
    Random(seed).shuffle(order)  # noqa: S311 - an order to try, not a secret
    if seed % 3 == 0:
        order = list(reversed(range(len(deliveries))))
    for members in _claimants(deliveries):
        places = sorted(order.index(index) for index in members)
        for place, index in zip(places, sorted(members), strict=True):
            order[place] = index
    return [deliveries[index] for index in order]


def _claimants(deliveries: Sequence[Delivery]) -> Iterable[set[int]]:
    """Return the groups of deliveries that claim an id in common and differ."""
    groups: list[tuple[set[object], set[int]]] = []
    for index, (pairing, sent) in enumerate(deliveries):
        claims: set[object] = {*sent.fact_uuids, (pairing.device.pk, sent.id)}
        members = {index}
        apart = []
        for other_claims, other_members in groups:
            if claims & other_claims:
                claims |= other_claims
                members |= other_members
            else:
                apart.append((other_claims, other_members))
        groups = [*apart, (claims, members)]
    for _, members in groups:
        if len({deliveries[index][1].sha256 for index in members}) > 1:
            yield members


def snapshot(world: World, *, judges: bool) -> dict[str, Any]:
    """Return everything that must not depend on the order of arrival."""
    roof_ids = [roof.pk for roof in world.roofs]
    person_of = {
        device.scope: str(device.user.uuid)
        for device in FieldDevice.objects.select_related("user")
    }
    texts = {str(text.uuid): text.body for text in PrivateText.objects.all()}
    entries = LedgerEntry.objects.filter(roof_id__in=roof_ids).order_by("roof_id")
    told = {
        entry.pk: f"{entry.roof_id} {entry.kind} "
        + json.dumps(_plain(json.loads(entry.payload), texts, person_of))
        for entry in entries
    }
    return {
        "facts": Counter(_facts(roof_ids, texts, person_of) if judges else ()),
        "entries": Counter(told.values()),
        "operations": {
            (row.device_id, str(row.op_id), row.sha256): (
                row.state,
                row.reason_code,
                str(row.waits_for),
                tuple(row.flags),
                row.is_open,
                told.get(row.entry_id),
            )
            for row in FieldOperation.objects.all()
        },
        "photos": sorted(
            FieldPhoto.objects.values_list("device_id", "photo", "sha256", "stands")
        ),
        "bookings": sorted(Booking.objects.values_list("pk", "state", "version")),
        "roofs": sorted(
            Roof.objects.filter(pk__in=roof_ids).values_list(
                "pk", "system_id", "substrate", "started_on", "completed_on"
            )
        ),
        "standings": _standings(roof_ids) if judges else {},
    }


def _standings(roof_ids: list[int]) -> dict[int, Any]:
    answers = standings_of(roof_ids, as_of=date(2026, 8, 1), known_at=FAR_FUTURE)
    return {
        roof_id: (answer.standing, answer.next_due_on, answer.verdicts)
        for roof_id, answer in answers.items()
    }


def _facts(
    roof_ids: list[int], texts: dict[str, str], person_of: dict[str, str]
) -> Iterable[str]:
    for table in apps.get_models():
        if issubclass(table, RoofFact):
            rows = table._default_manager.filter(roof_id__in=roof_ids)
            for row in rows.select_related("recorded_by"):
                plain = _plain(row.ledger_record(), texts, person_of)
                yield f"{row.roof_id} {row.recorded_by.uuid} {json.dumps(plain)}"


def _plain(value: Any, texts: dict[str, str], person_of: dict[str, str]) -> Any:
    """Return a payload with texts in place of their salt, people for their phones."""
    if isinstance(value, dict):
        if "text" in value:
            return {"text": texts[value["text"]]}
        return {
            name: person_of.get(inner, inner)
            if name == "scope"
            else _plain(inner, texts, person_of)
            for name, inner in sorted(value.items())
        }
    if isinstance(value, list):
        return [_plain(inner, texts, person_of) for inner in value]
    return value


def unkept(acknowledged: set[tuple[int, UUID, str]]) -> set[tuple[int, UUID, str]]:
    """Return what was acknowledged and is not on record, byte for byte."""
    kept = {
        (row.device_id, row.op_id, hashlib.sha256(bytes(row.raw)).hexdigest())
        for row in FieldOperation.objects.all()
    }
    kept |= set(FieldPhoto.objects.values_list("device_id", "photo", "sha256"))
    applied = FieldOperation.objects.filter(state=OperationState.APPLIED)
    orphans = applied.filter(entry__isnull=True)
    return (acknowledged - kept) | {
        (row.device_id, row.op_id, row.sha256) for row in orphans
    }
