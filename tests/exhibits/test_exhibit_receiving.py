"""A file is on disk under its hash, then recorded, then acknowledged, once."""

from __future__ import annotations

import errno
import hashlib
import io
import os
from uuid import uuid4

import pytest
from django.conf import settings
from django.test.client import MULTIPART_CONTENT
from PIL import Image

from fleet import store
from fleet.models import Damage, Exhibit, StoredFile
from fleet.selectors.verification import verify_ledgers
from fleet.store.place import place
from tests.api import records
from tests.builders import make_claim, make_roof
from tests.exhibits import pictures
from tests.exhibits.sending import body_of, do_later_work, send, status_of

pytestmark = pytest.mark.django_db


def leftovers() -> list[str]:
    return os.listdir(settings.DATA_DIR / "files" / "incoming")


class TestWhatItShows:
    """Where on the roof, after which photo, signed in which role."""

    def test_an_after_may_come_before_its_before(self, world):
        before, after = uuid4(), uuid4()
        place = {"x_m": "1.2500", "y_m": "0.4000"}

        second = send(
            world.office,
            world.roof,
            pictures.photo(),
            uuid=after,
            after_of=before,
            **place,
        )
        first = send(world.office, world.roof, pictures.PDF, uuid=before, **place)

        assert (second.status_code, first.status_code) == (201, 201), second.content
        told = second.json()
        assert (told["after_of"], told["x_m"]) == (str(before), "1.2500")
        assert verify_ledgers().faults == []

    def test_a_sign_off_names_the_role_of_its_signer(self, world):
        answer = send(
            world.office,
            world.roof,
            pictures.PDF,
            kind="SIGN_OFF",
            signer_role="OWNER",
        )

        assert answer.json()["signer_role"] == "OWNER"
        assert '"signer_role":"OWNER"' in Exhibit.objects.get().entry.payload

    @pytest.mark.parametrize(
        ("facts", "field"),
        [
            ({"x_m": "1.5"}, "y_m"),
            ({"y_m": "1.5"}, "x_m"),
            ({"x_m": "-1", "y_m": "1"}, "x_m"),
            ({"signer_role": "OWNER"}, "signer_role"),
            ({"signer_role": "NEIGHBOUR", "kind": "SIGN_OFF"}, "signer_role"),
            ({"after_of": "yesterday"}, "after_of"),
        ],
    )
    def test_what_cannot_be_is_refused_at_its_member(self, world, facts, field):
        answer = send(world.office, world.roof, pictures.photo(), **facts)

        assert answer.status_code in (400, 422), answer.content
        assert field in answer.content.decode()
        assert not Exhibit.objects.exists()

    def test_it_is_not_the_after_of_itself(self, world):
        uuid = uuid4()

        answer = send(
            world.office, world.roof, pictures.photo(), uuid=uuid, after_of=uuid
        )

        assert answer.status_code in (400, 422), answer.content

    def test_an_entry_without_them_is_what_it_was_before_they_existed(self, world):
        send(world.office, world.roof, pictures.PDF)

        record = Exhibit.objects.get().ledger_record()
        assert record.keys().isdisjoint({"x_m", "y_m", "after_of", "signer_role"})


class TestReceive:
    @pytest.mark.parametrize(
        ("content", "media_type"),
        [
            (pictures.photo(), "image/jpeg"),
            (pictures.encoded(pictures.scene(), "PNG"), "image/png"),
            (pictures.encoded(pictures.scene(), "WEBP"), "image/webp"),
            (pictures.heic(b"MM"), "image/heic"),
            (pictures.PDF, "application/pdf"),
        ],
        ids=["JPEG", "PNG", "WebP", "HEIC", "PDF"],
    )
    def test_every_kind_is_taken_and_kept_as_it_is(self, world, content, media_type):
        answer = send(world.technician, world.roof, content)

        assert answer.status_code == 201, answer.content
        told = answer.json()
        assert told["media_type"] == media_type
        assert told["sha256"] == hashlib.sha256(content).hexdigest()
        assert store.fetch(told["sha256"]) == content
        assert leftovers() == []

    def test_it_stands_in_the_roofs_ledger(self, world):
        send(world.office, world.roof, pictures.photo(), caption="cap seam")

        result = verify_ledgers()
        assert result.faults == []
        assert Exhibit.objects.get().entry.roof == world.roof

    def test_both_clocks_and_the_receipt_are_told(self, world):
        told = send(
            world.office,
            world.roof,
            pictures.photo(),
            device_at="2024-07-05T14:03:30-06:00",
        ).json()

        assert told["taken_at"] == "2024-07-05T20:03:22Z"
        assert told["device_at"] == "2024-07-05T20:03:30Z"
        assert told["received_at"] > told["device_at"]
        assert told["clock_doubts"] == []

    def test_clocks_that_disagree_are_flagged(self, world):
        told = send(
            world.office,
            world.roof,
            pictures.photo(),
            device_at="2024-07-05T15:03:30-06:00",
        ).json()

        assert told["clock_doubts"] == ["TAKEN_AND_DEVICE_DISAGREE"]

    def test_the_same_again_is_the_same(self, world):
        uuid, content = uuid4(), pictures.photo()
        first = send(world.office, world.roof, content, uuid, caption="vent 1")
        second = send(world.office, world.roof, content, uuid, caption="vent 1")

        assert (first.status_code, second.status_code) == (201, 200)
        assert first.json()["entry_seq"] == second.json()["entry_seq"]
        assert Exhibit.objects.count() == 1

    @pytest.mark.parametrize("facts", [{"caption": "another"}, {"kind": "SIGN_OFF"}])
    def test_the_same_id_for_something_else_is_a_conflict(self, world, facts):
        uuid, content = uuid4(), pictures.photo()
        send(world.office, world.roof, content, uuid)

        assert send(world.office, world.roof, content, uuid, **facts).status_code == 409
        other = send(world.office, world.roof, pictures.PDF, uuid)
        assert other.status_code == 409
        assert Exhibit.objects.get().sha256 == hashlib.sha256(content).hexdigest()

    def test_a_file_that_arrives_otherwise_is_refused(self, world):
        answer = send(world.office, world.roof, pictures.photo(), sha256="0" * 64)

        assert (answer.status_code, answer.json()["code"]) == (422, "hash-mismatch")
        assert leftovers() == []

    def test_a_body_that_ends_early_is_refused(self, world):
        body = body_of(world.roof, pictures.photo())
        short = body[: len(body) // 2]

        answer = world.office.generic(
            "PUT",
            f"/api/v1/exhibits/{uuid4()}",
            short,
            content_type=MULTIPART_CONTENT,
            CONTENT_LENGTH=str(len(body)),
            **{"wsgi.input": io.BytesIO(short)},
        )

        assert answer.status_code == 400
        assert not Exhibit.objects.exists()
        assert leftovers() == []

    def test_a_file_too_large_is_refused_while_it_comes(self, world, monkeypatch):
        monkeypatch.setattr("fleet.api.receiving.MAX_FILE_BYTES", 1000)

        answer = send(world.office, world.roof, pictures.photo())

        assert (answer.status_code, answer.json()["code"]) == (413, "too-large")
        assert leftovers() == []

    @pytest.mark.parametrize("call", ["fsync", "replace"])
    def test_a_disk_that_fails_fails_the_upload(self, world, monkeypatch, call):
        def failing(*_args):
            raise OSError(errno.EIO, "input/output error")

        monkeypatch.setattr(f"os.{call}", failing)
        answer = send(world.office, world.roof, pictures.photo())
        monkeypatch.undo()

        assert (answer.status_code, answer.json()["code"]) == (503, "not-kept")
        assert not Exhibit.objects.exists()
        assert leftovers() == []

    @pytest.mark.parametrize("member", ["visit", "finding"])
    def test_a_visit_or_finding_of_nobody_is_refused(self, world, member):
        answer = send(
            world.office, world.roof, pictures.photo(), **{member: str(uuid4())}
        )

        assert answer.status_code == 400

    def test_a_claim_of_another_roof_is_refused(self, world):
        claim = make_claim(make_roof())

        answer = send(world.office, world.roof, pictures.photo(), claim=str(claim.uuid))

        assert answer.status_code == 400
        assert answer.json()["code"] == "invalid-value"

    def test_sending_it_again_heals_a_damaged_file(self, world):
        content = pictures.photo()
        digest = send(world.office, world.roof, content).json()["sha256"]
        path = place().path_of(digest)
        path.write_bytes(b"spoiled")
        StoredFile.objects.update(damage=Damage.DAMAGED)

        send(world.office, world.roof, content)

        assert store.fetch(digest) == content
        assert StoredFile.objects.get(sha256=digest).damage == Damage.NONE


class TestWho:
    @pytest.mark.parametrize(
        ("who", "status"),
        [("technician", 201), ("manager", 403), ("stranger", 403), ("nobody", 401)],
    )
    def test_the_office_and_its_technicians_send(self, world, who, status):
        answer = send(world.who(who), world.roof, pictures.photo())

        assert answer.status_code == status

    @pytest.mark.parametrize(
        ("who", "original", "screen"),
        [
            ("office", 200, 200),
            ("technician", 200, 200),
            ("manager", 403, 200),
            ("stranger", 403, 404),
            ("nobody", 401, 401),
        ],
    )
    def test_owners_see_copies_and_only_staff_the_original(
        self, world, who, original, screen
    ):
        uuid = send(world.office, world.roof, pictures.photo()).json()["uuid"]
        do_later_work()
        address, client = f"/api/v1/exhibits/{uuid}", world.who(who)

        assert status_of(client, f"{address}/original") == original
        assert status_of(client, f"{address}/screen") == screen

    def test_an_owner_reads_neither_caption_nor_place(self, world):
        uuid = send(
            world.office, world.roof, pictures.photo(), caption="gate code 11"
        ).json()["uuid"]

        told = world.manager.get(f"/api/v1/exhibits/{uuid}").json()
        assert (told["caption"], told["latitude"]) == (None, None)
        full = world.office.get(f"/api/v1/exhibits/{uuid}").json()
        assert (full["caption"], full["latitude"]) == ("gate code 11", "40.446194")

    def test_after_a_sale_a_claims_photo_stays_with_who_claimed(self, world):
        claim = make_claim(world.roof, by=world.office_user)
        uuid = send(
            world.office, world.roof, pictures.photo(), claim=str(claim.uuid)
        ).json()["uuid"]
        buyer = records.owner("Third Owner Rentals")
        records.sell(world.coach, buyer, world.office_user)
        new = records.client_of(records.manager_of(buyer))

        assert new.get(f"/api/v1/exhibits/{uuid}").status_code == 404
        if claim.holder == world.holder:
            assert world.manager.get(f"/api/v1/exhibits/{uuid}").status_code == 200


class TestServe:
    @pytest.fixture
    def sent(self, world) -> dict[str, object]:
        told = send(world.office, world.roof, pictures.photo(orientation=6)).json()
        do_later_work()
        return told

    def test_an_original_comes_sealed_and_tagged_with_its_hash(self, world, sent):
        answer = world.office.get(f"/api/v1/exhibits/{sent['uuid']}/original")

        body = b"".join(answer.streaming_content)
        assert hashlib.sha256(body).hexdigest() == sent["sha256"]
        assert answer["ETag"] == f'"{sent["sha256"]}"'
        assert answer["Content-Disposition"].startswith("attachment;")
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert "sandbox" in answer["Content-Security-Policy"]
        assert "private" in answer["Cache-Control"]

    def test_what_is_known_is_not_sent_again(self, world, sent):
        answer = world.office.get(
            f"/api/v1/exhibits/{sent['uuid']}/original",
            headers={"If-None-Match": f'"{sent["sha256"]}"'},
        )

        assert answer.status_code == 304

    @pytest.mark.parametrize(
        ("name", "size"), [("screen", (240, 320)), ("thumbnail", (240, 320))]
    )
    def test_a_copy_is_upright_and_tells_nothing(self, world, sent, name, size):
        answer = world.manager.get(f"/api/v1/exhibits/{sent['uuid']}/{name}")

        body = b"".join(answer.streaming_content)
        with Image.open(io.BytesIO(body)) as image:
            assert image.size == size
            assert dict(image.getexif()) == {}
            assert set(image.info) <= {
                "jfif",
                "jfif_version",
                "jfif_unit",
                "jfif_density",
            }
        for word in (b"Exif", b"camera 1", b"SERIAL", b"Invented", b"ICC_PROFILE"):
            assert word not in body

    def test_a_damaged_original_is_not_served_and_is_shown(self, world, sent):
        path = place().path_of(sent["sha256"])
        path.write_bytes(path.read_bytes()[:-1] + b"\0")

        answer = world.office.get(f"/api/v1/exhibits/{sent['uuid']}/original")

        assert (answer.status_code, answer.json()["code"]) == (500, "file-damaged")
        told = world.office.get(f"/api/v1/exhibits/{sent['uuid']}").json()
        assert told["damage"] == "DAMAGED"

    def test_a_file_without_picture_says_so(self, world):
        uuid = send(world.office, world.roof, pictures.PDF).json()["uuid"]

        answer = world.manager.get(f"/api/v1/exhibits/{uuid}/screen")
        assert (answer.status_code, answer.json()["code"]) == (404, "no-picture")


class TestSeenElsewhere:
    def hints(self, world, exhibit: dict[str, object]) -> list[dict[str, object]]:
        address = f"/api/v1/exhibits/{exhibit['uuid']}/seen-elsewhere"
        return world.office.get(address).json()["results"]

    def test_the_same_file_under_another_claim_is_hinted_at(self, world):
        other = make_roof()
        content = pictures.photo()
        first = send(world.office, world.roof, content).json()
        second = send(world.office, other, content).json()

        [hint] = self.hints(world, second)
        assert (hint["exhibit"], hint["is_same_file"]) == (first["uuid"], True)

    def test_a_picture_that_was_sent_around_is_hinted_at(self, world):
        other = make_roof()
        small = pictures.encoded(pictures.scene().resize((200, 150)), quality=60)
        first = send(world.office, world.roof, pictures.photo()).json()
        second = send(world.office, other, small).json()
        do_later_work()

        [hint] = self.hints(world, second)
        assert (hint["exhibit"], hint["is_same_file"]) == (first["uuid"], False)
        assert hint["distance"] <= 8

    def test_another_picture_is_not(self, world):
        other = make_roof()
        turned = pictures.encoded(pictures.scene().rotate(90, expand=True))
        send(world.office, world.roof, pictures.photo())
        second = send(world.office, other, turned).json()
        do_later_work()

        assert self.hints(world, second) == []

    def test_the_same_roof_may_show_the_same_picture(self, world):
        send(world.office, world.roof, pictures.photo())
        second = send(world.office, world.roof, pictures.photo()).json()

        assert self.hints(world, second) == []
