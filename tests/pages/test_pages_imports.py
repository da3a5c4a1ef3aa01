"""A workbook sent on a page: checked, looked at, brought in."""

from __future__ import annotations

from html import unescape
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from fleet.models import Coach
from jobs import relay
from jobs.models import Run
from jobs.tasks import surroundings

SAMPLES = Path(__file__).parent.parent / "samples"
HTMX = {"HX-Request": "true"}
SHEETS = ("systems.json", "terms.json", "coaches.csv")


def sheets(*names: str) -> list[SimpleUploadedFile]:
    return [SimpleUploadedFile(name, (SAMPLES / name).read_bytes()) for name in names]


def sent(client, *names: str) -> Run:
    client.post("/imports/check", {"workbook": sheets(*names)})
    relay.sweep(surroundings())
    return Run.objects.latest("pk")


class TestCheck:
    def test_single_sheets_are_checked_as_one_workbook(self, world):
        run = sent(world.office, *SHEETS)

        text = world.office.get(f"/imports/{run.uuid}/").text

        assert "Checked. Nothing is brought in yet." in text
        assert not Coach.objects.filter(unit_no="HL-0001").exists()

    def test_a_refused_row_is_shown_with_its_place_and_reason(self, world):
        run = sent(world.office, *SHEETS, "roofs.csv", "visits.csv")

        page = world.office.get(f"/imports/{run.uuid}/")

        # The two of samples/expected.json that stand in these sheets.
        refused = page.context["report"]["refused"]
        assert len(refused) == 2
        for row in refused:
            assert f"{row['file']} {row['row']}" in page.text
            assert row["reason"] in unescape(page.text)

    def test_a_picture_is_refused_with_what_to_send(self, world):
        picture = SimpleUploadedFile("roof.png", b"\x89PNG\r\n\x1a\n")

        answer = world.office.post("/imports/check", {"workbook": picture})

        assert answer.status_code == 400
        assert "roof.png is no sheet." in answer.text

    def test_no_file_is_told_so(self, world):
        answer = world.office.post("/imports/check", {})

        assert answer.status_code == 400
        assert "Choose a workbook" in answer.text


class TestCommit:
    def test_brings_in_what_was_checked(self, world):
        run = sent(world.office, *SHEETS)

        answer = world.office.post(f"/imports/{run.uuid}/commit", follow=True)
        relay.sweep(surroundings())

        assert answer.status_code == 200
        assert Coach.objects.filter(unit_no="HL-0001").exists()

    def test_waits_for_the_check_to_end(self, world):
        world.office.post("/imports/check", {"workbook": sheets(*SHEETS)})
        run = Run.objects.latest("pk")

        answer = world.office.post(f"/imports/{run.uuid}/commit")

        assert answer.status_code == 409


class TestProgress:
    def test_htmx_gets_the_progress_alone_while_it_waits(self, world):
        world.office.post("/imports/check", {"workbook": sheets(*SHEETS)})
        run = Run.objects.latest("pk")

        answer = world.office.get(f"/imports/{run.uuid}/", headers=HTMX)

        assert "<html" not in answer.text
        assert "Waiting for its turn." in answer.text

    def test_htmx_loads_the_page_anew_once_it_has_ended(self, world):
        run = sent(world.office, *SHEETS)

        answer = world.office.get(f"/imports/{run.uuid}/", headers=HTMX)

        assert answer.headers["HX-Refresh"] == "true"


class TestWhoMayImport:
    @pytest.mark.parametrize("who", ["technician", "manager"])
    def test_only_the_office(self, world, who):
        assert getattr(world, who).get("/imports/").status_code == 403
        answer = getattr(world, who).post("/imports/check", {})
        assert answer.status_code == 403

    def test_the_list_has_a_constant_number_of_queries(
        self, world, django_assert_max_num_queries
    ):
        for _ in range(3):
            world.office.post("/imports/check", {"workbook": sheets("terms.json")})

        with django_assert_max_num_queries(6):
            assert world.office.get("/imports/").text.count("/imports/") >= 4
