"""Each operation is recorded once, waits for what it names, or is kept aside."""

from __future__ import annotations

import hashlib
import json
from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from fleet.models import (
    Check,
    ClimateReading,
    Cure,
    Exhibit,
    FieldOperation,
    FilmReading,
    Finding,
    LedgerEntry,
    Visit,
)
from fleet.selectors.records import roof_records
from tests.builders import make_roof, make_system
from tests.field.phone import PNG, make_phone, op, reading, uuid_of

pytestmark = [pytest.mark.django_db, pytest.mark.slow]


@pytest.fixture
def phone():
    return make_phone()


@pytest.fixture
def roof():
    return make_roof()


def entries_of(roof):
    return LedgerEntry.objects.filter(roof=roof).exclude(kind="opened")


def begun(phone, roof, **body):
    """Send a visit and return its uuid."""
    visit = op("visit", roof, body=body)
    assert phone.put(visit).status_code == 201
    return uuid_of(visit)


class TestApplied:
    @pytest.mark.parametrize(
        "kind",
        ["climate", "coat_log", "film", "moisture", "adhesion", "penetration", "visit"],
    )
    def test_a_record_becomes_one_entry(self, phone, roof, kind):
        answer = phone.put(op(kind, roof))

        assert answer.status_code == 201, answer.json()
        [entry] = entries_of(roof)
        told = {"seq": entry.seq, "sha256": entry.entry_sha256}
        assert answer.json()["entry"] == told
        assert answer.json()["verdict"] == "APPLIED"

    def test_an_installation_names_its_system(self, phone, roof):
        body = {"system": make_system().code}

        answer = phone.put(op("installation", roof, body=body))

        assert answer.json()["verdict"] == "APPLIED"
        roof.refresh_from_db()
        assert str(roof.started_on) == "2026-05-04"

    def test_the_receipt_has_the_hash_of_the_exact_bytes(self, phone, roof):
        raw = json.dumps(op("climate", roof), indent=3).encode()

        answer = phone.put(raw)

        assert answer.json()["sha256"] == hashlib.sha256(raw).hexdigest()
        assert bytes(FieldOperation.objects.get().raw) == raw

    def test_the_fact_is_by_the_phones_person_in_the_phones_scope(self, phone, roof):
        phone.put(op("climate", roof))

        row = ClimateReading.objects.get()
        assert row.recorded_by == phone.device.user
        assert row.scope == f"device:{phone.device.uuid}"

    def test_many_readings_are_one_entry(self, phone, roof):
        readings = [reading(spot_no=spot) for spot in range(1, 91)]

        phone.put(op("film", roof, body={"readings": readings}))

        assert FilmReading.objects.count() == 90
        assert entries_of(roof).count() == 1

    def test_a_finding_and_its_cure_stand_under_their_visits(self, phone, roof):
        finding = op("finding", roof, visit=begun(phone, roof))
        repair = begun(phone, roof, visit_kind="REPAIR")
        phone.put(finding)

        answer = phone.put(
            op("cure", roof, visit=repair, body={"finding": uuid_of(finding)})
        )

        assert answer.json()["verdict"] == "APPLIED"
        assert Cure.objects.get().finding == Finding.objects.get()

    def test_a_check_keeps_its_answer_and_its_time(self, phone, roof):
        phone.put(op("check", roof, visit=begun(phone, roof)))

        row = Check.objects.get()
        assert (row.step, row.answer) == ("hold.dry-and-clean", "YES")

    def test_a_photo_with_its_bytes_becomes_an_exhibit(self, phone, roof):
        photo = op("photo", roof)
        phone.put_photo(PNG, photo["body"]["photo"])

        answer = phone.put(photo)

        assert answer.json()["verdict"] == "APPLIED"
        row = Exhibit.objects.get()
        assert (row.sha256, row.size_bytes) == (photo["body"]["sha256"], len(PNG))
        assert (row.x_m, row.y_m) == (1, 1)

    def test_a_photo_after_the_work_names_the_one_before(self, phone, roof):
        before = uuid4()
        photo = op("photo", roof, body={"is_before": False, "after_of": str(before)})
        phone.put_photo(PNG, photo["body"]["photo"])

        phone.put(photo)

        assert Exhibit.objects.get().after_of == before

    def test_a_photo_after_itself_is_kept_aside(self, phone, roof):
        photo = op("photo", roof)
        photo["body"]["after_of"] = photo["body"]["uuid"]
        phone.put_photo(PNG, photo["body"]["photo"])

        answer = phone.put(photo)

        assert answer.json()["verdict"] == "KEPT_ASIDE"

    def test_a_signature_keeps_the_signer_as_an_erasable_text(self, phone, roof):
        signed = op("signature", roof)
        phone.put_photo(PNG, signed["body"]["photo"])
        phone.put(signed)

        assert Exhibit.objects.get().caption.body == "Ada Ferrin (owner)"
        assert Exhibit.objects.get().signer_role == "OWNER"
        assert "Ferrin" not in entries_of(roof).get().payload

    def test_an_end_supersedes_the_beginning_and_keeps_its_reference(self, phone, roof):
        first = begun(phone, roof)

        phone.put(op("visit", roof, body={"result": "PASS", "supersedes": first}))

        assert len({row.ref for row in Visit.objects.all()}) == 1

    def test_a_void_correction_strikes_a_reading(self, phone, roof):
        wrong = op("climate", roof)
        phone.put(wrong)

        phone.put(
            op("climate", roof, body={"supersedes": uuid_of(wrong), "void": True})
        )

        assert ClimateReading.objects.filter(is_void=True).count() == 1

    def test_an_unknown_member_is_kept_and_flagged(self, phone, roof):
        answer = phone.put(op("climate", roof, body={"wind_kmh": 12}))

        assert answer.json()["flags"] == ["unknown-field"]
        assert answer.json()["verdict"] == "APPLIED"


class TestSentAgain:
    def test_the_same_bytes_answer_the_same_and_record_nothing(self, phone, roof):
        body, op_id = op("climate", roof), uuid4()
        first = phone.put(body, op_id)

        again = phone.put(body, op_id)

        assert (first.status_code, again.status_code) == (201, 200)
        assert again.json() == first.json()
        assert entries_of(roof).count() == 1

    def test_a_batch_item_is_the_same_as_its_put(self, phone, roof):
        text, op_id = json.dumps(op("climate", roof)), uuid4()
        first = phone.put(text.encode(), op_id)

        answer = phone.batch([{"op_id": str(op_id), "text": text}])

        [result] = answer.json()["results"]
        assert result == {**first.json(), "status": 200}

    def test_another_body_is_a_conflict_and_both_are_kept(self, phone, roof):
        op_id = uuid4()
        phone.put(op("climate", roof), op_id)

        answer = phone.put(op("climate", roof, body={"air": 99}), op_id)

        assert answer.status_code == 409
        assert answer.json()["code"] == "op-conflict"
        assert FieldOperation.objects.filter(op_id=op_id).count() == 2
        assert ClimateReading.objects.get().air == 70

    def test_another_phone_may_use_the_same_operation_id(self, phone, roof):
        op_id = uuid4()
        phone.put(op("climate", roof), op_id)

        answer = make_phone().put(op("climate", roof), op_id)

        assert answer.json()["verdict"] == "APPLIED"

    def test_a_phone_paired_anew_sends_what_it_sent_before(self, phone, roof):
        person, body = phone.device.user, op("visit", roof)
        first = phone.put(body)

        answer = make_phone(person).put(body)

        assert answer.json()["verdict"] == "APPLIED"
        assert answer.json()["entry"] == first.json()["entry"]
        assert Visit.objects.count() == 1

    def test_a_record_id_used_for_something_else_is_kept_aside(self, phone, roof):
        first = op("climate", roof)
        phone.put(first)

        answer = phone.put(
            op("climate", roof, body={"uuid": uuid_of(first), "air": 60})
        )

        assert answer.json()["verdict"] == "KEPT_ASIDE"
        assert answer.json()["reason"]["code"] == "record-conflict"


class TestWaiting:
    def test_a_finding_waits_for_its_visit(self, phone, roof):
        visit = op("visit", roof)
        finding = op("finding", roof, visit=uuid_of(visit))

        answer = phone.put(finding)

        assert answer.status_code == 202
        assert answer.json()["waits_for"] == uuid_of(visit)

    def test_what_waited_is_recorded_when_what_it_names_arrives(self, phone, roof):
        visit = op("visit", roof, body={"visit_kind": "REPAIR"})
        finding = op("finding", roof, visit=uuid_of(visit))
        body = {"finding": uuid_of(finding)}
        cure, op_id = op("cure", roof, visit=uuid_of(visit), body=body), uuid4()
        phone.put(cure, op_id)
        phone.put(finding)

        phone.put(visit)

        assert phone.put(cure, op_id).json()["verdict"] == "APPLIED"
        assert entries_of(roof).count() == 3

    def test_another_phones_visit_frees_it(self, phone, roof):
        visit = op("visit", roof)
        phone.put(op("finding", roof, visit=uuid_of(visit)))

        make_phone().put(visit)

        assert Finding.objects.get().visit == Visit.objects.get()

    def test_a_photo_waits_for_its_bytes(self, phone, roof):
        photo = op("photo", roof)
        waiting = phone.put(photo)

        phone.put_photo(PNG, photo["body"]["photo"])

        assert waiting.status_code == 202
        assert Exhibit.objects.count() == 1

    def test_bytes_that_come_by_the_phone_paired_anew_free_it(self, phone, roof):
        photo = op("photo", roof)
        phone.put(photo)

        make_phone(phone.device.user).put_photo(PNG, photo["body"]["photo"])

        assert Exhibit.objects.count() == 1

    def test_a_correction_waits_for_what_it_corrects(self, phone, roof):
        first = op("climate", roof)
        correction = op("climate", roof, body={"supersedes": uuid_of(first)})
        waiting = phone.put(correction)

        phone.put(first)

        assert waiting.json()["verdict"] == "WAITING"
        assert ClimateReading.objects.count() == 2

    def test_a_record_of_another_roof_is_not_what_it_names(self, phone, roof):
        visit = begun(phone, make_roof())

        answer = phone.put(op("finding", roof, visit=visit))

        assert answer.json()["verdict"] == "WAITING"


KEPT_ASIDE = [
    ("climate", {"rh_pct": 140}, "invalid-value"),
    ("climate", {"air": "NaN"}, "invalid-value"),
    ("climate", {"air": "70.123456"}, "invalid-value"),
    ("climate", {"taken_at": "2026-05-04T09:30:00"}, "invalid-value"),
    ("climate", {"uuid": "7"}, "invalid-value"),
    ("coat_log", {"volume": -1}, "invalid-value"),
    ("coat_log", {"lot": "a\x00b"}, "invalid-value"),
    ("film", {"readings": []}, "invalid-value"),
    ("film", {"readings": [reading(first_dry=4)]}, "invalid-value"),
    ("film", {"readings": [reading(area_no=0)]}, "refused-by-database"),
    ("film", {"readings": [reading(happened_on="1026-05-05")]}, "invalid-value"),
    ("finding", {"x_m": 1, "y_m": None}, "invalid-value"),
    ("finding", {"note": "\ud800"}, "invalid-value"),
    ("installation", {"system": "NO-SUCH"}, "invalid-value"),
    ("penetration", {"label": ""}, "invalid-value"),
    ("visit", {"visit_kind": "PICNIC"}, "invalid-value"),
    ("cure", {"finding": str(uuid4())}, "invalid-value"),
]


class TestKeptAside:
    @pytest.mark.parametrize(("kind", "body", "code"), KEPT_ASIDE)
    def test_what_no_fact_can_be_made_of_is_kept(self, phone, roof, kind, body, code):
        answer = phone.put(op(kind, roof, body=body))

        assert answer.status_code == 200
        assert answer.json()["verdict"] == "KEPT_ASIDE"
        assert answer.json()["reason"]["code"] == code
        assert FieldOperation.objects.get().is_open
        assert not entries_of(roof).exists()

    def test_an_unknown_roof_is_kept(self, phone, roof):
        answer = phone.put(op("climate", roof) | {"roof": str(uuid4())})

        assert answer.json()["reason"]["code"] == "unknown-roof"

    def test_an_unknown_kind_is_kept(self, phone, roof):
        answer = phone.put(op("climate", roof) | {"kind": "weather-balloon"})

        assert answer.json()["verdict"] == "KEPT_ASIDE"
        assert FieldOperation.objects.get().kind == "weather-balloon"

    def test_a_cure_under_an_inspection_is_kept(self, phone, roof):
        visit = begun(phone, roof)
        finding = op("finding", roof, visit=visit)
        phone.put(finding)

        answer = phone.put(
            op("cure", roof, visit=visit, body={"finding": uuid_of(finding)})
        )

        assert answer.json()["reason"]["code"] == "not-a-repair"

    def test_bytes_other_than_the_photo_tells_are_kept(self, phone, roof):
        photo = op("photo", roof, body={"sha256": "0" * 64})
        phone.put_photo(PNG, photo["body"]["photo"])

        answer = phone.put(photo)

        assert answer.json()["reason"]["code"] == "digest-mismatch"

    @pytest.mark.parametrize(
        "raw", [b"", b"[]", b"{", b"\xff\xfe", b'{"a": NaN}', b"[" * 50_000, b'"x"']
    )
    def test_bytes_that_are_no_object_are_kept_and_refused(self, phone, roof, raw):
        answer = phone.put(raw)

        assert answer.status_code == 422
        assert answer.json()["sha256"] == hashlib.sha256(raw).hexdigest()
        assert bytes(FieldOperation.objects.get().raw) == raw

    def test_unreadable_bytes_do_not_take_the_id(self, phone, roof):
        op_id = uuid4()
        phone.put(b"{", op_id)

        answer = phone.put(op("climate", roof), op_id)

        assert answer.json()["verdict"] == "APPLIED"


class TestFlags:
    def test_a_clock_ahead_is_flagged(self, phone, roof):
        ahead = (timezone.now() + timedelta(minutes=6)).isoformat()

        answer = phone.put(op("climate", roof, captured_at=ahead))

        assert answer.json()["flags"] == ["clock-skew"]

    def test_a_clock_a_little_ahead_is_not(self, phone, roof):
        ahead = (timezone.now() + timedelta(minutes=4)).isoformat()

        answer = phone.put(op("climate", roof, captured_at=ahead))

        assert answer.json()["flags"] == []

    def test_two_corrections_of_one_record_are_both_flagged(self, phone, roof):
        first = op("climate", roof)
        phone.put(first)
        one, two = (
            op("climate", roof, body={"air": air, "supersedes": uuid_of(first)})
            for air in (60, 61)
        )
        ids = uuid4(), uuid4()
        phone.put(one, ids[0])

        make_phone().put(two, ids[1])

        flags = [row.flags for row in FieldOperation.objects.filter(op_id__in=ids)]
        assert flags == [["disputed"], ["disputed"]]

    def test_one_visit_told_by_two_phones_is_flagged_on_both(self, phone, roof):
        phone.put(op("visit", roof))

        make_phone().put(op("visit", roof))

        flags = [row.flags for row in FieldOperation.objects.all()]
        assert flags == [["same-visit-twice"], ["same-visit-twice"]]

    def test_one_visit_told_twice_by_one_phone_is_flagged_too(self, phone, roof):
        phone.put(op("visit", roof))

        answer = phone.put(op("visit", roof))

        assert answer.json()["flags"] == ["same-visit-twice"]

    def test_visits_of_two_days_are_not(self, phone, roof):
        phone.put(op("visit", roof))

        answer = phone.put(op("visit", roof, body={"happened_on": "2026-05-20"}))

        assert answer.json()["flags"] == []

    def test_two_installations_of_one_roof_are_disputed(self, phone, roof):
        body = {"system": make_system().code}
        phone.put(op("installation", roof, body=body))

        answer = make_phone().put(op("installation", roof, body=body))

        assert answer.json()["flags"] == ["disputed"]


class TestOnePenetrationTwiceADay:
    @pytest.mark.parametrize("turn", [1, -1])
    def test_what_was_captured_later_counts_whichever_came_first(self, roof, turn):
        told = [
            op(
                "penetration",
                roof,
                body={"uuid": f"{place:08}-0000-7000-8000-000000000000", **detail},
            )
            for place, detail in enumerate([{"is_detailed": False}, {}], start=1)
        ]
        for operation in told[::turn]:
            make_phone().put(operation)

        records = roof_records([roof.pk], known_at=timezone.now())[roof.pk]
        assert [row.is_detailed for row in records.penetrations] == [False, True]


class TestTwoInstallations:
    @pytest.mark.parametrize("turn", [1, -1])
    def test_the_one_furthest_on_counts_whichever_came_first(self, roof, turn):
        system = make_system().code
        told = [
            op("installation", roof, body={"system": system, "completed_on": day})
            for day in (None, "2026-05-06")
        ]
        for operation in told[::turn]:
            make_phone().put(operation)

        roof.refresh_from_db()
        assert str(roof.completed_on) == "2026-05-06"


class TestBytesThatAreNoPicture:
    def test_they_are_kept_and_what_tells_of_them_is_kept_aside(self, phone, roof):
        content = b"a poem about gutters"
        digest = hashlib.sha256(content).hexdigest()
        photo = op("photo", roof, body={"sha256": digest})
        kept = phone.put_photo(content, photo["body"]["photo"])

        answer = phone.put(photo)

        assert kept.json()["sha256"] == digest
        assert answer.json()["reason"]["code"] == "unsupported-file"
