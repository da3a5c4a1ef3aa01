"""Old photos find their visit by day and place, and wait where two would do."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from fleet.actions.roofs import record_visit
from fleet.exhibits.matching import (
    Basis,
    Match,
    Unmatched,
    VisitDay,
    distance_m,
    match_photo,
    parsed_place,
    place_text,
)
from fleet.models import Exhibit, MatchedBy, Roof, TrayPhoto, TrayState, Visit
from fleet.selectors.verification import verify_ledgers
from jobs.models import Run
from tests.builders import NOON, make_roof, office
from tests.exhibits import pictures
from tests.exhibits.sending import do_later_work

DAY = date(2024, 7, 5)
LOT = (Decimal("40.446194"), Decimal("-79.982222"))
FAR = (Decimal("40.500000"), Decimal("-79.982222"))


class TestMatchPhoto:
    def matched(self, visits, *, taken_on=DAY, place=LOT) -> Match:
        return match_photo(taken_on=taken_on, place=place, visits=visits)

    def test_the_only_visit_of_the_day(self):
        one = VisitDay(visit=1, happened_on=DAY)

        assert self.matched([one]) == Match(visit=1, basis=Basis.DAY)

    def test_of_several_the_one_nearby(self):
        near = VisitDay(visit=1, happened_on=DAY, places=(LOT,))
        far = VisitDay(visit=2, happened_on=DAY, places=(FAR,))

        assert self.matched([far, near]) == Match(visit=1, basis=Basis.DAY_AND_PLACE)

    def test_two_that_fit_are_none(self):
        both = [VisitDay(visit=n, happened_on=DAY, places=(LOT,)) for n in (1, 2)]

        assert self.matched(both).unmatched is Unmatched.SEVERAL_VISITS_THAT_DAY

    def test_one_left_over_of_several_is_no_proof(self):
        far = VisitDay(visit=1, happened_on=DAY, places=(FAR,))
        unknown = VisitDay(visit=2, happened_on=DAY)

        found = self.matched([far, unknown])
        assert found.unmatched is Unmatched.SEVERAL_VISITS_THAT_DAY

    def test_a_photo_from_elsewhere_is_not_of_the_visit(self):
        far = VisitDay(visit=1, happened_on=DAY, places=(FAR,))

        assert self.matched([far]).unmatched is Unmatched.FAR_FROM_VISIT

    def test_without_a_time_nobody_knows(self):
        one = VisitDay(visit=1, happened_on=DAY)

        found = self.matched([one], taken_on=None)
        assert found.unmatched is Unmatched.NO_TAKEN_TIME

    def test_another_day_is_none(self):
        one = VisitDay(visit=1, happened_on=date(2024, 7, 6))

        assert self.matched([one]).unmatched is Unmatched.NO_VISIT_THAT_DAY


def test_a_degree_of_latitude_on_the_mean_sphere():
    # 6 371 008.8 m * pi / 180 = 111 195.08 m (mean radius, IUGG 1980).
    found = distance_m((Decimal(40), Decimal(-80)), (Decimal(41), Decimal(-80)))

    assert found == pytest.approx(111_195.08, abs=0.01)


def test_a_place_is_read_back_as_it_was_kept():
    assert parsed_place(place_text(LOT)) == LOT


@pytest.mark.django_db
class TestFolder:
    @pytest.fixture
    def roof(self) -> Roof:
        return make_roof()

    @pytest.fixture
    def folder(self, tmp_path) -> Path:
        folder = tmp_path / "phone"
        (folder / "old").mkdir(parents=True)
        (folder / "IMG_1.jpg").write_bytes(pictures.photo())
        (folder / "old" / "IMG_2.jpg").write_bytes(pictures.photo(taken=""))
        (folder / "notes.txt").write_text("call the yard")
        return folder

    def visit(self, roof: Roof, ref: str) -> Visit:
        return record_visit(
            roof=roof,
            ref=ref,
            kind="INSPECTION",
            happened_on=DAY,
            technician_name="Ana Reyes",
            by=office(),
            now=NOON,
        )

    def match(self, folder: Path, **options) -> dict[str, object]:
        call_command("match_photos", str(folder), **options)
        do_later_work()
        return Run.objects.filter(kind="match_photos").latest("pk").result

    def test_a_photo_becomes_an_exhibit_of_its_visit(self, roof, folder, capsys):
        visit = self.visit(roof, "V-1")

        result = self.match(folder)

        assert result == {"matched": 1, "waiting": 1, "skipped": 1}
        exhibit = Exhibit.objects.get()
        assert (exhibit.visit, exhibit.matched_by) == (visit, MatchedBy.DAY)
        assert verify_ledgers().faults == []

    def test_running_it_again_changes_nothing(self, roof, folder, capsys):
        self.visit(roof, "V-1")

        first, second = self.match(folder), self.match(folder)

        assert first == second
        assert (Exhibit.objects.count(), TrayPhoto.objects.count()) == (1, 1)

    def test_whose_phone_it_was_decides_between_two(self, roof, folder, capsys):
        self.visit(roof, "V-1")
        other = record_visit(
            roof=make_roof(),
            ref="V-2",
            kind="INSPECTION",
            happened_on=DAY,
            technician_name="Lee Park",
            by=office(),
            now=NOON,
        )

        self.match(folder, technician="lee park")

        assert Exhibit.objects.get().visit == other

    def test_the_office_assigns_what_waits(self, world, folder, capsys):
        self.match(folder)
        visit = self.visit(world.roof, "V-9")
        listed = world.office.get("/api/v1/tray-photos?state=WAITING").json()
        waiting = next(
            row
            for row in listed["results"]
            if row["reason"] == Unmatched.NO_VISIT_THAT_DAY
        )

        answer = world.office.post(
            f"/api/v1/tray-photos/{waiting['uuid']}/assign",
            {"visit": str(visit.uuid)},
            content_type="application/json",
        )

        assert (answer.status_code, answer.json()["state"]) == (200, "ASSIGNED")
        exhibit = Exhibit.objects.get()
        assert (exhibit.visit, exhibit.matched_by) == (visit, MatchedBy.OFFICE)
        assert str(exhibit.taken_at) == "2024-07-05 20:03:22+00:00"

    def test_what_is_settled_cannot_be_settled_again(self, world, folder, capsys):
        self.match(folder)
        address = f"/api/v1/tray-photos/{TrayPhoto.objects.first().uuid}/leave-out"
        first = world.office.post(address, content_type="application/json")
        second = world.office.post(address, content_type="application/json")

        assert (first.status_code, second.status_code) == (200, 409)
        assert TrayPhoto.objects.filter(state=TrayState.LEFT_OUT).count() == 1

    @pytest.mark.parametrize(
        ("who", "status"), [("technician", 200), ("manager", 403), ("nobody", 401)]
    )
    def test_owners_do_not_see_the_tray(self, world, who, status):
        assert world.who(who).get("/api/v1/tray-photos").status_code == status

    def test_a_folder_that_is_not_there_is_said_so(self, tmp_path):
        with pytest.raises(CommandError, match="no folder"):
            call_command("match_photos", str(tmp_path / "none"))
