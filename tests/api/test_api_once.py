"""One effect a key: the Idempotency-Key of every POST.

The header and its cases (422 for another request, 409 while one is worked on) follow
the IETF draft "The Idempotency-Key HTTP Header Field" (draft-ietf-httpapi-
idempotency-key-header); the quoted string is RFC 9651, section 3.3.3.
"""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection, transaction
from django.utils import timezone

from fleet.actions.erasure import erase_owner
from fleet.actions.kept_answers import KEPT_FOR, forget_old_answers, hold_key
from fleet.models import KeptAnswer, Owner, Visit
from jobs.models import Run
from tests.api import records
from tests.api.test_api_problems import problem_of

JSON = "application/json"
KEY = '"7c1d-0042"'


def post(client, address: str, body: dict, key: str = KEY, **more):
    headers = {"Idempotency-Key": key}
    return client.post(address, body, content_type=JSON, headers=headers, **more)


def visit(world, **over) -> dict[str, object]:
    return {
        "roof": str(world.roof.uuid),
        "ref": "V-7",
        "kind": "INSPECTION",
        "happened_on": "2025-04-01",
        **over,
    }


class TestTheSameRequestAgain:
    def test_has_one_effect_and_the_same_answer(self, world):
        first = post(world.office, "/api/v1/visits", visit(world))
        second = post(world.office, "/api/v1/visits", visit(world))

        assert (first.status_code, second.status_code) == (201, 201)
        assert second.content == first.content
        assert second.headers["Location"] == first.headers["Location"]
        assert second.headers["Content-Type"] == first.headers["Content-Type"]
        assert second.headers["Idempotency-Replayed"] == "?1"
        assert "Idempotency-Replayed" not in first.headers
        assert Visit.objects.count() == 1

    def test_without_the_header_it_is_two(self, world):
        body = {"name": "Gull Point Hire", "kind": "rental_fleet"}
        for _ in range(2):
            world.office.post("/api/v1/owners", body, content_type=JSON)

        assert Owner.objects.filter(name="Gull Point Hire").count() == 2

    def test_a_bare_key_is_the_quoted_one(self, world):
        post(world.office, "/api/v1/visits", visit(world), key=KEY)
        again = post(world.office, "/api/v1/visits", visit(world), key="7c1d-0042")

        assert again.headers["Idempotency-Replayed"] == "?1"

    def test_another_person_has_keys_of_their_own(self, world):
        post(world.office, "/api/v1/visits", visit(world))
        other = post(world.technician, "/api/v1/visits", visit(world, ref="V-8"))

        assert "Idempotency-Replayed" not in other.headers
        assert Visit.objects.count() == 2

    def test_an_upload_is_compared_by_what_its_form_says(self, world):
        def send(content: bytes):
            file = SimpleUploadedFile("book.xlsx", content)
            return world.office.post(
                "/api/v1/imports",
                {"file": file, "mode": "check"},
                headers={"Idempotency-Key": KEY},
            )

        first, second, other = send(b"one"), send(b"one"), send(b"two")

        assert second.headers["Location"] == first.headers["Location"]
        assert Run.objects.filter(kind="import_workbook").count() == 1
        problem_of(other, 422, "idempotency-key-reused")


class TestAnotherRequestUnderTheKey:
    @pytest.mark.parametrize("over", [{"ref": "V-8"}, {"note": "more"}])
    def test_is_refused_and_does_nothing(self, world, over):
        post(world.office, "/api/v1/visits", visit(world))

        refused = post(world.office, "/api/v1/visits", visit(world, **over))

        problem_of(refused, 422, "idempotency-key-reused")
        assert Visit.objects.count() == 1

    def test_also_at_another_address(self, world):
        owner = {"name": "Silvan Marsh", "kind": "private"}
        post(world.office, "/api/v1/owners", owner)

        refused = post(world.office, "/api/v1/merges", owner)

        problem_of(refused, 422, "idempotency-key-reused")


class TestARefusedRequest:
    def test_keeps_nothing_so_that_the_corrected_one_passes(self, world):
        wrong = post(world.office, "/api/v1/visits", visit(world, kind="PICNIC"))
        right = post(world.office, "/api/v1/visits", visit(world))

        assert (wrong.status_code, right.status_code) == (400, 201)

    def test_a_refusal_inside_the_action_keeps_nothing(self, world):
        body = {"coach": str(world.coach.uuid), "roof_no": 1}

        refused = post(world.office, "/api/v1/roofs", body)

        assert refused.status_code == 409
        assert not KeptAnswer.objects.exists()

    @pytest.mark.parametrize(
        "key", ["", '""', '"a', 'a"b', "\u00e9", "x" * 256, '"\\"']
    )
    def test_a_key_that_cannot_be_one_is_refused(self, world, key):
        refused = post(world.office, "/api/v1/visits", visit(world), key=key)

        problem_of(refused, 400, "invalid-idempotency-key")
        assert not Visit.objects.exists()


class TestKeeping:
    def test_an_erasure_empties_the_answers_and_still_does_nothing_twice(self, world):
        post(world.office, "/api/v1/visits", visit(world, note="kind Ms Marsh"))
        erase_owner(
            owner=world.holder, why="asked", by=world.office_user, now=timezone.now()
        )

        again = post(world.office, "/api/v1/visits", visit(world, note="kind Ms Marsh"))

        problem_of(again, 409, "answer-erased")
        assert Visit.objects.count() == 1

    def test_old_answers_go_and_newer_ones_stay(self, world):
        post(world.office, "/api/v1/visits", visit(world))
        answered_at = KeptAnswer.objects.get().answered_at

        kept = forget_old_answers(now=answered_at + KEPT_FOR)
        gone = forget_old_answers(now=answered_at + KEPT_FOR + timedelta(seconds=1))

        assert (kept, gone) == (0, 1)

    def test_the_key_itself_is_not_kept(self, world):
        post(world.office, "/api/v1/visits", visit(world))

        assert "7c1d" not in str(KeptAnswer.objects.values().get())


@pytest.mark.slow
class TestAtTheSameMoment:
    CALLERS = 12

    def test_twelve_calls_under_one_key_are_one_effect(self, shared_database):
        office = records.person()
        clients = [records.client_of(office) for _ in range(self.CALLERS)]
        gate = threading.Barrier(self.CALLERS)
        body = {"name": "Gull Point Hire", "kind": "rental_fleet"}

        def call(client) -> tuple[int, bytes]:
            gate.wait(timeout=30)
            try:
                while True:
                    told = post(client, "/api/v1/owners", body)
                    if told.status_code not in (409, 503):
                        return told.status_code, told.content
                    assert told.headers["Retry-After"] == "1"
            finally:
                connection.close()

        with ThreadPoolExecutor(self.CALLERS) as pool:
            told = list(pool.map(call, clients))

        assert len(set(told)) == 1
        assert told[0][0] == 201
        assert Owner.objects.filter(name="Gull Point Hire").count() == 1

    def test_a_held_key_is_answered_at_once_on_postgresql(self, shared_database):
        if connection.vendor != "postgresql":
            return  # there the transaction waits, then gives the kept answer
        office = records.person()
        held, done = threading.Event(), threading.Event()

        def hold() -> None:
            with transaction.atomic():
                hold_key(principal=f"user:{office.uuid}", key="7c1d-0042")
                held.set()
                done.wait(timeout=30)
            connection.close()

        holder = threading.Thread(target=hold)
        holder.start()
        held.wait(timeout=30)
        try:
            body = {"name": "Gull Point Hire", "kind": "rental_fleet"}
            told = post(records.client_of(office), "/api/v1/owners", body)
        finally:
            done.set()
            holder.join()

        problem_of(told, 409, "request-in-progress")
        assert told.headers["Retry-After"] == "1"
        assert not Owner.objects.exists()


def test_an_unknown_record_is_missing_under_a_key_too(world):
    missing = post(
        world.office, f"/api/v1/coaches/{uuid4()}/retire", {"retired_on": "2025-01-01"}
    )

    problem_of(missing, 404, "not-found")
