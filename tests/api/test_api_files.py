"""Lists as files and batches from files: RFC 4180, formulas, and places (RFC 7946).

What begins a formula is common practice, no source: = + - @ tab and line ends.
"""

from __future__ import annotations

import csv
import io

import pytest
from openpyxl import load_workbook

from fleet.api.tables import safe, unsafe
from fleet.models import MoistureReading, Owner
from tests.api import records
from tests.api.test_api_problems import problem_of

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
NASTY = ("=1+1", "+1", "-cmd", "@SUM(A1)", "\tx", "'quoted", 'a "b", c', "née")


def rows_of(response) -> list[list[str]]:
    return list(csv.reader(io.StringIO(response.content.decode(), newline="")))


def owners(world, query: str = "", accept: str = "text/csv"):
    return world.office.get(f"/api/v1/owners{query}", headers={"Accept": accept})


@pytest.fixture
def nasty(world):
    Owner.objects.bulk_create(
        Owner(name=name, kind="private", phone="-5") for name in NASTY
    )
    return world


class TestCsvOut:
    def test_a_list_is_a_line_a_row_under_its_members(self, world):
        response = owners(world)

        assert response.headers["Content-Type"].startswith("text/csv")
        head, *rows = rows_of(response)
        assert head == ["uuid", "kind", "name", "email", "phone", "version"]
        assert len(rows) == Owner.objects.count()

    def test_for_people_no_cell_is_a_formula(self, nasty):
        cells = [cell for row in rows_of(owners(nasty)) for cell in row]

        assert "'=1+1" in cells
        assert not [c for c in cells if c[:1] in "=+@\t\r" and c]
        assert "-5" in cells  # a number is no formula

    def test_for_machines_every_cell_is_exact(self, nasty):
        names = [row[2] for row in rows_of(owners(nasty, "?cells=exact"))]

        assert set(NASTY) <= set(names)

    @pytest.mark.parametrize("text", [*NASTY, "", "'=1", "''=x", "-1.5"])
    def test_what_was_made_safe_can_be_read_back(self, text):
        assert unsafe(safe(text)) == text or text.startswith("'")

    def test_a_narrower_page_leads_on_by_its_link(self, nasty):
        first = owners(nasty, "?page_size=3")

        assert len(rows_of(first)) == 1 + 3
        assert 'rel="next"' in first.headers["Link"]

    def test_a_record_read_with_it_has_names_with_a_dot(self, world):
        response = world.office.get(
            "/api/v1/roofs?expand=coach", headers={"Accept": "text/csv"}
        )

        head, row = rows_of(response)
        assert row[head.index("expanded.coach.unit_no")] == world.coach.unit_no

    def test_an_unknown_word_is_refused_as_a_problem(self, world):
        problem_of(owners(world, "?cells=raw"), 400, "invalid-parameter")

    def test_a_stranger_s_file_holds_its_own_alone(self, world):
        response = world.stranger.get("/api/v1/coaches", headers={"Accept": "text/csv"})

        assert world.coach.unit_no not in response.content.decode()


class TestXlsxOut:
    def test_texts_stay_texts_and_numbers_numbers(self, nasty):
        response = owners(nasty, accept=XLSX)

        sheet = load_workbook(io.BytesIO(response.content)).active
        found = {row[2].value: row for row in sheet.iter_rows(min_row=2)}
        assert {n for n in NASTY if n != "\tx"} <= set(found)
        kinds = {cell.data_type for row in found.values() for cell in row}
        assert "f" not in kinds  # no cell is a formula
        assert found["=1+1"][5].value == 1


class TestCsvIn:
    ADDRESS = "/api/v1/moisture-readings/batch"

    def send(self, world, text: str):
        return world.technician.post(
            self.ADDRESS, text.encode(), content_type="text/csv"
        )

    def test_a_line_is_an_item_and_an_empty_cell_is_left_out(self, world):
        roof = world.roof.uuid
        told = self.send(
            world,
            "roof,moisture_pct,mode,species,is_above_range,happened_on\r\n"
            f"{roof},12.5,PIN,'=fir,true,2025-04-01\r\n"
            f"{roof},14,PIN,,,2025-04-01\r\n"
            f"{roof},lots,PIN,,,2025-04-01\r\n",
        ).json()

        assert [each["status"] for each in told["results"]] == [201, 201, 400]
        first = MoistureReading.objects.order_by("pk").first()
        assert (first.species, first.is_above_range) == ("=fir", True)

    def test_an_exact_file_of_a_list_can_be_sent_again(self, world):
        fields = "uuid,roof,mode,species,happened_on"
        head = "roof,moisture_pct,mode,happened_on"
        self.send(world, f"{head}\r\n{world.roof.uuid},12.5,PIN,2025-04-01\r\n")
        out = world.office.get(
            f"/api/v1/moisture-readings?fields={fields}&cells=exact",
            headers={"Accept": "text/csv"},
        )
        head, row = rows_of(out)
        again = ",".join([*head, "moisture_pct"]) + "\r\n" + ",".join([*row, "12.5"])

        [told] = self.send(world, again).json()["results"]

        assert told["status"] == 200
        assert MoistureReading.objects.count() == 1

    @pytest.mark.parametrize(
        "text", ["a,a\r\n1,2", "a,b\r\n1", "a.b,a\r\n1,2", '"open']
    )
    def test_what_is_no_table_is_refused(self, world, text):
        problem_of(self.send(world, text), 400, "malformed")


class TestPlaces:
    def test_coaches_are_features_the_staff_sees_located(self, world):
        office = world.office.get("/api/v1/coach-places")

        assert office.headers["Content-Type"] == "application/geo+json"
        body = office.json()
        assert body["type"] == "FeatureCollection"
        [feature] = body["features"]
        assert feature["type"] == "Feature"
        assert feature["id"] == str(world.coach.uuid)
        assert feature["geometry"] is None
        assert feature["properties"]["town"] == world.coach.town

    def test_a_stranger_has_none(self, world):
        assert world.stranger.get("/api/v1/coach-places").json()["features"] == []

    def test_it_is_paged(self, world):
        records.coach(world.office_user)

        first = world.office.get("/api/v1/coach-places?page_size=1").json()

        assert len(first["features"]) == 1
        assert len(world.office.get(first["next"]).json()["features"]) == 1
