"""The second factor: codes as RFC 6238 makes them, each good once."""

from __future__ import annotations

import base64
import hashlib
from datetime import UTC, datetime, timedelta

import pyotp
import pytest
from django.test import Client
from django.urls import reverse

from fleet.actions.second_factor import (
    CodeRefused,
    begin_factor,
    check_code,
    confirm_factor,
    has_factor,
    sealed,
    unsealed,
)
from fleet.actions.sign_in import TooManyTries
from fleet.models import AccessEvent, AccessKind, RecoveryCode, SecondFactor
from tests.access.conftest import PASSWORD, client_of

pytestmark = pytest.mark.django_db
HERE = "192.0.2.10"
STEP = timedelta(seconds=30)
# RFC 6238, appendix B (2011): time, SHA-1, SHA-256 and SHA-512 codes of eight digits.
# Values typed from memory of the RFC.
PUBLISHED = [
    (59, "94287082", "46119246", "90693936"),
    (1111111109, "07081804", "68084774", "25091201"),
    (1111111111, "14050471", "67062674", "99943326"),
    (1234567890, "89005924", "91819424", "93441116"),
    (2000000000, "69279037", "90698825", "38618901"),
    (20000000000, "65353130", "77737706", "47863826"),
]
# The appendix's seeds, at the length of each hash (erratum 2866): 20, 32, 64 bytes.
SEED = b"12345678901234567890" * 4


@pytest.mark.parametrize(("at", "sha1", "sha256", "sha512"), PUBLISHED)
def test_codes_are_the_published_ones(at, sha1, sha256, sha512):
    def code(length: int, digest) -> str:
        secret = base64.b32encode(SEED[:length]).decode()
        return pyotp.TOTP(secret, digits=8, digest=digest).at(at)

    assert code(20, hashlib.sha1) == sha1
    assert code(32, hashlib.sha256) == sha256
    assert code(64, hashlib.sha512) == sha512


@pytest.mark.parametrize(("at", "sha1"), [(row[0], row[1]) for row in PUBLISHED])
def test_the_register_takes_the_published_codes(door, at, sha1):
    """Six digits are the last six of the published eight."""
    SecondFactor.objects.create(
        user=door.office,
        sealed_secret=sealed(base64.b32encode(SEED[:20]).decode()),
        made_at=datetime.fromtimestamp(0, UTC),
        confirmed_at=datetime.fromtimestamp(0, UTC),
    )

    now = datetime.fromtimestamp(at, UTC)
    check_code(user=door.office, code=sha1[-6:], address=HERE, now=now)


@pytest.fixture
def phone(door, clock) -> pyotp.TOTP:
    """The phone of the office's person, taken in and confirmed a minute ago."""
    made = pyotp.TOTP(begin_factor(user=door.office, now=clock.now))
    confirm_factor(
        user=door.office, code=made.at(clock.now), address=HERE, now=clock.now
    )
    clock.pass_by(minutes=1)
    return made


def check(door, clock, code: str) -> None:
    check_code(user=door.office, code=code, address=HERE, now=clock.now)


class TestCodes:
    def test_one_is_taken_once(self, door, clock, phone):
        code = phone.at(clock.now)
        check(door, clock, code)

        with pytest.raises(CodeRefused):
            check(door, clock, code)

    def test_after_a_later_one_no_earlier_one_is_taken(self, door, clock, phone):
        earlier = phone.at(clock.now)
        check(door, clock, phone.at(clock.now + STEP))

        with pytest.raises(CodeRefused):
            check(door, clock, earlier)

    @pytest.mark.parametrize("off", [-1, 1])
    def test_a_clock_may_be_off_by_one_step(self, door, clock, phone, off):
        clock.pass_by(minutes=1)

        check(door, clock, phone.at(clock.now + off * STEP))

    @pytest.mark.parametrize("off", [-2, 2])
    def test_not_by_two(self, door, clock, phone, off):
        clock.pass_by(minutes=5)

        with pytest.raises(CodeRefused):
            check(door, clock, phone.at(clock.now + off * STEP))

    @pytest.mark.parametrize(
        "code", ["", "12345", "\uff11\uff12\uff13\uff14\uff15\uff16", "abcdef", "\x00"]
    )
    def test_what_is_no_code_is_refused(self, door, clock, phone, code):
        with pytest.raises(CodeRefused):
            check(door, clock, code)

    def test_ten_wrong_ones_are_held_back(self, door, clock, phone):
        for _ in range(10):
            with pytest.raises(CodeRefused):
                check(door, clock, "000000")

        with pytest.raises(TooManyTries):
            check(door, clock, phone.at(clock.now))

    def test_the_secret_is_not_kept_as_it_is(self, door, phone):
        kept = SecondFactor.objects.get().sealed_secret

        assert phone.secret not in kept
        assert unsealed(kept) == phone.secret


class TestRecovery:
    @pytest.fixture
    def codes(self, door, clock) -> list[str]:
        phone = pyotp.TOTP(begin_factor(user=door.office, now=clock.now))
        return confirm_factor(
            user=door.office, code=phone.at(clock.now), address=HERE, now=clock.now
        )

    def test_each_works_once(self, door, clock, codes):
        check(door, clock, codes[0].upper())

        with pytest.raises(CodeRefused):
            check(door, clock, codes[0])
        check(door, clock, codes[1])

    def test_they_are_kept_keyed(self, door, codes):
        kept = set(RecoveryCode.objects.values_list("code_hmac", flat=True))

        assert len(kept) == len(codes) == 10
        assert not kept & {code.replace("-", "") for code in codes}

    def test_using_one_is_written_down(self, door, clock, codes):
        check(door, clock, codes[0])

        assert AccessEvent.objects.filter(kind=AccessKind.RECOVERY_USED).count() == 1


class TestSigningIn:
    def enter(self, to: str = "") -> tuple[Client, object]:
        client = Client()
        fields = {"username": "yarrow", "password": PASSWORD, "next": to}
        return client, client.post(reverse("sign-in"), fields)

    def test_the_password_alone_opens_nothing(self, door, phone):
        client, answer = self.enter()

        assert answer.headers["Location"] == reverse("sign-in-code")
        roofs = client.get(reverse("roof-list"))
        assert roofs.headers["Location"].startswith(reverse("sign-in"))

    def test_the_code_leads_to_what_was_asked_for(self, door, clock, phone):
        client, _ = self.enter(to=reverse("claim-list"))

        answer = client.post(reverse("sign-in-code"), {"code": phone.at(clock.now)})

        assert answer.headers["Location"] == reverse("claim-list")
        assert client.get(reverse("roof-list")).status_code == 200

    def test_a_wrong_code_is_told_beside_the_field(self, door, phone):
        client, _ = self.enter()

        answer = client.post(reverse("sign-in-code"), {"code": "000000"})

        assert 'aria-describedby="code-fault"' in answer.text

    def test_after_ten_minutes_the_password_is_asked_again(self, door, clock, phone):
        client, _ = self.enter()
        clock.pass_by(minutes=11)

        answer = client.post(reverse("sign-in-code"), {"code": phone.at(clock.now)})

        assert answer.headers["Location"] == reverse("sign-in")

    def test_without_a_password_no_code_is_taken(self, door, clock, phone):
        answer = Client().post(reverse("sign-in-code"), {"code": phone.at(clock.now)})

        assert answer.headers["Location"] == reverse("sign-in")

    def test_the_api_takes_no_password_alone(self, door, phone):
        pair = base64.b64encode(f"yarrow:{PASSWORD}".encode()).decode()

        answer = Client().get("/api/v1/me", headers={"Authorization": f"Basic {pair}"})

        assert answer.status_code == 401


class TestPage:
    def test_it_is_set_up_with_a_drawing_and_letters(self, door, clock):
        client, page = client_of(door.office), reverse("second-factor")
        client.post(page, {"step": "begin"})
        shown = client.get(page).text
        secret = unsealed(SecondFactor.objects.get().sealed_secret)
        assert "<svg" in shown
        assert secret[:4] in shown

        told = client.post(
            page, {"step": "confirm", "code": pyotp.TOTP(secret).at(clock.now)}
        )

        assert told.text.count("<li><code>") == 10
        assert has_factor(door.office)
        assert "<li><code>" not in client.get(page).text

    def test_removing_it_needs_a_code(self, door, clock, phone):
        client, page = client_of(door.office), reverse("second-factor")
        client.post(page, {"step": "remove", "code": "000000"})
        assert has_factor(door.office)

        client.post(page, {"step": "remove", "code": phone.at(clock.now)})

        assert not has_factor(door.office)

    def test_the_office_takes_a_lost_one_away_and_it_is_written_down(self, door, clock):
        phone = pyotp.TOTP(begin_factor(user=door.manager, now=clock.now))
        confirm_factor(
            user=door.manager, code=phone.at(clock.now), address=HERE, now=clock.now
        )

        client_of(door.office).post(
            reverse("person-remove-factor", args=[door.manager.uuid])
        )

        assert not has_factor(door.manager)
        event = AccessEvent.objects.get(kind=AccessKind.FACTOR_REMOVED)
        assert event.about_uuid == door.manager.uuid

    def test_a_fleet_manager_takes_none_away(self, door):
        answer = client_of(door.manager).post(
            reverse("person-remove-factor", args=[door.colleague.uuid])
        )

        assert answer.status_code == 403


class TestAskedForByTheOffice:
    @pytest.fixture(autouse=True)
    def asked_for(self, settings):
        settings.REQUIRE_SECOND_FACTOR = True

    def test_every_page_leads_to_setting_it_up(self, door):
        answer = client_of(door.office).get(reverse("roof-list"))

        assert answer.headers["Location"] == reverse("second-factor")
        assert client_of(door.office).get(reverse("second-factor")).status_code == 200

    def test_the_api_says_so(self, door):
        answer = client_of(door.office).get("/api/v1/roofs")

        assert answer.status_code == 403
        assert answer.json()["code"] == "second-factor-needed"

    def test_others_are_not_asked(self, door):
        assert client_of(door.manager).get(reverse("roof-list")).status_code == 200

    def test_once_set_up_everything_opens(self, door, clock):
        client, page = client_of(door.office), reverse("second-factor")
        client.post(page, {"step": "begin"})
        secret = unsealed(SecondFactor.objects.get().sealed_secret)

        client.post(page, {"step": "confirm", "code": pyotp.TOTP(secret).at(clock.now)})

        assert client.get(reverse("roof-list")).status_code == 200
        assert "Remove" not in client.get(page).text

    def test_a_session_begun_without_a_code_opens_nothing(self, door, clock, phone):
        answer = client_of(door.office).get(reverse("roof-list"))

        assert answer.headers["Location"] == reverse("second-factor")
