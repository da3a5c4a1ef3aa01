"""Two and three phones on two roofs, as a state machine that tries what can happen."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule

from fleet.actions.devices import revoke_device
from tests.field.histories import (
    BEGIN,
    Delivery,
    Pairing,
    Sent,
    World,
    deliver,
    reordered,
    replay,
    snapshot,
    unkept,
)
from tests.field.phone import picture

pick = st.integers(min_value=0, max_value=10**6)
PICTURES = [*(picture(shade) for shade in range(0, 250, 50)), b"no picture at all"]
DAYS = ["2026-06-02", "2026-06-03"]
LEAVES = ["climate", "coat_log", "penetration", "moisture", "finding", "check"]


@dataclass(slots=True)
class PhoneState:
    """What stands on one phone, and which of its pairings it uses."""

    pairings: list[Pairing]
    outbox: list[Sent] = field(default_factory=list)
    sent: list[Sent] = field(default_factory=list)
    turn: int = 0

    @property
    def pairing(self) -> Pairing:
        return self.pairings[self.turn]


def difference(was: Any, now: Any) -> str:
    """Return what one of two snapshots has and the other has not."""
    pairs = [
        set(each.items()) if isinstance(each, dict) else set(each)
        for each in (was, now)
    ]
    return f"only as it came {pairs[0] - pairs[1]}, only then {pairs[1] - pairs[0]}"


class SyncMachine(RuleBasedStateMachine):
    """One history: what phones capture, and in which order it reaches the register.

    At its end everything that was ever delivered is delivered again to a fresh
    register in other orders, and all that is known must be the same.
    """

    world: World  # set by the test, which owns the database

    def __init__(self) -> None:
        super().__init__()
        self.savepoint = transaction.savepoint()
        self.now = BEGIN
        self.number = 0
        self.deliveries: list[Delivery] = []
        self.acknowledged: set[tuple[int, UUID, str]] = set()
        self.known: dict[str, list[tuple[int, str]]] = {}
        self.phones: list[PhoneState] = []
        self.seed = 1

    @initialize(count=st.sampled_from([2, 3]), seed=pick)
    def begin(self, count: int, seed: int) -> None:
        self.phones = [PhoneState(pairs) for pairs in self.world.phones[-count:]]
        self.seed = seed

    # What a technician does.

    @rule(who=pick, roof=pick, what=pick, day=pick, booking=pick)
    def begin_visit(self, who: int, roof: int, what: int, day: int, booking: int):
        kinds = ["INSPECTION", "REPAIR", "INSTALLATION"]
        body = {
            "ref": "V",
            "visit_kind": kinds[what % 3],
            "happened_on": DAYS[day % 2],
            "result": "NONE",
        }
        if booking % 2:
            planned = self.world.bookings[booking % 3]
            body |= {"booking": str(planned.uuid), "booking_version": 1}
        self.capture(who, roof, "visit", body)

    @rule(who=pick, which=pick, passes=st.booleans(), booking=pick)
    def end_visit(self, who: int, which: int, passes: bool, booking: int):
        found = self.choose("visit", which)
        if found is None:
            return
        roof, uuid = found
        body = {
            "ref": "ignored",
            "visit_kind": "INSPECTION",
            "happened_on": DAYS[which % 2],
            "result": "PASS" if passes else "FAIL",
            "supersedes": uuid,
        }
        if booking % 3 == 0:
            body["booking"] = str(self.world.bookings[booking % 2].uuid)
        self.capture(who, roof, "visit", body)

    @rule(who=pick, roof=pick, kind=st.sampled_from(LEAVES), which=pick, value=pick)
    def record(self, who: int, roof: int, kind: str, which: int, value: int):
        visit = self.choose("visit", which)
        named = visit is not None and (which % 2 == 0 or kind == "check")
        self.capture(
            who,
            visit[0] if visit and named else roof,
            kind,
            self.leaf(kind, value),
            visit=visit[1] if visit and named else None,
        )

    @rule(who=pick, roof=pick, count=st.integers(1, 4), value=pick, fix=pick)
    def read_film(self, who: int, roof: int, count: int, value: int, fix: int):
        readings = [self.reading(value + shot, shot) for shot in range(count)]
        older = self.choose("film", fix)
        if older and fix % 2:
            roof = older[0]
            readings[0]["supersedes"] = older[1]
        self.capture(who, roof, "film", {"readings": readings})

    @rule(who=pick, kind=st.sampled_from(LEAVES[:4]), which=pick, value=pick)
    def correct(self, who: int, kind: str, which: int, value: int):
        older = self.choose(kind, which)
        if older is None:
            return
        body = self.leaf(kind, value) | {"supersedes": older[1], "void": value % 5 == 0}
        self.capture(who, older[0], kind, body)

    @rule(who=pick, which=pick, under=pick)
    def cure(self, who: int, which: int, under: int):
        finding, visit = self.choose("finding", which), self.choose("visit", under)
        if finding and visit:
            body = {"happened_on": DAYS[0], "finding": finding[1]}
            self.capture(who, finding[0], "cure", body, visit=visit[1])

    @rule(who=pick, roof=pick, which=pick, kind=st.sampled_from(["photo", "signature"]))
    def take_photo(self, who: int, roof: int, which: int, kind: str):
        raw = PICTURES[which % len(PICTURES)]
        photo = self.uuid()
        body: dict[str, Any] = {
            "photo": str(photo),
            "sha256": hashlib.sha256(raw).hexdigest(),
            "media_type": "image/png",
            "caption": "seen",
        }
        if kind == "signature":
            body |= {"signer_name": "Ada Ferrin", "role": "OWNER"}
            body["signed_at"] = BEGIN.isoformat()
        if which % 5 == 0:
            body["sha256"] = "0" * 64
        finding = self.choose("finding", which)
        if kind == "photo" and finding and which % 2:
            roof, body["finding"] = finding
        self.phone(who).outbox.append(Sent(id=photo, raw=raw, is_photo=True))
        self.capture(who, roof, kind, body)

    @rule(who=pick, roof=pick, done=st.booleans(), which=pick)
    def install(self, who: int, roof: int, done: bool, which: int):
        body = {
            "system": self.world.system.code,
            "substrate": ["EPDM", "TPO"][which % 2],
            "started_on": DAYS[0],
            "completed_on": DAYS[which % 2] if done else None,
        }
        older = self.choose("installation", which)
        if older and which % 2:
            roof, body["supersedes"] = older
        # Mostly on the roof where the office has laid nothing yet.
        self.capture(who, 0 if roof % 3 == 0 else 1, "installation", body)

    @rule(who=pick, roof=pick, wrong=pick)
    def send_what_cannot_be(self, who: int, roof: int, wrong: int):
        body = self.leaf("climate", wrong)
        if wrong % 3 == 0:
            body["rh_pct"] = 170
        elif wrong % 3 == 1:
            body["wind"] = 3
        self.capture(who, roof, "climate", body, elsewhere=wrong % 3 == 2)

    @rule(who=pick, roof=pick, value=pick)
    def capture_with_a_wrong_clock(self, who: int, roof: int, value: int):
        ahead = self.now + timedelta(days=300)
        self.capture(who, roof, "climate", self.leaf("climate", value), at=ahead)

    # What can go wrong between the phone and the register.

    @rule(who=pick, which=pick, keeps_id=st.booleans(), changes=st.booleans())
    def send_twice_under_one_id(
        self, who: int, which: int, keeps_id: bool, changes: bool
    ):
        phone = self.phone(who)
        bodies = [each for each in phone.outbox + phone.sent if not each.is_photo]
        if not bodies or not (keeps_id or phone.turn == 0):
            return
        first = bodies[which % len(bodies)]
        told = json.loads(first.raw)
        if changes:
            told["body"]["note"] = f"told again {which % 3}"
        phone.outbox.append(
            Sent(
                id=first.id if keeps_id else self.uuid(),
                raw=json.dumps(told, indent=1 if keeps_id else None).encode(),
                fact_uuids=first.fact_uuids,
            )
        )

    @rule(who=pick, which=pick, reply=st.booleans())
    def deliver_one(self, who: int, which: int, reply: bool):
        phone = self.phone(who)
        if phone.outbox:
            self.send(phone, phone.outbox[which % len(phone.outbox)], reply=reply)

    @rule(who=pick, count=st.integers(1, 5), replies=st.integers(0, 5))
    def deliver_part_of_the_outbox(self, who: int, count: int, replies: int):
        phone = self.phone(who)
        for place, sent in enumerate(phone.outbox[-count:]):
            self.send(phone, sent, reply=place < replies)

    @rule(who=pick, which=pick)
    def deliver_again(self, who: int, which: int):
        phone = self.phone(who)
        if phone.sent:
            self.send(phone, phone.sent[which % len(phone.sent)], reply=True)

    @rule(who=pick)
    def revoke(self, who: int):
        phone = self.phone(who)
        if phone.turn == 0:
            device = phone.pairing.device
            revoke_device(device=device, by=self.world.office, now=self.now)

    @rule(who=pick)
    def pair_anew(self, who: int):
        phone = self.phone(who)
        if phone.turn == 0 and phone.pairing.device.revoked_at:
            phone.turn = 1

    # How it ends.

    def teardown(self) -> None:
        try:
            if self.phones:
                self.compare()
        finally:
            for phone in self.phones:
                for pairing in phone.pairings:
                    pairing.device.revoked_at = pairing.device.revoked_by = None
            transaction.savepoint_rollback(self.savepoint)
            transaction.savepoint_commit(self.savepoint)

    def compare(self) -> None:
        """Hold what is known now against what other orders of the same make known."""
        for phone in self.phones:
            if phone.pairing.device.revoked_at:
                phone.turn = 1
            for sent in list(phone.outbox):
                self.send(phone, sent, reply=True)
            assert not phone.outbox, "a phone that is paired gets everything across"
        assert not unkept(self.acknowledged)
        # Entries hold all that the facts say. The facts themselves and the standings
        # that follow from them are slow to gather: every fifth time.
        judges = self.seed % 5 == 0
        was = snapshot(self.world, judges=judges)
        for order in (self.seed, 3 * self.seed)[: 2 if judges else 1]:
            transaction.savepoint_rollback(self.savepoint)
            replay(reordered(self.deliveries, seed=order))
            now = snapshot(self.world, judges=judges)
            for part, told in was.items():
                assert now[part] == told, f"{part}: {difference(told, now[part])}"

    # How it is done.

    def phone(self, who: int) -> PhoneState:
        return self.phones[who % len(self.phones)]

    def uuid(self) -> UUID:
        self.number += 1
        return UUID(int=(7 << 76) | (2 << 62) | self.number)

    def choose(self, kind: str, which: int) -> tuple[int, str] | None:
        known = self.known.get(kind, [])
        return known[which % len(known)] if known else None

    def leaf(self, kind: str, value: int) -> dict[str, Any]:
        """Return the body of a record that names nothing in its body."""
        bodies: dict[str, dict[str, Any]] = {
            "check": {"step": "hold.dry-and-clean", "answer": "YES", "note": "dry"},
            "climate": {
                "taken_at": f"2026-06-0{1 + value % 3}T09:30:00-04:00",
                "air": 50 + value % 50,
                "surface": 60,
                "rh_pct": 1 + value % 100,
                "temperature_unit": "F",
            },
            "coat_log": {
                "coat": "base",
                "lot": f"L-{value % 3}",
                "thinner_ratio": f"0.0{value % 9}",
                "happened_on": DAYS[0],
            },
            "finding": {
                "severity": ["SERIOUS", "MINOR"][value % 2],
                "cause": "holiday",
                "note": f"spot {value % 4}",
                "happened_on": DAYS[value % 2],
            },
            "moisture": {
                "moisture_pct": value % 100,
                "mode": "PIN",
                "happened_on": DAYS[0],
            },
            "penetration": {
                "label": f"vent {value % 3}",
                "kind": "VENT",
                "x": 3,
                "y": 2,
                "place_unit": "ft",
                "width": 14,
                "length": 14,
                "size_unit": "in",
                "is_detailed": value % 2 == 0,
                "happened_on": DAYS[0],
            },
        }
        return bodies[kind]

    def reading(self, value: int, shot: int) -> dict[str, Any]:
        return {
            "uuid": str(self.uuid()),
            "coat": "base",
            "area_no": 1,
            "spot_no": 1 + value % 5,
            "shot_no": 1 + shot,
            "last_wet": 10 + value % 20,
            "first_dry": 40,
            "unit": "mil",
            "happened_on": DAYS[0],
        }

    def capture(
        self,
        who: int,
        roof: int,
        kind: str,
        body: dict[str, Any],
        *,
        visit: str | None = None,
        at: datetime | None = None,
        elsewhere: bool = False,
    ) -> None:
        """Put one operation on a phone; nothing reaches the register yet."""
        place = roof % len(self.world.roofs)
        if kind == "film":
            uuids = [str(each["uuid"]) for each in body["readings"]]
        else:
            uuids = [str(self.uuid())]
            body = {"uuid": uuids[0], **body}
        told = {
            "kind": kind,
            "roof": str(self.uuid() if elsewhere else self.world.roofs[place].uuid),
            "visit": visit,
            # Before any receipt: whether a clock is ahead must not depend on ours.
            "captured_at": (at or BEGIN).isoformat(),
            "body": body,
        }
        self.known.setdefault(kind, []).extend((place, uuid) for uuid in uuids)
        sent = Sent(
            id=self.uuid(),
            raw=json.dumps(told).encode(),
            fact_uuids=frozenset(uuids),
        )
        self.phone(who).outbox.append(sent)

    def send(self, phone: PhoneState, sent: Sent, *, reply: bool) -> None:
        """Deliver one body; without a reply the phone keeps it and sends it again."""
        self.now += timedelta(minutes=7)
        digest = deliver(phone.pairing, sent, now=self.now)
        if digest is None:
            return
        self.deliveries.append((phone.pairing, sent))
        if reply and digest == sent.sha256:
            self.acknowledged.add((phone.pairing.device.pk, sent.id, digest))
            phone.outbox = [each for each in phone.outbox if each is not sent]
            if sent not in phone.sent:
                phone.sent.append(sent)
