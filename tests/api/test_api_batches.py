"""Many readings at once: each is recorded or refused by itself, in one commit."""

from __future__ import annotations

from uuid import uuid4

import pytest

from fleet.models import ClimateReading, FilmReading, LedgerEntry, MoistureReading
from fleet.selectors.verification import verify_ledgers
from tests.api.test_api_facts import reading
from tests.api.test_api_problems import problem_of

JSON = "application/json"
BATCH = "/api/v1/moisture-readings/batch"


def moisture(world, **over) -> dict[str, object]:
    return {
        "roof": str(world.roof.uuid),
        "moisture_pct": "12.5",
        "mode": "PIN",
        "happened_on": "2025-04-01",
        **over,
    }


def send(client, items, address: str = BATCH, **more):
    return client.post(address, {"items": items}, content_type=JSON, **more)


class TestOneByOne:
    def test_what_can_be_recorded_is_and_the_rest_is_told_in_its_place(self, world):
        items = [
            moisture(world),
            moisture(world, mode="GUESS"),
            moisture(world, roof=str(uuid4())),
            moisture(world, moisture_pct="14"),
            {},
        ]

        told = send(world.technician, items)

        assert told.status_code == 207
        body = told.json()
        assert (body["recorded"], body["refused"]) == (2, 3)
        assert [each["status"] for each in body["results"]] == [201, 400, 404, 201, 400]
        assert [each["place"] for each in body["results"]] == [0, 1, 2, 3, 4]
        [problem] = [each["problem"] for each in body["results"] if each["place"] == 1]
        assert problem["errors"][0]["pointer"] == "#/mode"
        assert MoistureReading.objects.count() == 2
        assert verify_ledgers().faults == []

    def test_the_same_batch_again_records_nothing_new(self, world):
        items = [moisture(world, uuid=str(uuid4())) for _ in range(3)]

        first, second = (send(world.technician, items) for _ in range(2))

        assert {each["status"] for each in first.json()["results"]} == {201}
        assert {each["status"] for each in second.json()["results"]} == {200}
        assert MoistureReading.objects.count() == 3

    def test_a_conflict_is_the_item_s_alone(self, world):
        uuid = str(uuid4())
        items = [
            moisture(world, uuid=uuid),
            moisture(world, uuid=uuid, moisture_pct="9"),
        ]

        told = send(world.technician, items).json()["results"]

        assert [each["status"] for each in told] == [201, 409]
        assert told[1]["problem"]["code"] == "record-conflict"

    def test_under_a_key_the_whole_batch_has_one_effect(self, world):
        headers = {"Idempotency-Key": "batch-1"}
        first, second = (
            send(world.technician, [moisture(world)], headers=headers) for _ in range(2)
        )

        assert second.json() == first.json()
        assert MoistureReading.objects.count() == 1

    def test_film_readings_come_with_their_roof(self, world):
        items = [{"roof": str(world.roof.uuid), **reading(shot_no=n)} for n in (1, 2)]

        told = send(world.technician, items, "/api/v1/film-readings/batch")

        assert told.json()["recorded"] == 2
        assert FilmReading.objects.count() == 2

    def test_where_one_is_told_it_can_be_read(self, world):
        address = "/api/v1/climate-readings/batch"
        item = {
            "roof": str(world.roof.uuid),
            "taken_at": "2025-04-01T09:30:00-04:00",
            "air": "61",
            "temperature_unit": "F",
        }

        [told] = send(world.technician, [item], address).json()["results"]

        got = world.office.get(f"/api/v1/climate-readings/{told['record']['uuid']}")
        assert got.json() == {
            **told["record"],
            "recorded_by": got.json()["recorded_by"],
        }
        assert ClimateReading.objects.count() == 1

    @pytest.mark.parametrize("items", [[], [1], "x", [[]], None])
    def test_what_is_no_batch_is_refused_whole(self, world, items):
        before = LedgerEntry.objects.count()

        problem_of(send(world.office, items), 400, "validation-error")
        assert LedgerEntry.objects.count() == before

    def test_more_than_can_be_taken_is_refused_whole(self, world):
        problem_of(send(world.office, [{}] * 501), 400, "validation-error")

    def test_a_manager_records_none(self, world):
        problem_of(send(world.manager, [moisture(world)]), 403, "not-allowed")


def test_later_work_says_that_it_was_preferred(world):
    address = f"/api/v1/roofs/{world.roof.uuid}/certificate"

    asked = world.office.post(address, headers={"Prefer": "respond-async, wait=5"})
    plain = world.office.post(address)

    if asked.status_code == 202:
        assert asked.headers["Preference-Applied"] == "respond-async"
    assert "Preference-Applied" not in plain.headers
