"""Signing in: held back before hashing, told alike, written down."""

from __future__ import annotations

import base64
import threading

import pytest
from django.contrib.auth import hashers
from django.db import connections
from django.test import Client
from django.urls import reverse

from fleet.actions.sign_in import (
    MOST_TRIES,
    SignInRefused,
    TooManyTries,
    check_password,
)
from fleet.models import AccessEvent, AccessKind, SignInTry, TriedBy
from tests.access.conftest import PASSWORD
from tests.builders import NOON, make_user

HERE = "192.0.2.10"
MOST = MOST_TRIES[TriedBy.ACCOUNT]
pytestmark = pytest.mark.django_db


def try_in(name: str, password: str, address: str = HERE, now=NOON):
    return check_password(name=name, password=password, address=address, now=now)


def fail(times: int, name: str = "yarrow", address: str = HERE) -> None:
    for _ in range(times):
        with pytest.raises(SignInRefused):
            try_in(name, "wrong", address)


class TestHeldBack:
    def test_after_ten_wrong_passwords_the_right_one_waits_too(self, door):
        fail(MOST)

        with pytest.raises(TooManyTries) as held:
            try_in("yarrow", PASSWORD)

        assert held.value.detail["retry_after"] == 15 * 60 + 1

    def test_nothing_is_hashed_while_it_waits(self, door, monkeypatch):
        fail(MOST)
        hashed = []
        monkeypatch.setattr(hashers, "check_password", lambda *a, **k: hashed.append(a))

        with pytest.raises(TooManyTries):
            try_in("yarrow", PASSWORD)

        assert hashed == []

    def test_it_ends_by_itself(self, door, clock):
        fail(MOST)
        clock.pass_by(minutes=15)

        assert try_in("yarrow", PASSWORD, now=clock.now) == door.office

    def test_trying_on_does_not_lengthen_it(self, door, clock):
        fail(MOST)
        clock.pass_by(minutes=14)
        with pytest.raises(TooManyTries):
            try_in("yarrow", "wrong", now=clock.now)
        clock.pass_by(minutes=1)

        assert try_in("yarrow", PASSWORD, now=clock.now) == door.office

    def test_a_name_that_nobody_has_is_held_back_alike(self, door):
        fail(MOST, name="nobody-has-this")

        with pytest.raises(TooManyTries):
            try_in("nobody-has-this", "wrong")

    def test_capitals_and_blanks_are_no_way_round(self, door):
        fail(MOST // 2)
        fail(MOST - MOST // 2, name=" YARROW ")

        with pytest.raises(TooManyTries):
            try_in("yarrow", PASSWORD)

    def test_the_right_password_clears_the_account(self, door):
        fail(MOST - 1)
        try_in("yarrow", PASSWORD)

        fail(MOST - 1)

    def test_a_network_is_held_back_whatever_names_it_tries(self, door):
        for number in range(MOST_TRIES[TriedBy.NETWORK]):
            fail(1, name=f"guess-{number}", address=f"192.0.2.{number % 200}")

        with pytest.raises(TooManyTries):
            try_in("yarrow", PASSWORD, "192.0.2.250")
        assert try_in("yarrow", PASSWORD, "198.51.100.4") == door.office

    def test_the_page_says_when(self, door, client):
        fail(MOST)

        answer = client.post(
            reverse("sign-in"), {"username": "yarrow", "password": PASSWORD}
        )

        assert answer.status_code == 429
        assert int(answer.headers["Retry-After"]) > 0
        assert "Too many tries" in answer.text

    def test_so_does_the_api(self, door, client):
        fail(MOST)
        pair = base64.b64encode(f"yarrow:{PASSWORD}".encode()).decode()

        answer = client.get("/api/v1/me", headers={"Authorization": f"Basic {pair}"})

        assert answer.status_code == 429
        assert answer.json()["code"] == "too-many-requests"
        assert int(answer.headers["Retry-After"]) > 0


@pytest.mark.slow
def test_of_many_parallel_tries_exactly_ten_are_judged(shared_database):
    make_user(username="yarrow")
    told: list[type[Exception]] = []

    def guess() -> None:
        try:
            try_in("yarrow", "wrong")
        except (SignInRefused, TooManyTries) as refusal:
            told.append(type(refusal))
        finally:
            connections.close_all()

    threads = [threading.Thread(target=guess) for _ in range(16)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert told.count(SignInRefused) == MOST
    assert told.count(TooManyTries) == 16 - MOST


class TestNoOracle:
    @pytest.mark.parametrize("name", ["yarrow", "nobody-has-this", "dismissed"])
    def test_every_name_gets_the_same_answer(self, door, name):
        make_user(username="dismissed", is_active=False)

        answer = Client().post(
            reverse("sign-in"), {"username": name, "password": "wrong"}
        )

        assert answer.status_code == 200
        assert "The name or the password is not right." in answer.text

    @pytest.mark.parametrize("name", ["yarrow", "nobody-has-this"])
    def test_a_password_is_hashed_for_every_name(self, door, name, monkeypatch):
        hashed = []
        own = hashers.MD5PasswordHasher.encode
        monkeypatch.setattr(
            hashers.MD5PasswordHasher,
            "encode",
            lambda self, *args: hashed.append(args) or own(self, *args),
        )

        with pytest.raises(SignInRefused):
            try_in(name, "wrong")

        assert len(hashed) == 1

    def test_the_name_that_was_tried_is_kept_keyed(self, door):
        fail(1)

        assert not SignInTry.objects.filter(subject__contains="yarrow").exists()


class TestWrittenDown:
    def test_a_sign_in_with_its_address(self, door, client):
        client.post(reverse("sign-in"), {"username": "alder", "password": PASSWORD})

        event = AccessEvent.objects.get()
        assert event.kind == AccessKind.SIGNED_IN
        assert event.user_uuid == door.manager.uuid
        assert event.owner_number == door.fleet.pk
        assert event.address == "127.0.0.1"

    def test_a_refusal_with_the_name_that_was_typed(self, door, client):
        client.post(reverse("sign-in"), {"username": "yar\nrow", "password": "no"})

        event = AccessEvent.objects.get()
        assert (event.kind, event.detail) == (AccessKind.SIGN_IN_FAILED, "yarrow")
        assert event.user_uuid is None

    def test_signing_out(self, door, client):
        client.force_login(door.office)
        client.post(reverse("sign-out"))

        assert AccessEvent.objects.get().kind == AccessKind.SIGNED_OUT
