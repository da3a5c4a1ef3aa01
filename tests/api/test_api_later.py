"""Later work over the API: packets, runs and imports, done by the real handlers."""

from __future__ import annotations

import hashlib
import io
import zipfile
from pathlib import Path
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from jobs.registry import HANDLERS
from jobs.relay import Surroundings, attempt, claim

JSON = "application/json"
SAMPLES = Path(__file__).resolve().parent.parent / "samples"


def work_off() -> None:
    """Do everything that waits, as the runner would."""
    around = Surroundings(
        handlers=HANDLERS,
        clock=timezone.now,
        jitter=lambda: 0.0,
        is_stopping=lambda: False,
    )
    while run := claim(now=timezone.now()):
        attempt(run, around)


@pytest.fixture
def reported(world) -> str:
    body = {
        "roof": str(world.roof.uuid),
        "noticed_on": "2025-03-01",
        "reported_on": "2025-03-02",
        "description": "drip at the vent",
    }
    told = world.manager.post("/api/v1/claims", body, content_type=JSON).json()
    return f"/api/v1/claims/{told['uuid']}"


class TestPackets:
    @pytest.mark.slow
    @pytest.mark.usefixtures("signing_key")
    def test_a_packet_is_asked_for_watched_and_fetched(self, world, reported):
        asked = world.office.post(f"{reported}/packet")
        waiting = world.office.get(asked.headers["Location"])
        work_off()
        done = world.office.get(asked.headers["Location"])

        assert asked.status_code == 202
        assert waiting.headers["Retry-After"] == asked.headers["Retry-After"]
        assert (waiting.json()["state"], done.json()["state"]) == ("NEW", "DONE")
        assert "Retry-After" not in done.headers
        [packet] = world.office.get(f"{reported}/packets").json()["results"]
        fetched = world.office.get(packet["content"])
        # Read to its end a file closes by itself; closing it would end the test's
        # own transaction.
        content = b"".join(fetched.streaming_content)
        assert fetched.headers["Content-Type"] == "application/pdf"
        assert content.startswith(b"%PDF-")
        digest = hashlib.sha256(content).hexdigest()
        assert fetched.headers["ETag"] == f'"{digest}"'
        assert (packet["sha256"], packet["size_bytes"]) == (digest, len(content))
        again = world.office.get(
            packet["content"], headers={"If-None-Match": fetched.headers["ETag"]}
        )
        assert again.status_code == 304
        of_manager = world.manager.get(packet["content"])
        assert of_manager.status_code == 200
        assert b"".join(of_manager.streaming_content) == content
        assert world.stranger.get(packet["content"]).status_code == 404

    def test_asked_twice_it_is_one_run(self, world, reported):
        first, second = (world.office.post(f"{reported}/packet") for _ in range(2))

        assert first.headers["Location"] == second.headers["Location"]

    @pytest.mark.parametrize(
        ("who", "status"), [("technician", 403), ("manager", 403), ("nobody", 401)]
    )
    def test_only_the_office_asks(self, world, reported, who, status):
        assert world.who(who).post(f"{reported}/packet").status_code == status

    def test_a_strangers_claim_has_no_packets(self, world, reported):
        assert world.stranger.get(f"{reported}/packets").status_code == 404

    def test_a_missing_packet_is_a_problem(self, world):
        response = world.office.get(f"/api/v1/packets/{uuid4()}/content")

        assert response.status_code == 404
        assert response.headers["Content-Type"] == "application/problem+json"


class TestRuns:
    def test_a_run_is_seen_by_staff_and_its_owner(self, world, reported):
        run = world.office.post(f"{reported}/packet").headers["Location"]

        statuses = {
            who: world.who(who).get(run).status_code
            for who in ("office", "technician", "manager", "stranger", "nobody")
        }

        assert statuses == {
            "office": 200,
            "technician": 200,
            "manager": 200,
            "stranger": 404,
            "nobody": 401,
        }

    def test_only_a_run_that_was_set_aside_is_tried_again(self, world, reported):
        run = world.office.post(f"{reported}/packet").headers["Location"]

        again = world.office.post(f"{run}/retry")

        assert (again.status_code, again.json()["code"]) == (409, "run-not-set-aside")
        assert world.manager.post(f"{run}/retry").status_code == 403


def workbook() -> SimpleUploadedFile:
    """Return a small workbook: the sample's coaches, zipped."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.write(SAMPLES / "coaches.csv", "coaches.csv")
    return SimpleUploadedFile("fleet.zip", packed.getvalue())


class TestImports:
    def send(self, client, **over: object):
        return client.post("/api/v1/imports", {"file": workbook(), **over})

    @pytest.mark.slow
    def test_a_workbook_is_checked_and_then_committed(self, world):
        checked = self.send(world.office, mode="check").headers["Location"]
        address = checked.replace("/runs/", "/imports/")
        early = world.office.get(f"{address}/report")
        work_off()
        report = world.office.get(f"{address}/report").json()
        before = world.office.get("/api/v1/coaches").json()["results"]
        committed = world.office.post(f"{address}/commit")
        work_off()
        after = world.office.get("/api/v1/coaches?page_size=200").json()["results"]

        assert early.json()["code"] == "import-not-finished"
        assert report["committed"] is False
        assert committed.status_code == 202
        assert len(before) == 1
        assert len(after) == 1 + report["sheets"]["coaches"]["new"]

    @pytest.mark.parametrize(
        ("over", "pointer"),
        [
            ({}, "#/mode"),
            ({"mode": "guess"}, "#/mode"),
            ({"mode": "check", "file": ""}, "#/file"),
        ],
    )
    def test_a_wrong_form_is_named(self, world, over, pointer):
        response = self.send(world.office, **over)

        assert response.status_code == 400
        assert [e["pointer"] for e in response.json()["errors"]] == [pointer]

    def test_another_file_is_no_workbook(self, world):
        file = SimpleUploadedFile("fleet.pdf", b"%PDF-")

        response = self.send(world.office, mode="check", file=file)

        assert (response.status_code, response.json()["code"]) == (
            415,
            "not-a-workbook",
        )

    def test_a_body_of_json_is_refused(self, world):
        response = world.office.post("/api/v1/imports", {}, content_type=JSON)

        assert response.status_code == 415

    @pytest.mark.parametrize("who", ["technician", "manager"])
    def test_only_the_office_imports(self, world, who):
        assert self.send(world.who(who), mode="check").status_code == 403
