"""Keys of fleets' own programs."""

from __future__ import annotations

import hashlib
import hmac
import json

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet.actions import api_keys
from fleet.actions.api_keys import (
    KeyRefused,
    KeyRevoked,
    TwoSecretsLive,
    key_of,
    make_key,
    revoke_key,
    rotate_key,
)
from fleet.actions.errors import InvalidValue
from fleet.actions.sign_in import TooManyTries
from fleet.errors import NotAllowed, NotFound
from fleet.models import AccessEvent, AccessKind, ApiKey, ApiKeySecret
from fleet.selectors.verification import verify_ledgers
from tests.access.conftest import client_of
from tests.builders import COMPLETED, make_coach, make_edition, make_promised_roof

pytestmark = pytest.mark.django_db
HERE = "192.0.2.10"
JSON = "application/json"


def made(door, clock, **over) -> tuple[ApiKey, str]:
    fields = {
        "owner": door.fleet,
        "name": "Yard sync",
        "rights": ["read"],
        "days": 90,
        "by": door.manager,
        "now": clock.now,
    }
    return make_key(**{**fields, **over})


def program(word: str) -> Client:
    return Client(headers={"Authorization": f"Bearer {word}"})


def known(word: str, clock, address: str = HERE) -> ApiKey:
    return key_of(word=word, address=address, now=clock.now)


@pytest.fixture
def roof(door):
    edition = make_edition(owner_kind="rental_fleet")
    return make_promised_roof(coach=make_coach(owner=door.fleet), edition=edition)


class TestSecret:
    def test_only_its_hash_and_its_beginning_are_kept(self, door, clock):
        _, word = made(door, clock)

        form, prefix, secret = word.split("_", 2)
        row = ApiKeySecret.objects.get()
        assert (form, row.prefix) == ("rr", prefix)
        assert row.secret_sha256 == hashlib.sha256(secret.encode()).hexdigest()
        assert len(secret) == 43  # 32 random bytes in base64

    def test_it_is_compared_in_constant_time(self, door, clock, monkeypatch):
        _, word = made(door, clock)
        compared = []
        monkeypatch.setattr(
            api_keys.hmac,
            "compare_digest",
            lambda a, b, own=hmac.compare_digest: compared.append(len(b)) or own(a, b),
        )

        known(word, clock)

        assert compared == [64]

    def test_a_wrong_secret_costs_what_an_unknown_key_costs(self, door, clock):
        _, word = made(door, clock)

        def asked(sent: str) -> list[str]:
            with (
                CaptureQueriesContext(
                    connection,
                ) as queries,
                pytest.raises(KeyRefused),
            ):
                known(sent, clock)
            return [query["sql"].split(" ")[0] for query in queries]

        asked("rr_warm_up")
        prefix = word.split("_")[1]

        assert asked(f"rr_{prefix}_wrong") == asked("rr_00000000_wrong") == asked("?")

    @pytest.mark.parametrize("sent", ["", "rr", "rr_", "rr__", "rr_\u0663_x", "\x00"])
    def test_what_is_no_key_is_refused(self, db, clock, sent):
        with pytest.raises(KeyRefused):
            known(sent, clock)

    def test_it_expires(self, door, clock):
        _, word = made(door, clock, days=1)
        clock.pass_by(hours=23)
        known(word, clock)

        clock.pass_by(hours=1)

        with pytest.raises(KeyRefused):
            known(word, clock)

    def test_sixty_wrong_ones_are_held_back_and_a_good_one_is_not(self, door, clock):
        _, word = made(door, clock)
        for _ in range(60):
            with pytest.raises(KeyRefused):
                known("rr_no_no", clock)

        with pytest.raises(TooManyTries):
            known("rr_no_no", clock)
        known(word, clock)


class TestRotation:
    def test_two_secrets_are_live_until_the_older_ends(self, door, clock):
        key, first = made(door, clock)
        second = rotate_key(
            key=key, days=90, keep_old_hours=24, by=door.manager, now=clock.now
        )

        assert known(first, clock) == known(second, clock) == key

        clock.pass_by(hours=24)
        assert known(second, clock) == key
        with pytest.raises(KeyRefused):
            known(first, clock)

    def test_a_third_waits(self, door, clock):
        key, _ = made(door, clock)
        told = {"key": key, "days": 90, "keep_old_hours": 24, "by": door.manager}
        rotate_key(**told, now=clock.now)

        with pytest.raises(TwoSecretsLive):
            rotate_key(**told, now=clock.now)

        clock.pass_by(hours=24)
        assert known(rotate_key(**told, now=clock.now), clock) == key

    def test_the_older_can_end_at_once(self, door, clock):
        key, first = made(door, clock)

        rotate_key(key=key, days=90, keep_old_hours=0, by=door.manager, now=clock.now)

        with pytest.raises(KeyRefused):
            known(first, clock)


class TestRevoking:
    def test_it_opens_nothing_any_more(self, door, clock):
        key, word = made(door, clock)

        revoke_key(key=key, by=door.office, now=clock.now)

        with pytest.raises(KeyRefused):
            known(word, clock)
        with pytest.raises(KeyRevoked):
            rotate_key(key=key, days=1, keep_old_hours=0, by=door.office, now=clock.now)


class TestWhoMakesThem:
    def test_the_office_and_the_fleets_managers(self, door, clock):
        for by in (door.office, door.manager, door.colleague):
            assert made(door, clock, by=by)[0].owner == door.fleet

    def test_a_stranger_finds_no_such_fleet(self, door, clock):
        with pytest.raises(NotFound):
            made(door, clock, by=door.stranger)

    def test_neither_technicians_nor_keys_do(self, door, clock):
        key, _ = made(door, clock)
        for by in (door.technician, key.user):
            with pytest.raises(NotAllowed):
                made(door, clock, by=by)

    @pytest.mark.parametrize(
        "over", [{"name": " "}, {"rights": []}, {"days": 0}, {"days": 367}]
    )
    def test_what_is_missing_is_named(self, door, clock, over):
        with pytest.raises(InvalidValue):
            made(door, clock, **over)


class TestThroughTheApi:
    def test_it_reads_within_its_fleet(self, door, clock, roof):
        _, word = made(door, clock)
        other = make_promised_roof()

        answer = program(word).get("/api/v1/roofs")

        assert [each["uuid"] for each in answer.json()["results"]] == [str(roof.uuid)]
        assert program(word).get(f"/api/v1/roofs/{other.uuid}").status_code == 404

    @pytest.mark.parametrize(
        ("rights", "read", "register", "report"),
        [
            (["read"], 200, 403, 403),
            (["write"], 403, 201, 403),
            (["claims"], 403, 403, 201),
            (["read", "write", "claims"], 200, 201, 201),
        ],
    )
    def test_it_does_what_its_rights_say(
        self, door, clock, roof, rights, read, register, report
    ):
        _, word = made(door, clock, rights=rights)
        registered = {"roof": str(roof.uuid), "registered_on": str(COMPLETED)}
        loss = {
            "roof": str(roof.uuid),
            "noticed_on": "2026-05-30",
            "reported_on": "2026-05-31",
            "description": "drip",
        }

        def send(address: str, body: dict) -> int:
            return program(word).post(address, body, content_type=JSON).status_code

        assert program(word).get("/api/v1/coaches").status_code == read
        assert send("/api/v1/registrations", registered) == register
        assert send("/api/v1/claims", loss) == report

    def test_what_it_records_is_recorded_by_it(self, door, clock, roof):
        key, word = made(door, clock, rights=["read", "write"])
        body = {"roof": str(roof.uuid), "registered_on": str(COMPLETED)}

        program(word).post("/api/v1/registrations", body, content_type=JSON)

        assert roof.registrations.order_by("-pk")[0].recorded_by == key.user
        assert verify_ledgers().faults == []

    def test_a_bad_key_is_asked_to_sign_in(self, db):
        answer = program("rr_0000_no").get("/api/v1/me")

        assert answer.status_code == 401
        assert "Bearer" in answer.headers["WWW-Authenticate"]
        assert answer.json()["code"] == "not-authenticated"

    def test_a_key_looks_after_no_keys(self, door, clock):
        _, word = made(door, clock, rights=["read", "write", "claims"])

        for address in ("keys", "users", "invitations", "sessions", "access-events"):
            answer = program(word).get(f"/api/v1/{address}")
            assert (answer.status_code, answer.json()["code"]) == (
                403,
                "key-lacks-right",
            )

    def test_its_life_over_the_api(self, door, clock):
        manager = client_of(door.manager)
        body = {
            "name": "Yard sync",
            "owner": str(door.fleet.uuid),
            "rights": ["read"],
            "days": 30,
        }
        born = manager.post("/api/v1/keys", body, content_type=JSON)
        assert born.status_code == 201
        at = born.headers["Location"]
        first = born.json()["secret"]
        assert program(first).get("/api/v1/me").status_code == 200

        overlap = {"days": 30, "keep_old_hours": 1}
        second = manager.post(f"{at}/rotate", overlap, content_type=JSON).json()[
            "secret"
        ]
        assert program(second).get("/api/v1/me").status_code == 200
        assert client_of(door.stranger).post(f"{at}/revoke").status_code == 404

        revoked = manager.post(f"{at}/revoke")

        assert revoked.json()["revoked_at"]
        assert program(second).get("/api/v1/me").status_code == 401
        kept = json.dumps(manager.get(at).json())
        assert first.split("_", 2)[2] not in kept

    def test_pages_need_a_session(self, door, clock, roof):
        _, word = made(door, clock)

        assert program(word).get(reverse("roof-list")).status_code == 302


class TestUse:
    def test_is_written_once_a_minute(self, door, clock):
        _, word = made(door, clock)
        for _ in range(3):
            known(word, clock)
        clock.pass_by(seconds=61)
        known(word, clock)

        used = AccessEvent.objects.filter(kind=AccessKind.KEY_USED)
        assert used.count() == 2
        assert ApiKeySecret.objects.get().last_used_at == clock.now

    def test_every_change_is_written_down(self, door, clock):
        key, _ = made(door, clock)
        rotate_key(key=key, days=9, keep_old_hours=1, by=door.office, now=clock.now)
        revoke_key(key=key, by=door.office, now=clock.now)
        with pytest.raises(KeyRefused):
            known("rr_0000_no", clock)

        told = list(AccessEvent.objects.order_by("pk").values_list("kind", flat=True))
        assert told == ["KEY_MADE", "KEY_ROTATED", "KEY_REVOKED", "KEY_REFUSED"]


class TestPage:
    def test_the_secret_is_shown_once(self, door, clock):
        client = client_of(door.manager)
        fields = {
            "name": "Yard sync",
            "owner": door.fleet.uuid,
            "rights": ["read"],
            "days": 90,
        }

        shown = client.post(reverse("keys"), fields)

        prefix = ApiKeySecret.objects.get().prefix
        word = shown.text.split(f"rr_{prefix}_")[1].split("<")[0]
        assert known(f"rr_{prefix}_{word}", clock).name == "Yard sync"
        assert word not in client.get(reverse("keys")).text

    def test_it_is_changed_and_revoked_there(self, door, clock):
        key, _ = made(door, clock)
        client = client_of(door.office)

        assert "The secret" in client.post(reverse("key-rotate", args=[key.uuid])).text
        client.post(reverse("key-revoke", args=[key.uuid]))

        assert "Revoked 2026-06-01" in client.get(reverse("keys")).text

    def test_another_fleets_key_is_missing(self, door, clock):
        key, _ = made(door, clock)

        for name in ("key-rotate", "key-revoke"):
            answer = client_of(door.stranger).post(reverse(name, args=[key.uuid]))
            assert answer.status_code == 404

    def test_technicians_have_no_such_page(self, door):
        assert client_of(door.technician).get(reverse("keys")).status_code == 403
