"""Facts sent by programs: once, whole, corrected by new ones, each in its role."""

from __future__ import annotations

from uuid import uuid4

import pytest

JSON = "application/json"
FACTS = {
    "installations": {
        "system": "HARDTOP-2",
        "substrate": "ALUMINIUM",
        "started_on": "2024-06-02",
    },
    "penetrations": {
        "label": "vent 1",
        "kind": "VENT",
        "x": "5",
        "y": "4",
        "place_unit": "ft",
        "width": "14",
        "length": "14",
        "size_unit": "in",
        "is_detailed": True,
        "happened_on": "2024-06-03",
    },
    "alterations": {"happened_on": "2025-02-01", "note": "solar foot"},
    "visits": {
        "ref": "V90001",
        "kind": "INSPECTION",
        "happened_on": "2025-06-03",
        "result": "PASS",
    },
    "findings": {"happened_on": "2025-06-03", "severity": "MINOR", "note": "a crack"},
    "coat-logs": {
        "coat": "base",
        "lot": "B203",
        "volume": "3.72",
        "volume_unit": "gal",
        "happened_on": "2024-06-03",
    },
    "moisture-readings": {
        "moisture_pct": "12.5",
        "mode": "PIN",
        "happened_on": "2024-06-01",
    },
    "adhesion-readings": {
        "method": "TAPE_X",
        "grade": 5,
        "happened_on": "2024-06-20",
    },
    "climate-readings": {
        "taken_at": "2024-06-03T09:30:00-04:00",
        "air": "68",
        "surface": "77",
        "temperature_unit": "F",
        "rh_pct": "55",
    },
    "registrations": {"registered_on": "2024-06-10"},
}
RECORDED_BY_STAFF = [noun for noun in FACTS if noun != "registrations"]


def send(client, noun: str, world, **more: object):
    body = {"roof": str(world.roof.uuid), **FACTS[noun], **more}
    return client.post(f"/api/v1/{noun}", body, content_type=JSON)


@pytest.mark.parametrize("noun", FACTS)
class TestEveryFact:
    def test_the_same_uuid_and_body_is_the_same_record(self, world, noun):
        uuid = str(uuid4())

        first = send(world.office, noun, world, uuid=uuid)
        again = send(world.office, noun, world, uuid=uuid)

        assert (first.status_code, again.status_code) == (201, 200), first.content
        assert first.json() == again.json()
        assert world.office.get(first.headers["Location"]).json() == first.json()

    def test_a_stranger_neither_records_nor_reads_it(self, world, noun):
        recorded = send(world.office, noun, world)
        refused = send(world.stranger, noun, world)

        assert refused.status_code == (404 if noun == "registrations" else 403)
        assert world.stranger.get(recorded.headers["Location"]).status_code == 404
        assert world.stranger.get(f"/api/v1/{noun}").json()["results"] == []

    def test_a_missing_roof_is_refused(self, world, noun):
        response = send(world.office, noun, world, roof=str(uuid4()))

        assert response.status_code == 404


@pytest.mark.parametrize("noun", RECORDED_BY_STAFF)
def test_a_technician_records_and_a_manager_does_not(world, noun):
    assert send(world.technician, noun, world).status_code == 201
    assert send(world.manager, noun, world).status_code == 403


def test_a_manager_registers_the_fleets_own_coverage(world):
    assert send(world.manager, "registrations", world).status_code == 201


def test_a_manager_corrects_nothing(world):
    response = send(world.manager, "registrations", world, supersedes=str(uuid4()))

    assert response.status_code == 403


class TestValues:
    def test_climate_is_kept_raw_and_in_si(self, world):
        told = send(world.office, "climate-readings", world).json()

        # 68 °F is 20 °C and 77 °F is 25 °C, exactly (NIST SP 811, B.8).
        assert (told["air"], told["air_c"]) == ("68.00", "20.000000")
        assert told["surface_c"] == "25.000000"
        assert told["rh_ratio"] == "0.5500"
        assert told["happened_on"] == "2024-06-03"
        assert told["offset_minutes"] == -240

    def test_a_lot_leads_to_its_log(self, world):
        send(world.office, "coat-logs", world)

        found = world.office.get("/api/v1/coat-logs?lot=B203").json()["results"]

        # 1 US gallon is 3.785411784 l, exactly (NIST SP 811, B.8).
        assert [row["volume_ml"] for row in found] == ["14081.73"]

    @pytest.mark.parametrize(
        ("noun", "member", "value"),
        [
            ("climate-readings", "air", "400"),
            ("climate-readings", "taken_at", "2024-06-03T09:30:00"),
            ("penetrations", "width", "0"),
            ("penetrations", "x", "9999"),
            ("moisture-readings", "moisture_pct", "101"),
            ("adhesion-readings", "grade", 6),
            ("coat-logs", "volume", "-1"),
            ("visits", "kind", "HOLIDAY"),
            ("installations", "system", "NONE-1"),
            ("findings", "visit", "11111111-1111-4111-8111-111111111111"),
            ("findings", "x_m", "1"),
        ],
    )
    def test_a_wrong_value_is_named(self, world, noun, member, value):
        response = send(world.office, noun, world, **{member: value})

        assert response.status_code == 400, response.content
        pointer = "#/y_m" if member == "x_m" else f"#/{member}"
        assert [e["pointer"] for e in response.json()["errors"]] == [pointer]


class TestCorrections:
    def test_another_body_under_one_uuid_is_a_conflict(self, world):
        uuid = str(uuid4())
        send(world.office, "registrations", world, uuid=uuid)

        other = send(
            world.office,
            "registrations",
            world,
            uuid=uuid,
            registered_on="2024-06-11",
        )

        assert other.status_code == 409
        assert other.json()["code"] == "record-conflict"

    def test_a_correction_marks_what_it_corrects(self, world):
        first = send(world.office, "registrations", world).json()
        send(world.office, "registrations", world, supersedes=first["uuid"])

        url = "/api/v1/registrations"
        told = world.office.get(url, {"is_corrected": "true"}).json()["results"]

        assert [row["uuid"] for row in told] == [first["uuid"]]

    def test_striking_nothing_is_refused(self, world):
        response = send(world.office, "registrations", world, is_void=True)

        assert response.json()["errors"][0]["pointer"] == "#/supersedes"

    def test_only_the_office_settles(self, world):
        mark = {"settles": True, "supersedes": str(uuid4())}

        assert send(world.technician, "findings", world, **mark).status_code == 403
        assert send(world.office, "findings", world, **mark).status_code == 201


class TestVisits:
    def test_a_visit_brings_its_findings_once(self, world):
        whole = {
            "uuid": str(uuid4()),
            "result": "FAIL",
            "findings": [{"severity": "SERIOUS", "note": "split at the vent"}],
        }

        first = send(world.technician, "visits", world, **whole)
        again = send(world.technician, "visits", world, **whole)
        other = {**whole, "findings": [{"severity": "NOTE"}]}
        changed = send(world.technician, "visits", world, **other)

        statuses = [r.status_code for r in (first, again, changed)]
        assert statuses == [201, 200, 409]
        found = world.office.get("/api/v1/findings").json()["results"]
        assert [(f["visit"], f["note"]) for f in found] == [
            (first.json()["uuid"], "split at the vent")
        ]

    def test_a_repair_cures_a_finding_and_an_inspection_does_not(self, world):
        finding = send(world.office, "findings", world).json()["uuid"]

        looked = send(world.office, "visits", world, cures=[finding])
        repaired = send(
            world.office, "visits", world, kind="REPAIR", result="NONE", cures=[finding]
        )

        assert (looked.status_code, repaired.status_code) == (409, 201)
        cures = world.office.get("/api/v1/cures", {"finding": finding}).json()
        assert len(cures["results"]) == 1

    def test_a_taken_reference_is_a_conflict(self, world):
        send(world.office, "visits", world)

        again = send(world.office, "visits", world)

        assert (again.status_code, again.json()["code"]) == (409, "visit-known")


def reading(**over: object) -> dict[str, object]:
    return {
        "coat": "base",
        "area_no": 1,
        "spot_no": 1,
        "shot_no": 1,
        "last_wet": "28",
        "first_dry": "30",
        "unit": "mil",
        "happened_on": "2024-06-03",
        **over,
    }


class TestFilmRounds:
    def send(self, client, world, *readings: dict[str, object]):
        body = {"roof": str(world.roof.uuid), "readings": list(readings)}
        return client.post("/api/v1/film-readings", body, content_type=JSON)

    def test_a_round_is_recorded_in_its_order(self, world):
        dry = {
            "method": "EDDY_CURRENT",
            "dry_value": "12.5",
            "last_wet": None,
            "first_dry": None,
        }

        told = self.send(
            world.technician, world, reading(), reading(spot_no=2, **dry)
        ).json()["readings"]

        # 1 mil is 25.4 µm, exactly.
        assert told[0]["last_wet_um"] == "711.2000"
        assert told[1]["dry_um"] == "317.5000"
        assert told[0]["entry_seq"] == told[1]["entry_seq"]

    def test_one_refused_reading_refuses_the_round_and_is_named(self, world):
        response = self.send(
            world.technician, world, reading(), reading(shot_no=2, first_dry="3")
        )

        assert response.status_code == 400
        pointers = [e["pointer"] for e in response.json()["errors"]]
        assert pointers == ["#/readings/1/first_dry"]
        assert world.office.get("/api/v1/film-readings").json()["results"] == []

    def test_a_shape_is_named_by_its_place(self, world):
        response = self.send(world.technician, world, reading(), reading(coat="tar"))

        pointers = [e["pointer"] for e in response.json()["errors"]]
        assert pointers == ["#/readings/1/coat"]

    def test_an_id_stands_once_in_a_round(self, world):
        uuid = str(uuid4())

        response = self.send(
            world.technician, world, reading(uuid=uuid), reading(uuid=uuid, shot_no=2)
        )

        pointers = [e["pointer"] for e in response.json()["errors"]]
        assert pointers == ["#/readings/1/uuid"]

    def test_more_than_five_hundred_are_refused(self, world):
        response = self.send(world.technician, world, *[reading()] * 501)

        assert response.status_code == 400

    def test_a_manager_reads_no_gauge(self, world):
        assert self.send(world.manager, world, reading()).status_code == 403
