"""A file that a phone saved is taken in as if the phone had sent it, item by item."""

from __future__ import annotations

import base64
import hashlib
import io
import json
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone

from fleet.actions import field_queue
from fleet.actions.devices import revoke_device
from fleet.actions.field_queue import UnknownPhone, take_queue_file
from fleet.actions.queue_file import CHUNK_BYTES, NotAQueueFile
from fleet.errors import NotAllowed
from fleet.models import ClimateReading, Exhibit, FieldOperation, FieldPhoto
from fleet.store.errors import TooLarge
from tests.builders import make_roof, make_user
from tests.field.phone import PNG, make_phone, make_technician, op, picture

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


def sealed(operation: object, **over: object) -> dict[str, object]:
    """Return an operation as the page saves it."""
    text = json.dumps(operation)
    digest = hashlib.sha256(text.encode()).hexdigest()
    return {"op_id": str(uuid4()), "text": text, "sha256": digest, **over}


def saved_photo(photo: str, content: bytes = PNG, **over: object) -> dict[str, object]:
    return {
        "photo": photo,
        "media_type": "image/png",
        "sha256": hashlib.sha256(content).hexdigest(),
        "base64": base64.b64encode(content).decode(),
        **over,
    }


def file_of(phone, ops=(), photos=()) -> bytes:
    """Spell a saved queue as the page does: no blanks, lists last."""
    head = {"made_at": "2026-05-05T17:00:00-04:00", "device": str(phone.device.uuid)}
    whole = {**head, "technician": None, "ops": list(ops), "photos": list(photos)}
    return json.dumps(whole, separators=(",", ":"), ensure_ascii=False).encode()


def take(content: bytes, by):
    return take_queue_file(
        file=io.BytesIO(content), size_bytes=len(content), by=by, now=timezone.now()
    )


def verdicts(taken) -> list[tuple[str, str]]:
    return [(item.what, item.verdict) for item in taken.items]


class TestTakeQueueFile:
    def test_records_and_photos_are_recorded_as_if_sent(self, phone, roof, office):
        photo = op("photo", roof)
        content = file_of(
            phone,
            [sealed(op("climate", roof)), sealed(photo)],
            [saved_photo(photo["body"]["photo"])],
        )

        taken = take(content, office)

        assert taken.is_all_here
        assert verdicts(taken) == [
            ("operation", "APPLIED"),
            ("operation", "WAITING"),
            ("photo", "RECEIVED"),
        ]
        assert set(FieldOperation.objects.values_list("state", flat=True)) == {
            "APPLIED"
        }
        assert ClimateReading.objects.get().recorded_by == phone.device.user
        assert Exhibit.objects.get().sha256 == hashlib.sha256(PNG).hexdigest()

    def test_the_same_file_again_changes_nothing(self, phone, roof, office):
        photo = op("photo", roof)
        photos = [saved_photo(photo["body"]["photo"])]
        content = file_of(phone, [sealed(photo), sealed(op("climate", roof))], photos)
        take(content, office)

        again = take(content, office)

        assert again.is_all_here
        assert FieldOperation.objects.count() == 2
        assert (Exhibit.objects.count(), FieldPhoto.objects.count()) == (1, 1)

    def test_what_the_phone_still_sends_later_is_known(self, phone, roof, office):
        one = sealed(op("climate", roof))
        take(file_of(phone, [one]), office)

        answer = phone.put(str(one["text"]).encode(), one["op_id"])

        assert (answer.status_code, answer.json()["sha256"]) == (200, one["sha256"])

    def test_a_bad_item_loses_none_of_the_others(self, phone, roof, office):
        altered = sealed(op("climate", roof), sha256="0" * 64)
        nameless = sealed(op("climate", roof), op_id="first")
        content = file_of(
            phone,
            [altered, nameless, "?", sealed([1]), sealed(op("climate", roof))],
            [
                saved_photo(str(uuid4()), base64=""),
                saved_photo(str(uuid4()), base64="%"),
                saved_photo(str(uuid4()), sha256="0" * 64),
                7,
                saved_photo(str(uuid4())),
            ],
        )

        taken = take(content, office)

        assert [verdict for _, verdict in verdicts(taken)] == [
            *["REFUSED"] * 3,
            "KEPT_ASIDE",
            "APPLIED",
            *["REFUSED"] * 4,
            "RECEIVED",
        ]
        assert not taken.is_all_here
        assert ClimateReading.objects.count() == 1
        assert FieldPhoto.objects.count() == 1

    def test_other_bytes_under_a_known_id_are_kept_for_the_office(
        self, phone, roof, office
    ):
        first = sealed(op("climate", roof))
        other = sealed(op("climate", roof), op_id=first["op_id"])
        photo = str(uuid4())

        taken = take(
            file_of(
                phone,
                [first, other],
                [saved_photo(photo), saved_photo(photo, picture(10))],
            ),
            office,
        )

        assert [verdict for _, verdict in verdicts(taken)] == [
            "APPLIED",
            "CONFLICT",
            "RECEIVED",
            "CONFLICT",
        ]
        assert FieldOperation.objects.filter(is_open=True).count() == 1

    def test_a_cut_file_gives_what_came_before_the_cut(self, phone, roof, office):
        content = file_of(phone, [sealed(op("climate", roof)) for _ in range(3)])

        taken = take(content[: content.rindex(b'"op_id"') + 20], office)

        assert (len(taken.items), taken.is_all_here) == (2, False)
        assert "not all of" in taken.cut
        assert ClimateReading.objects.count() == 2

    @pytest.mark.parametrize("shift", range(0, 12))
    def test_pieces_may_end_anywhere_in_a_letter(self, phone, roof, office, shift):
        # Three-byte letters around the end of the first piece that is read.
        finding = op("finding", roof, body={"note": "€" * 900})
        text = json.dumps(finding, ensure_ascii=False)
        one = sealed(finding) | {
            "text": text,
            "sha256": hashlib.sha256(text.encode()).hexdigest(),
        }
        padding = sealed("x" * (CHUNK_BYTES - 2500 + shift))

        taken = take(file_of(phone, [padding, one]), office)

        assert [verdict for _, verdict in verdicts(taken)] == ["KEPT_ASIDE", "APPLIED"]

    def test_a_revoked_phones_work_is_not_lost(self, phone, roof, office):
        revoke_device(device=phone.device, by=office, now=timezone.now())

        taken = take(file_of(phone, [sealed(op("climate", roof))]), office)

        assert verdicts(taken) == [("operation", "APPLIED")]

    @pytest.mark.parametrize(
        "content",
        [
            b"",
            b"[]",
            b"{}",
            b'{"ops":',
            b"\xff\xfe",
            b'{"device":"x",' + b" " * 10_000,
            b'{"device":' + b"[" * 3_000 + b'"ops":[]}',
        ],
    )
    def test_another_file_is_refused_whole(self, content, office):
        with pytest.raises((NotAQueueFile, UnknownPhone)):
            take(content, office)

    def test_a_phone_of_nobody_here_is_refused(self, phone, office):
        content = file_of(phone).replace(str(phone.device.uuid).encode(), b"nobody")

        with pytest.raises(UnknownPhone):
            take(content, office)

    def test_only_the_office_brings_a_file(self, phone):
        with pytest.raises(NotAllowed):
            take(file_of(phone), make_technician())

    def test_it_has_a_largest_size(self, phone, office):
        with pytest.raises(TooLarge):
            take_queue_file(
                file=io.BytesIO(file_of(phone)),
                size_bytes=field_queue.FILE_BYTES_MAX + 1,
                by=office,
                now=timezone.now(),
            )

    def test_more_items_than_a_phone_ever_holds_are_cut(
        self, phone, roof, office, monkeypatch
    ):
        monkeypatch.setattr(field_queue, "OPERATIONS_MAX", 30)
        content = file_of(phone, [sealed(op("climate", roof)) for _ in range(60)])

        taken = take(content, office)

        assert (len(taken.items), taken.is_all_here) == (50, False)


class TestPage:
    def test_the_office_sees_what_became_of_each_item(self, phone, roof, office):
        client = signed_in(office)
        file = SimpleUploadedFile(
            "q.json", file_of(phone, [sealed(op("climate", roof))])
        )

        answer = client.post("/field-files/", {"file": file})

        assert "All of it is here." in answer.content.decode()
        assert "APPLIED" in answer.content.decode()

    def test_another_file_is_answered_at_its_input(self, office):
        file = SimpleUploadedFile("q.json", b"not json")

        answer = signed_in(office).post("/field-files/", {"file": file})

        assert answer.status_code == 422
        assert "not, or not all of" in answer.content.decode()

    def test_technicians_have_no_such_page(self):
        assert signed_in(make_technician()).get("/field-files/").status_code == 403


class TestApi:
    def test_the_office_brings_a_file(self, phone, roof, office):
        file = SimpleUploadedFile(
            "q.json", file_of(phone, [sealed(op("climate", roof))])
        )

        answer = signed_in(office).post("/api/v1/field-queue-files", {"file": file})

        assert answer.status_code == 200, answer.content
        assert answer.json()["is_all_here"] is True
        assert [item["verdict"] for item in answer.json()["items"]] == ["APPLIED"]

    def test_technicians_do_not(self, phone):
        file = SimpleUploadedFile("q.json", file_of(phone))

        answer = signed_in(make_technician()).post(
            "/api/v1/field-queue-files", {"file": file}
        )

        assert answer.status_code == 403


def signed_in(user) -> Client:
    client = Client()
    client.force_login(user)
    return client
