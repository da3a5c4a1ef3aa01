"""Who may pair a phone, what it takes along, and what it never gets to see."""

from __future__ import annotations

import base64
import hashlib
import json
from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client, RequestFactory
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from fleet.actions.bookings import cancel_booking, move_booking, plan_booking
from fleet.actions.devices import CodeUnknown, make_code, pair, revoke_device
from fleet.api.field.access import BodyCut, body_of
from fleet.errors import NotAllowed
from fleet.models import (
    Booking,
    FieldOperation,
    FieldPhoto,
    LedgerEntry,
    PairingCode,
    Role,
    Technician,
)
from tests.builders import (
    make_manager,
    make_owner,
    make_promised_roof,
    make_roof,
    make_user,
)
from tests.field.phone import PNG, make_phone, make_technician, op, uuid_of

pytestmark = [pytest.mark.django_db, pytest.mark.slow]


def pair_by_http(code: str, client: Client | None = None, **headers: str):
    return (client or Client()).post(
        "/api/field/pair",
        json.dumps({"code": code, "device_name": "phone in the truck"}),
        content_type="application/json",
        headers={"X-Field": "1", **headers},
    )


def book(roof, technician=None, **over):
    person = Technician.objects.filter(user=technician).first() if technician else None
    fields = {"kind": "INSPECTION", "planned_on": date(2026, 6, 2), **over}
    return plan_booking(
        roof=roof, technician=person, by=make_user(), now=timezone.now(), **fields
    )


class TestPairing:
    def test_a_code_is_traded_for_a_cookie_no_script_reads(self):
        person = make_technician()
        code = make_code(user=person, by=make_user(), now=timezone.now())

        answer = pair_by_http(code)

        cookie = answer.cookies["field_device"]
        assert answer.status_code == 201
        assert answer.json()["technician"]["name"] == str(person)
        assert cookie["httponly"]
        assert (cookie["samesite"], cookie["path"]) == ("Strict", "/api/field/")
        assert cookie.value not in answer.content.decode()

    def test_a_code_works_once(self):
        person = make_technician()
        code = make_code(user=person, by=person, now=timezone.now())
        pair_by_http(code)

        assert pair_by_http(code).status_code == 404

    def test_a_code_is_old_after_ten_minutes(self):
        person, now = make_technician(), timezone.now()
        code = make_code(user=person, by=person, now=now)

        with pytest.raises(CodeUnknown):
            pair(
                code=code,
                device_name="late",
                address="",
                now=now + timedelta(minutes=10),
            )

    def test_neither_code_nor_token_is_stored(self):
        person = make_technician()
        code = make_code(user=person, by=person, now=timezone.now())
        device, token = pair(code=code, device_name="p", address="", now=timezone.now())

        assert PairingCode.objects.get().code_hmac != code
        assert device.token_sha256 == hashlib.sha256(token.encode()).hexdigest()

    def test_ten_wrong_codes_close_the_address_for_a_while(self):
        answers = [pair_by_http("WRONG222") for _ in range(11)]

        assert [each.status_code for each in answers] == [404] * 10 + [429]
        assert 0 < int(answers[-1]["Retry-After"]) <= 601

    def test_a_right_code_does_not_get_in_while_it_is_closed(self):
        person = make_technician()
        code = make_code(user=person, by=person, now=timezone.now())
        for _ in range(10):
            pair_by_http("WRONG222")

        assert pair_by_http(code).status_code == 429

    def test_another_address_may_try(self):
        person = make_technician()
        code = make_code(user=person, by=person, now=timezone.now())
        for _ in range(11):
            pair_by_http("WRONG222")

        elsewhere = Client(REMOTE_ADDR="192.0.2.77")

        assert pair_by_http(code, elsewhere).status_code == 201

    def test_a_fleet_manager_pairs_no_phone(self):
        manager = make_manager(make_owner())

        with pytest.raises(NotAllowed):
            make_code(user=manager, by=make_user(), now=timezone.now())

    def test_a_technician_pairs_no_phone_for_another(self):
        with pytest.raises(NotAllowed):
            make_code(user=make_technician(), by=make_technician(), now=timezone.now())


class TestRefused:
    def test_without_a_token(self):
        answer = Client().get("/api/field/work", headers={"X-Field": "1"})

        assert answer.status_code == 401
        assert answer["Content-Type"] == "application/problem+json"
        assert answer.json()["code"] == "device-unknown"

    def test_without_the_header(self):
        phone = make_phone()

        answer = phone.client.get("/api/field/work")

        assert answer.json()["code"] == "field-header-missing"

    def test_a_session_is_no_token(self):
        client = Client()
        client.force_login(make_user())

        answer = client.get("/api/field/work", headers={"X-Field": "1"})

        assert answer.status_code == 401

    def test_a_revoked_phone_sends_nothing(self):
        phone, roof = make_phone(), make_roof()
        revoke_device(device=phone.device, by=make_user(), now=timezone.now())

        answer = phone.put(op("climate", roof))

        assert answer.status_code == 401
        assert answer.json()["code"] == "device-revoked"
        assert not FieldOperation.objects.exists()

    def test_a_phone_whose_person_left(self):
        phone = make_phone()
        phone.device.user.is_active = False
        phone.device.user.save()

        assert phone.get_work().json()["code"] == "device-revoked"

    def test_a_phone_whose_person_became_a_fleet_manager(self):
        phone, person = make_phone(), None
        person = phone.device.user
        person.role, person.owner = Role.FLEET_MANAGER, make_owner()
        person.save()

        assert phone.get_work().status_code == 401

    def test_a_body_that_was_cut_is_not_taken(self):
        request = RequestFactory().put("/", b"{}", content_type="application/json")
        request.META["CONTENT_LENGTH"] = "12"

        with pytest.raises(BodyCut):
            body_of(request, most=100)

    def test_an_operation_over_a_megabyte(self):
        answer = make_phone().put(b" " * (1024 * 1024 + 1))

        assert answer.status_code == 413

    def test_the_wrong_method(self):
        answer = make_phone().client.get(f"/api/field/ops/{uuid4()}")

        assert answer.status_code == 405


class TestSeen:
    def test_it_is_noted_at_most_every_ten_minutes(self, django_assert_num_queries):
        phone = make_phone()
        before = phone.device.last_seen_at

        phone.get_work()

        phone.device.refresh_from_db()
        assert phone.device.last_seen_at == before

    def test_it_is_noted_after_ten(self):
        phone = make_phone()
        old = timezone.now() - timedelta(minutes=11)
        phone.device.last_seen_at = old
        phone.device.save()

        phone.get_work()

        phone.device.refresh_from_db()
        assert phone.device.last_seen_at > old


class TestPhotos:
    def test_bytes_are_acknowledged_by_their_hash(self):
        phone, photo = make_phone(), uuid4()

        first, again = (phone.put_photo(PNG, photo) for _ in range(2))

        assert (first.status_code, again.status_code) == (201, 200)
        assert first.json()["sha256"] == hashlib.sha256(PNG).hexdigest()

    def test_another_digest_than_sent_is_refused(self):
        wrong = base64.b64encode(b"\x00" * 32).decode()
        headers = {"Content-Digest": f"sha-256=:{wrong}:"}

        answer = make_phone().put_photo(PNG, uuid4(), **headers)

        assert answer.json()["code"] == "digest-mismatch"
        assert not FieldPhoto.objects.exists()

    @pytest.mark.parametrize("header", ["", "sha-256=:AAAA:", "md5=:AAAA:"])
    def test_no_digest_is_refused(self, header):
        answer = make_phone().put_photo(PNG, uuid4(), **{"Content-Digest": header})

        assert answer.json()["code"] == "digest-missing"

    def test_other_bytes_under_a_used_id_are_kept_and_refused(self):
        phone, photo = make_phone(), uuid4()
        phone.put_photo(PNG, photo)

        answer = phone.put_photo(PNG + b"!", photo)

        assert answer.json()["code"] == "photo-conflict"
        assert FieldPhoto.objects.count() == 2

    def test_more_than_fifteen_megabytes_is_refused(self):
        answer = make_phone().put_photo(b"\x00" * (15 * 1024 * 1024 + 1), uuid4())

        assert answer.status_code == 413


class TestBatch:
    def test_each_answers_for_itself_in_order(self):
        phone, roof = make_phone(), make_roof()
        good, wrong = op("climate", roof), op("climate", roof, body={"rh_pct": 140})
        texts = [json.dumps(good), "no json", json.dumps(wrong)]
        ops = [{"op_id": str(uuid4()), "text": text} for text in texts]

        results = phone.batch([*ops, {"op_id": "7", "text": "{}"}]).json()["results"]

        assert [each["status"] for each in results] == [201, 422, 200, 400]

    def test_one_that_the_register_fails_on_holds_up_no_other(self, monkeypatch):
        phone, roof = make_phone(), make_roof()
        texts = [json.dumps(op("climate", roof)), json.dumps(op("coat_log", roof))]

        def broken(*, roof_ids, entry_ids, now):
            if LedgerEntry.objects.filter(pk__in=entry_ids, kind="climate").exists():
                raise ZeroDivisionError

        monkeypatch.setattr("warranty.actions.reassess.after_recording", broken)
        ops = [{"op_id": str(uuid4()), "text": text} for text in texts]
        results = phone.batch(ops).json()["results"]

        assert [each["status"] for each in results] == [500, 201]
        assert FieldOperation.objects.count() == 1

    def test_what_waited_for_a_later_one_is_answered_as_recorded(self):
        phone, roof = make_phone(), make_roof()
        visit = op("visit", roof)
        told = [op("finding", roof, visit=uuid_of(visit)), visit]
        ops = [{"op_id": str(uuid4()), "text": json.dumps(each)} for each in told]

        results = phone.batch(ops).json()["results"]

        assert [each["verdict"] for each in results] == ["APPLIED", "APPLIED"]

    def test_a_roof_is_assessed_once_for_a_batch(self, monkeypatch):
        phone, roof = make_phone(), make_roof()
        seen = []
        monkeypatch.setattr(
            "warranty.actions.reassess.after_recording",
            lambda **told: seen.append(told["entry_ids"]),
        )
        ops = [
            {"op_id": str(uuid4()), "text": json.dumps(op("climate", roof))}
            for _ in range(5)
        ]
        phone.batch(ops)

        assert [len(entry_ids) for entry_ids in seen] == [5]

    @pytest.mark.parametrize("ops", [[], [{}] * 201])
    def test_none_or_too_many_are_refused(self, ops):
        assert make_phone().batch(ops).status_code in {400, 413}


class TestWork:
    def test_a_technician_takes_along_their_own_and_nobodys(self):
        phone, other = make_phone(), make_phone()
        roof = make_promised_roof()
        mine = book(roof, phone.device.user)
        nobodys = book(roof, planned_on=date(2026, 6, 9))
        book(roof, other.device.user)

        told = phone.get_work().json()["bookings"]

        assert [each["uuid"] for each in told] == [str(mine.uuid), str(nobodys.uuid)]

    def test_a_cancelled_booking_is_gone(self):
        phone = make_phone()
        booking = book(make_roof())
        cancel_booking(booking=booking, version=1, by=make_user(), now=timezone.now())

        assert phone.get_work().json()["bookings"] == []

    def test_a_roof_comes_with_plan_rule_and_standing(self):
        phone, roof = make_phone(), make_promised_roof()
        book(roof)

        [told] = phone.get_work().json()["bookings"]

        assert told["roof"]["penetrations"][0]["label"] == "vent 1"
        assert told["roof"]["film_rule"]["areas_required"] == 1
        assert told["roof"]["standing"]["word"]

    def test_an_unchanged_list_is_not_sent_again(self):
        phone = make_phone()
        book(make_promised_roof())
        first = phone.get_work()

        again = phone.get_work(**{"If-None-Match": first["ETag"]})

        assert (again.status_code, again.content) == (304, b"")

    def test_no_owner_leaves_through_it(self):
        phone = make_phone()
        owner = make_owner(
            name="Canary Quillfeather", phone="555-0188", email="canary@example.org"
        )
        roof = make_promised_roof()
        roof.coach.holder = owner
        roof.coach.save()
        book(roof)

        told = phone.get_work().content.decode()

        for secret in ("Canary", "555-0188", "canary@", "cents", "owner"):
            assert secret not in told

    def test_the_holder_of_record_is_not_named(self):
        phone = make_phone()
        roof = make_promised_roof()
        name = roof.coach.holder.name
        book(roof)

        assert name not in phone.get_work().content.decode()

    def test_more_bookings_ask_no_more_queries(self, django_assert_max_num_queries):
        phone = make_phone()
        for _ in range(4):
            book(make_promised_roof())

        with django_assert_max_num_queries(45):
            phone.get_work()

    def test_the_zone_of_the_office_is_told_at_pairing(self):
        person = make_technician()
        code = make_code(user=person, by=person, now=timezone.now())

        assert pair_by_http(code).json()["office_zone"] == settings.OFFICE_TIME_ZONE


class TestBookings:
    def test_a_visits_end_marks_its_booking_done(self):
        phone, roof = make_phone(), make_roof()
        booking = book(roof)
        body = {"booking": str(booking.uuid), "booking_version": 1}
        begun = op("visit", roof, body=body)
        phone.put(begun)
        assert Booking.objects.get().state == "PLANNED"

        end = {**body, "result": "PASS", "supersedes": uuid_of(begun)}
        answer = phone.put(op("visit", roof, body=end))

        assert answer.json()["flags"] == []
        assert Booking.objects.get().state == "DONE"

    def test_work_for_a_cancelled_booking_is_recorded_and_flagged(self):
        phone, roof = make_phone(), make_roof()
        booking = book(roof)
        cancel_booking(booking=booking, version=1, by=make_user(), now=timezone.now())

        answer = phone.put(op("visit", roof, body={"booking": str(booking.uuid)}))

        assert answer.json()["verdict"] == "APPLIED"
        assert answer.json()["flags"] == ["booking-changed"]

    def test_work_for_an_older_version_is_recorded_and_flagged(self):
        phone, roof = make_phone(), make_roof()
        booking = book(roof)
        move_booking(
            booking=booking,
            version=1,
            planned_on=date(2026, 6, 4),
            by=make_user(),
            now=timezone.now(),
        )
        body = {"booking": str(booking.uuid), "booking_version": 1}

        answer = phone.put(op("visit", roof, body=body))

        assert answer.json()["flags"] == ["booking-changed"]


class TestWorkListBudget:
    """The list costs as many statements for twelve bookings as for one."""

    def statements(self, phone) -> list[str]:
        with CaptureQueriesContext(connection) as asked:
            assert phone.get_work().status_code == 200
        return [query["sql"] for query in asked]

    def test_more_bookings_cost_no_more_statements(self):
        phone = make_phone()
        book(make_promised_roof())
        self.statements(phone)  # what is asked once and kept, is
        few = self.statements(phone)
        for _ in range(6):
            book(make_promised_roof())
            book(make_roof())

        many = self.statements(phone)

        assert len(many) == len(few)
        assert len(few) <= 30
