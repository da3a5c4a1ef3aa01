"""The office settles what phones left open, pairs and revokes phones, plans visits."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.db import DatabaseError, transaction
from django.test import Client
from django.utils import timezone

from fleet.actions.erasure import erase_owner
from fleet.actions.field_settle import (
    NothingToSettle,
    StillRefused,
    apply_as_is,
    dismiss,
)
from fleet.models import (
    Booking,
    ClimateReading,
    FieldDevice,
    FieldOperation,
    Finding,
)
from fleet.selectors.records import roof_records
from tests.builders import (
    make_manager,
    make_owner,
    make_promised_roof,
    make_roof,
    make_user,
)
from tests.field.phone import make_phone, make_technician, op, uuid_of

pytestmark = [pytest.mark.django_db, pytest.mark.slow]


@pytest.fixture
def phone():
    return make_phone()


@pytest.fixture
def roof():
    return make_roof()


@pytest.fixture
def office():
    return make_user()


def signed_in(user) -> Client:
    client = Client()
    client.force_login(user)
    return client


def act(how, operation, office, why="looked at it"):
    how(operation=operation, why=why, by=office, now=timezone.now())
    operation.refresh_from_db()


class TestRecordAsItIs:
    def test_a_roof_opened_meanwhile_takes_what_was_kept(self, phone, office, roof):
        later = uuid4()
        phone.put(op("climate", roof) | {"roof": str(later)})
        make_roof(uuid=later)
        kept = FieldOperation.objects.get()

        act(apply_as_is, kept, office)

        assert (kept.state, kept.is_open) == ("APPLIED", False)
        assert ClimateReading.objects.get().recorded_by == phone.device.user

    def test_what_is_still_wrong_is_refused_and_stays_open(self, phone, office, roof):
        phone.put(op("climate", roof, body={"rh_pct": 140}))
        kept = FieldOperation.objects.get()

        with pytest.raises(StillRefused, match="Humidity"):
            act(apply_as_is, kept, office)

        kept.refresh_from_db()
        assert kept.is_open

    def test_another_body_takes_the_place_of_the_first(self, phone, office, roof):
        first, op_id = op("climate", roof), uuid4()
        phone.put(first, op_id)
        other = op("climate", roof, body={"uuid": uuid_of(first), "air": 61})
        phone.put(other, op_id)

        act(apply_as_is, FieldOperation.objects.get(state="CONFLICT"), office)

        [row] = roof_records([roof.pk], known_at=timezone.now())[roof.pk].climate
        assert row.air == 61

    def test_one_of_two_corrections_counts_from_now_on(self, phone, office, roof):
        first = op("climate", roof)
        phone.put(first)
        ids = uuid4(), uuid4()
        for op_id, air in zip(ids, (60, 61), strict=True):
            body = {"air": air, "supersedes": uuid_of(first)}
            phone.put(op("climate", roof, body=body), op_id)

        act(apply_as_is, FieldOperation.objects.get(op_id=ids[1]), office)

        records = roof_records([roof.pk], known_at=timezone.now())[roof.pk]
        assert [row.air for row in records.climate] == [61]
        assert records.disputed == []

    def test_it_is_settled_once(self, phone, office, roof):
        phone.put(op("climate", roof, body={"rh_pct": 140}))
        kept = FieldOperation.objects.get()
        act(dismiss, kept, office)

        with pytest.raises(NothingToSettle):
            act(apply_as_is, kept, office)


class TestDismiss:
    def test_its_bytes_and_the_reason_stay(self, phone, office, roof):
        phone.put(op("climate", roof, body={"rh_pct": 140}))
        kept = FieldOperation.objects.get()

        act(dismiss, kept, office, "the meter was broken")

        assert not kept.is_open
        assert kept.settled_why == "the meter was broken"
        assert b"140" in bytes(kept.raw)

    def test_it_needs_a_reason(self, phone, office, roof):
        phone.put(op("climate", roof, body={"rh_pct": 140}))

        answer = signed_in(office).post(
            f"/field-review/{FieldOperation.objects.get().pk}",
            {"how": "dismiss", "why": " "},
            follow=True,
        )

        assert "Say why" in answer.content.decode()

    def test_what_waited_is_not_recorded_afterwards(self, phone, office, roof):
        visit = op("visit", roof)
        phone.put(op("finding", roof, visit=uuid_of(visit)))
        act(dismiss, FieldOperation.objects.get(), office)

        phone.put(visit)

        assert not Finding.objects.exists()


class TestBytesStay:
    def test_the_database_refuses_other_bytes(self, phone, roof):
        phone.put(op("climate", roof))

        with pytest.raises(DatabaseError, match="never changed"), transaction.atomic():
            FieldOperation.objects.update(raw=b"other")

    def test_the_database_refuses_deletion(self, phone, roof):
        phone.put(op("climate", roof))

        with pytest.raises(DatabaseError, match="never changed"), transaction.atomic():
            FieldOperation.objects.all().delete()

    def test_they_go_with_the_person_they_tell_of(self, phone, office):
        roof = make_promised_roof()
        finding = op("finding", roof, body={"note": "spoke with Ada Ferrin"})
        op_id = uuid4()
        phone.put(finding, op_id)
        holder = roof.coach.holder

        erase_owner(owner=holder, why="asked", by=office, now=timezone.now())

        assert bytes(FieldOperation.objects.get().raw) == b""
        assert phone.put(finding, op_id).json()["verdict"] == "APPLIED"


PAGES = ["/field-review/", "/field-devices/", "/field-bookings/"]


class TestPages:
    @pytest.mark.parametrize("page", PAGES)
    def test_the_office_opens_each(self, office, page):
        assert signed_in(office).get(page).status_code == 200

    def test_a_technician_opens_their_phones_alone(self):
        client = signed_in(make_technician())

        assert [client.get(page).status_code for page in PAGES] == [403, 200, 403]

    @pytest.mark.parametrize("page", PAGES)
    def test_a_fleet_manager_opens_none(self, page):
        manager = make_manager(make_owner())

        assert signed_in(manager).get(page).status_code == 403

    @pytest.mark.parametrize("page", PAGES)
    def test_nobody_is_led_to_the_sign_in(self, page):
        assert Client().get(page).status_code == 302

    def test_both_bodies_of_a_conflict_are_shown(self, phone, office, roof):
        op_id = uuid4()
        phone.put(op("climate", roof, body={"air": 70}), op_id)
        phone.put(op("climate", roof, body={"air": 59}), op_id)

        shown = signed_in(office).get("/field-review/").content.decode()

        assert "&quot;air&quot;: 70" in shown
        assert "&quot;air&quot;: 59" in shown

    def test_a_hostile_body_is_shown_as_text(self, phone, office):
        phone.put(b"<script>alert(1)</script>")

        shown = signed_in(office).get("/field-review/").content.decode()

        assert "<script>alert" not in shown

    def test_a_code_is_made_for_a_technician(self, office):
        person = make_technician()

        answer = signed_in(office).post("/field-devices/", {"person": person.uuid})

        assert len(answer.context["code"]) == 8

    def test_a_technician_makes_no_code_for_another(self):
        other = make_technician()

        answer = signed_in(make_technician()).post(
            "/field-devices/", {"person": other.uuid}
        )

        assert answer.status_code == 404

    def test_the_office_revokes_a_phone(self, phone, office):
        signed_in(office).post(f"/field-devices/{phone.device.uuid}")

        assert FieldDevice.objects.get().revoked_by == office

    def test_a_technician_does_not_revoke_anothers(self, phone):
        client = signed_in(make_technician())

        answer = client.post(f"/field-devices/{phone.device.uuid}")

        assert answer.status_code == 404

    def test_the_office_plans_and_cancels(self, office, roof):
        client = signed_in(office)
        form = {
            "unit_no": roof.coach.unit_no,
            "kind": "INSPECTION",
            "planned_on": "2026-06-09",
        }
        client.post("/field-bookings/", form)
        booking = Booking.objects.get()

        client.post(f"/field-bookings/{booking.uuid}", {"version": 1})

        booking.refresh_from_db()
        assert booking.state == "CANCELLED"

    def test_an_unknown_coach_is_not_planned(self, office):
        form = {"unit_no": "NO-1", "kind": "SURVEY", "planned_on": "2026-06-09"}

        answer = signed_in(office).post("/field-bookings/", form)

        assert "No coach with a roof" in answer.content.decode()
