"""Three fleets with a row of every kind, and everybody who could ask about them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from uuid import UUID, uuid4

from django.test import Client

from fleet import models as fleet
from fleet import store
from fleet.actions.api_keys import make_key, revoke_key
from fleet.actions.coaches import hand_over
from fleet.actions.devices import make_code, pair
from fleet.actions.invitations import invite
from fleet.actions.roofs import text
from jobs.models import Run
from tests import builders
from tests.builders import COMPLETED, NOON, TODAY
from tests.models import rows_of_claims, rows_of_evidence  # noqa: F401 - fill VALID
from tests.models.rows import saved, valid
from warranty import models as warranty

RIGHTS = ("read", "write", "claims")
FACTS = {
    "installations": fleet.Installation,
    "penetrations": fleet.Penetration,
    "alterations": fleet.Alteration,
    "visits": fleet.Visit,
    "findings": fleet.Finding,
    "coat-logs": fleet.CoatLog,
    "film-readings": fleet.FilmReading,
    "moisture-readings": fleet.MoistureReading,
    "adhesion-readings": fleet.AdhesionReading,
    "climate-readings": fleet.ClimateReading,
    "registrations": warranty.Registration,
    "waivers": warranty.Waiver,
}
Ids = dict[str, UUID | str]


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """Ids of every kind: the asker's own, a foreign fleet's, of a coach that was sold;
    and clients by the name of who asks."""

    own: Ids
    foreign: Ids
    sold: Ids
    gone: Ids
    canary: str
    clients: dict[str, Client]


def make_world() -> World:
    """Return a new world. Words of the foreign fleet begin with its canary."""
    office = builders.office()
    mine = _fleet("Sandbar Coach Hire", "KITTIWAKE")
    canary = "PTARMIGAN"
    theirs = _fleet("Pelican Van Hire", canary)
    buyer = theirs[0]
    sold = _rows(mine[0], "DOTTEREL")
    coach = fleet.Coach.objects.get(uuid=sold["coaches"])
    hand_over(coach=coach, owner=buyer, from_on=TODAY, by=office, now=NOON)
    # What belongs to the former holder stays theirs: of these the buyer's is asked.
    sold |= {kind: theirs[1][kind] for kind in ("claims", "packets", "certificates")}
    sold |= {kind: theirs[1][kind] for kind in ("runs", "owners", "transfers")}
    return World(
        own=mine[1],
        foreign=theirs[1],
        sold=sold,
        gone={kind: uuid4() for kind in mine[1]},
        canary=canary,
        clients=_clients(mine[0], theirs[0]),
    )


def _fleet(name: str, canary: str) -> tuple[fleet.Owner, Ids]:
    owner = builders.make_owner(
        name=f"{canary} {name}",
        kind=fleet.OwnerKind.RENTAL_FLEET,
        email=f"{canary}@harrow-lake.example",
    )
    return owner, _rows(owner, canary) | _of_people(owner, canary)


def _rows(owner: fleet.Owner, canary: str) -> Ids:
    """Return the ids of a coach, its roof, and a record of every kind about it."""
    coach = builders.make_coach(
        owner=owner,
        unit_no=f"{canary}-1",
        described=builders.make_description(town=canary, make=canary),
    )
    edition = builders.make_edition(owner_kind=owner.kind)
    roof = builders.make_promised_roof(coach=coach, edition=edition)
    about = {"roof": roof, "entry": roof.entries.order_by("pk").first()}
    ids: Ids = {"owners": owner.uuid, "coaches": coach.uuid, "roofs": roof.uuid}
    made = {}
    for kind, table in FACTS.items():
        over = dict(about)
        if any(field.name == "note" for field in table._meta.concrete_fields):
            over["note"] = saved(text(f"{canary} {kind}"))
        made[kind] = saved(valid(table, **over))
        ids[kind] = made[kind].uuid
    cure = {"finding": made["findings"], "visit": made["visits"]}
    ids["cures"] = saved(valid(fleet.Cure, **about, **cure)).uuid
    ids["coach-descriptions"] = coach.coachdescriptions.get().uuid
    ids["ownerships"] = coach.ownerships.get().uuid
    later = TODAY + timedelta(days=9999)
    ids["retirements"] = saved(
        valid(fleet.Retirement, coach=coach, retired_on=later)
    ).uuid
    ids["coverages"] = warranty.Coverage.objects.get(roof=roof).uuid
    return ids | _of_claims(owner, roof, about, canary)


def _of_claims(owner: fleet.Owner, roof: fleet.Roof, about: dict, canary: str) -> Ids:
    claim = builders.make_claim(
        roof, description=f"{canary} drips", ref=f"{canary}-{roof.pk}"
    )
    sha256 = store.keep(f"{canary} {roof.pk}".encode())
    file = {"sha256": sha256, "size_bytes": 20}
    packet = saved(valid(warranty.Document, claim=claim, **file))
    certificate = saved(valid(warranty.Certificate, **about, holder=owner))
    printed = saved(
        valid(
            warranty.Document,
            kind="CERTIFICATE",
            claim=None,
            certificate=certificate,
            **file,
        )
    )
    transfer = saved(valid(warranty.Transfer, **about, former=None, holder=owner))
    exhibit = saved(
        valid(fleet.Exhibit, **about, **file, caption=saved(text(f"{canary} photo")))
    )
    # Of a claim of its own: a page of the first one would look for what it was made of.
    other = builders.make_claim(roof, ref=f"{canary}-{roof.pk}-2")
    proposal = saved(valid(warranty.Proposal, **about, claim=other))
    run = Run.objects.create(
        kind="packet",
        owner=owner,
        requested_by=builders.office(),
        available_at=NOON,
        created_at=NOON,
        progress_note=canary,
    )
    return {
        "claims": claim.uuid,
        "packets": packet.uuid,
        "certificates": printed.uuid,
        "transfers": transfer.uuid,
        "exhibits": exhibit.uuid,
        "proposals": proposal.uuid,
        "runs": run.uuid,
    }


def _of_people(owner: fleet.Owner, canary: str) -> Ids:
    told = {"by": builders.office(), "now": NOON}
    user = builders.make_manager(owner, first_name=canary)
    Client().force_login(user)
    key, _ = make_key(owner=owner, name=canary, rights=["read"], days=9, **told)
    invited, _ = invite(
        name=f"{canary} Wren",
        email=f"{canary}@harrow-lake.example",
        role="FLEET_MANAGER",
        owner=owner,
        **told,
    )
    event = fleet.AccessEvent.objects.filter(owner_number=owner.pk).latest("pk")
    return {
        "users": user.uuid,
        "sessions": fleet.Session.objects.get(user=user).uuid,
        "keys": key.uuid,
        "invitations": invited.uuid,
        "access-events": event.uuid,
        # Of the office alone: the same for whoever asks.
        **{kind: uuid4() for kind in ("imports", "merges", "tray-photos")},
        **{kind: uuid4() for kind in ("what-ifs", "devices", "bookings", "ops")},
        "editions": builders.make_edition().uuid,
        "systems": builders.make_system().uuid,
        "technicians": saved(valid(fleet.Technician)).uuid,
    }


def _clients(owner: fleet.Owner, other: fleet.Owner) -> dict[str, Client]:
    technician = builders.make_user(role="TECHNICIAN")
    gone = builders.make_manager(owner, is_active=False)
    clients = {
        "office": _signed_in(builders.office()),
        "technician": _signed_in(technician),
        "manager": _signed_in(builders.make_manager(owner)),
        "closed manager": _signed_in(gone),
        "nobody": _client(),
        "device": _device(technician),
    }
    for right in RIGHTS:
        clients[f"key to {right}"] = _keyed(owner, [right])[1]
    clients["key to all"] = _keyed(owner, RIGHTS)[1]
    key, clients["revoked key"] = _keyed(owner, RIGHTS)
    revoke_key(key=key, by=builders.office(), now=NOON)
    return clients


def _client(**more: object) -> Client:
    return Client(raise_request_exception=False, **more)


def _signed_in(user: fleet.User) -> Client:
    client = _client()
    client.force_login(user)
    return client


def _keyed(owner: fleet.Owner, rights) -> tuple[fleet.ApiKey, Client]:
    told = {"by": builders.office(), "now": NOON}
    key, word = make_key(owner=owner, name="sync", rights=rights, days=9, **told)
    return key, _client(headers={"Authorization": f"Bearer {word}"})


def _device(user: fleet.User) -> Client:
    code = make_code(user=user, by=user, now=NOON)
    _, token = pair(code=code, device_name="phone", address="192.0.2.1", now=NOON)
    client = _client(headers={"X-Field": "1"})
    client.cookies["field_device"] = token
    return client


__all__ = ["COMPLETED", "World", "make_world"]
