"""What a workbook changes when it comes again, and what it leaves alone."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from fleet.actions.coaches import hand_over, merge_coaches
from fleet.actions.readings import penetration
from fleet.actions.roofs import record
from fleet.actions.users import register_user
from fleet.ledger.correction import rows_that_stand
from fleet.models import (
    Coach,
    CoatLog,
    Cure,
    FilmReading,
    Finding,
    Installation,
    Owner,
    Ownership,
    Penetration,
    PrivateText,
    Retirement,
    Roof,
    Visit,
)
from tests.importing.offices import LATER, NOW, check, commit, heads, office
from warranty.actions.importing import commit_workbook
from warranty.models import Claim, ClaimReport, Coverage, Registration

pytestmark = [pytest.mark.django_db, pytest.mark.slow]
SERIOUS = {"ref": "V1", "result": "fail", "severity": "serious", "finding": "blister"}
REPAIR = {
    "ref": "V2",
    "kind": "repair",
    "happened_on": "2025-05-09",
    "cures": "V1",
}


def standing(table):
    """Return the rows of a table that count."""
    return list(rows_that_stand(list(table.objects.order_by("pk"))).rows)


def counts(result, sheet: str) -> dict[str, int]:
    count = result.sheets[sheet]
    return {
        name: getattr(count, name)
        for name in ("new", "unchanged", "corrected", "repeated", "refused")
        if getattr(count, name)
    }


class TestCorrections:
    def test_a_changed_row_is_shown_with_old_and_new_before_it_goes_in(self, tmp_path):
        commit(office(tmp_path))
        office(tmp_path, visits=[{"happened_on": "2025-05-04"}])

        result = check(tmp_path)

        [changed] = result.corrections
        assert (changed.file, changed.row, changed.column) == (
            "visits",
            2,
            "happened_on",
        )
        assert (changed.old, changed.new) == ("2025-05-01", "2025-05-04")
        assert Visit.objects.count() == 1

    def test_a_changed_row_becomes_a_fact_that_supersedes(self, tmp_path):
        commit(office(tmp_path))

        result = commit(office(tmp_path, visits=[{"result": "fail"}]), now=LATER)

        old, new = Visit.objects.order_by("pk")
        assert new.supersedes == old.uuid
        assert [row.result for row in standing(Visit)] == ["FAIL"]
        assert counts(result, "visits") == {"corrected": 1}

    def test_a_change_back_is_a_correction_too(self, tmp_path):
        commit(office(tmp_path / "a"))
        commit(office(tmp_path / "b", visits=[{"result": "fail"}]), now=LATER)

        commit(tmp_path / "a", now=LATER)

        assert [row.result for row in standing(Visit)] == ["PASS"]

    @pytest.mark.parametrize(
        ("sheet", "change", "becomes"),
        [
            ("coaches", {"length_ft": "27"}, (Coach, "length_m", "8.2296")),
            (
                "roofs",
                {"completed_on": "5/3/2024"},
                (Roof, "completed_on", "2024-05-03"),
            ),
            ("roofs", {"base_lot": "B9"}, (CoatLog, "lot", "B9")),
            (
                "roofs",
                {"registered_on": "2024-06-01"},
                (Registration, "registered_on", "2024-06-01"),
            ),
            ("roofs", {"terms": "RENT-2022"}, (Coverage, "edition", "RENT-2022")),
            ("penetrations", {"detailed": "no"}, (Penetration, "is_detailed", "False")),
            (
                "claims",
                {"estimate_usd": "$1,240.50"},
                (ClaimReport, "estimate_cents", "124050"),
            ),
            (
                "claims",
                {"noticed_on": "1 Apr 2025"},
                (Claim, "noticed_on", "2025-04-01"),
            ),
        ],
    )
    def test_each_sheet_is_corrected_by_its_key(self, tmp_path, sheet, change, becomes):
        commit(office(tmp_path))
        table, name, value = becomes

        result = commit(office(tmp_path, **{sheet: [change]}), now=LATER)

        assert str(getattr(table.objects.order_by("pk").last(), name)) == value
        assert counts(result, sheet) == {"corrected": 1}
        again = commit(tmp_path, now=LATER)
        assert again.facts == 0

    def test_what_depends_on_the_completion_moves_with_it(self, tmp_path):
        commit(office(tmp_path))

        commit(office(tmp_path, roofs=[{"completed_on": "2024-05-04"}]), now=LATER)

        moved = date(2024, 5, 4)
        assert [row.happened_on for row in standing(FilmReading)] == [moved]
        assert [row.happened_on for row in standing(Penetration)] == [moved]
        assert [row.from_on for row in standing(Ownership)] == [moved]

    def test_a_day_taken_out_is_struck(self, tmp_path):
        commit(office(tmp_path, coaches=[{"retired_on": "2026-01-01"}]))

        result = commit(office(tmp_path, coaches=[{"retired_on": ""}]), now=LATER)

        assert standing(Retirement) == []
        assert Coach.objects.get().retired_on is None
        assert counts(result, "coaches") == {"corrected": 1}

    def test_a_day_struck_and_given_again_counts_again(self, tmp_path):
        commit(office(tmp_path / "a", roofs=[{"registered_on": "2024-05-10"}]))
        commit(office(tmp_path / "b", roofs=[{"registered_on": ""}]), now=LATER)

        commit(tmp_path / "a", now=LATER)

        [row] = standing(Registration)
        assert row.registered_on == date(2024, 5, 10)

    def test_the_terms_of_a_known_code_never_change(self, tmp_path):
        commit(office(tmp_path))
        file = tmp_path / "terms.json"
        file.write_text(
            file.read_text().replace('"grace_days": 60', '"grace_days": 61')
        )

        [refused] = commit(tmp_path, now=LATER).refused

        assert (refused.file, refused.key, refused.code) == (
            "terms",
            "LIFE-2021",
            "immutable",
        )

    def test_the_build_of_a_known_system_never_changes(self, tmp_path):
        commit(office(tmp_path))
        file = tmp_path / "systems.json"
        text = file.read_text().replace('"dry_min_mil": 12.5', '"dry_min_mil": 11.5')
        file.write_text(text)

        refused = commit(tmp_path, now=LATER).refused

        assert ("systems", "MEMBRANE-2", "immutable") in [
            (row.file, row.key, row.code) for row in refused
        ]


class TestTheRecordsOwnWord:
    def test_what_the_office_corrected_since_stays_corrected(self, tmp_path):
        commit(office(tmp_path))
        known = Penetration.objects.get()
        fact = penetration(
            label="vent 1",
            kind="VENT",
            x=Decimal(7),
            y=Decimal(4),
            place_unit="ft",
            width=Decimal(14),
            length=Decimal(14),
            size_unit="in",
            is_detailed=True,
            happened_on=known.happened_on,
            supersedes=known.uuid,
        )
        record(
            roof=known.roof,
            kind="penetrations",
            facts=[fact],
            by=register_user(),
            now=LATER,
        )

        result = commit(tmp_path, now=LATER)

        assert [row.x_m for row in standing(Penetration)] == [Decimal("2.1336")]
        assert "corrected-since" in [w.code for w in result.warnings]
        assert result.facts == 0

    def test_a_coach_handed_over_since_keeps_its_new_holder(self, tmp_path):
        commit(office(tmp_path))
        buyer = Owner.objects.create(name="Bram Tarn", kind="private")
        hand_over(
            coach=Coach.objects.get(),
            owner=buyer,
            from_on=date(2025, 1, 1),
            by=register_user(),
            now=LATER,
        )

        assert commit(tmp_path, now=LATER).facts == 0
        told = [{"owner": "Bram Tarn", "owner_email": ""}]
        assert commit(office(tmp_path, coaches=told), now=LATER).facts == 0
        assert Coach.objects.get().holder == buyer

    def test_an_erased_text_is_not_brought_back(self, tmp_path):
        commit(office(tmp_path))
        PrivateText.objects.update(body="", salt="", erased_at=LATER)

        commit(office(tmp_path, claims=[{"reported_on": "2025-06-05"}]), now=LATER)

        assert [row.description.body for row in ClaimReport.objects.all()] == ["", ""]

    def test_a_merged_coachs_rows_are_refused(self, tmp_path):
        commit(office(tmp_path, coaches=[{}, {"unit_no": "HL-2"}]))
        merge_coaches(
            kept=Coach.objects.get(unit_no="HL-2"),
            dropped=Coach.objects.get(unit_no="HL-1"),
            why="one coach",
            by=register_user(),
            now=LATER,
        )

        result = commit(tmp_path, now=LATER)

        assert {row.code for row in result.refused} == {"merged-unit"}
        assert Roof.objects.count() == 1


class TestFilm:
    def test_equal_rows_are_separate_readings(self, tmp_path):
        commit(office(tmp_path, film=[{}, {}, {"unit": "mils"}]))

        shots = FilmReading.objects.order_by("shot_no").values_list(
            "shot_no", flat=True
        )
        assert list(shots) == [1, 2, 3]
        assert commit(tmp_path, now=LATER).facts == 0

    @pytest.mark.parametrize("unit", ["um", "\u00b5m", "\u03bcm"])
    def test_micrometres_are_known_by_each_spelling(self, tmp_path, unit):
        commit(
            office(
                tmp_path, film=[{"last_wet": "650", "first_dry": "700", "unit": unit}]
            )
        )

        assert FilmReading.objects.get().last_wet_um == 650

    def test_rows_in_another_order_change_nothing(self, tmp_path):
        rows = [{"last_wet": wet} for wet in ("25", "26", "27")]
        commit(office(tmp_path, film=rows))

        result = commit(office(tmp_path, film=rows[::-1]), now=LATER)

        assert (result.facts, counts(result, "film")) == (0, {"unchanged": 3})

    def test_one_more_equal_row_is_one_more_reading(self, tmp_path):
        commit(office(tmp_path, film=[{}, {}]))

        result = commit(office(tmp_path, film=[{}, {}, {}]), now=LATER)

        assert counts(result, "film") == {"unchanged": 2, "new": 1}

    def test_a_changed_reading_corrects_the_one_it_replaces(self, tmp_path):
        commit(office(tmp_path, film=[{}, {"last_wet": "24"}]))

        result = commit(office(tmp_path, film=[{}, {"last_wet": "25"}]), now=LATER)

        assert counts(result, "film") == {"unchanged": 1, "corrected": 1}
        assert [row.last_wet for row in standing(FilmReading)] == [26, 25]

    def test_a_refused_reading_put_right_takes_its_place(self, tmp_path):
        bad = {"unit": "furlong"}
        commit(office(tmp_path, film=[{}, bad, {}]))

        commit(office(tmp_path, film=[{}, {"last_wet": "25"}, {}]), now=LATER)

        place = FilmReading.objects.values_list("shot_no", "last_wet").order_by(
            "shot_no"
        )
        assert list(place) == [(1, 26), (2, 25), (3, 26)]


class TestVisits:
    def test_another_shops_visit_stays_theirs_when_a_sheet_leaves_the_shop_out(
        self, tmp_path
    ):
        commit(office(tmp_path, visits=[{"shop": "Pine Bend RV Service"}]))

        commit(office(tmp_path, visits=[{"result": "fail"}]), now=LATER)

        [visit] = standing(Visit)
        assert (str(visit.shop), visit.result) == ("Pine Bend RV Service", "FAIL")
        assert commit(tmp_path, now=LATER).facts == 0

    def test_a_sheet_that_names_a_shop_makes_the_visit_theirs(self, tmp_path):
        commit(office(tmp_path, visits=[{}]))
        assert not standing(Visit)[0].is_by_other_shop

        commit(office(tmp_path, visits=[{"shop": "Pine Bend RV Service"}]), now=LATER)

        assert standing(Visit)[0].is_by_other_shop

    def test_a_repair_cures_what_its_visit_found(self, tmp_path):
        # The repair stands above the visit that it names.
        commit(office(tmp_path, visits=[REPAIR, SERIOUS]))

        cure = Cure.objects.get()
        assert cure.finding.visit.ref == "V1"
        assert cure.happened_on == date(2025, 5, 9)
        assert str(cure.finding.note) == "blister"

    def test_a_corrected_finding_keeps_its_cure(self, tmp_path):
        commit(office(tmp_path, visits=[SERIOUS, REPAIR]))

        commit(
            office(tmp_path, visits=[{**SERIOUS, "severity": "minor"}, REPAIR]),
            now=LATER,
        )

        [finding], [cure] = standing(Finding), standing(Cure)
        assert finding.severity == "MINOR"
        assert cure.finding == finding
        assert commit(tmp_path, now=LATER).facts == 0

    def test_a_corrected_finding_keeps_a_cure_the_sheet_leaves_out(self, tmp_path):
        commit(office(tmp_path, visits=[SERIOUS, REPAIR]))

        commit(office(tmp_path, visits=[{**SERIOUS, "severity": "minor"}]), now=LATER)

        [finding], [cure] = standing(Finding), standing(Cure)
        assert cure.finding == finding

    def test_a_finding_taken_out_is_struck(self, tmp_path):
        commit(office(tmp_path, visits=[SERIOUS]))

        commit(office(tmp_path, visits=[{**SERIOUS, "severity": ""}]), now=LATER)

        assert standing(Finding) == []
        assert str(standing(Visit)[0].note) == "blister"

    def test_a_cure_of_nothing_is_a_warning_and_the_repair_goes_in(self, tmp_path):
        result = commit(office(tmp_path, visits=[{**REPAIR, "cures": "V77"}]))

        assert [w.code for w in result.warnings] == ["nothing-to-cure"]
        assert Visit.objects.get().kind == "REPAIR"

    def test_a_visit_that_is_no_repair_cures_nothing(self, tmp_path):
        result = commit(
            office(tmp_path, visits=[SERIOUS, {**REPAIR, "kind": "inspection"}])
        )

        assert [w.code for w in result.warnings] == ["not-a-repair"]
        assert not Cure.objects.exists()

    def test_a_reference_of_another_coach_is_refused(self, tmp_path):
        rows = [{}, {"unit_no": "HL-2"}]
        folder = office(tmp_path, coaches=rows, roofs=rows, visits=rows)

        [refused] = commit(folder).refused

        assert (refused.code, refused.key) == ("reference-taken", "HL-2")

    def test_a_reference_on_record_for_another_coach_is_refused(self, tmp_path):
        commit(office(tmp_path / "a"))
        other = [{"unit_no": "HL-2"}]
        folder = office(tmp_path / "b", coaches=other, roofs=other, visits=other)

        codes = {r.file: r.code for r in commit(folder, now=LATER).refused}

        assert codes["visits"] == "reference-taken"


class TestKeys:
    def test_a_repeated_row_is_no_error_in_whatever_style(self, tmp_path):
        visits = [{"happened_on": "2025-05-01"}, {"happened_on": "1 May 2025"}]

        result = commit(office(tmp_path, visits=visits))

        assert counts(result, "visits") == {"new": 1, "repeated": 1}

    def test_a_second_row_that_says_otherwise_is_refused(self, tmp_path):
        result = commit(office(tmp_path, coaches=[{}, {"length_ft": "30"}]))

        [refused] = result.refused
        assert (refused.file, refused.row, refused.code) == (
            "coaches",
            3,
            "repeated-key",
        )
        assert "Row 2" in refused.reason

    def test_a_row_put_right_below_a_refused_one_goes_in(self, tmp_path):
        visits = [{"happened_on": "2025-02-30"}, {"happened_on": "2025-03-01"}]

        result = commit(office(tmp_path, visits=visits))

        assert counts(result, "visits") == {"new": 1, "refused": 1}

    def test_rows_of_a_refused_coach_are_refused_as_of_an_unknown_one(self, tmp_path):
        result = commit(office(tmp_path, coaches=[{"length_ft": "thirty"}]))

        codes = {row.file: row.code for row in result.refused}
        assert codes.pop("coaches") == "not-a-number"
        assert set(codes.values()) == {"unknown-unit"}
        assert result.facts == 0

    @pytest.mark.parametrize("column", ["system", "terms"])
    def test_a_roof_that_names_what_nobody_knows_is_refused(self, tmp_path, column):
        result = commit(office(tmp_path, roofs=[{column: "NONE"}]))

        codes = {row.file: row.code for row in result.refused}
        assert codes.pop("roofs") == f"unknown-{column}"
        assert set(codes.values()) == {"unknown-roof"}
        assert Coach.objects.count() == 1

    def test_a_coach_coated_twice_has_two_roofs(self, tmp_path):
        second = {
            "roof_no": "2",
            "started_on": "2026-01-02",
            "completed_on": "2026-01-03",
            "registered_on": "",
        }
        folder = office(
            tmp_path,
            roofs=[{"roof_no": ""}, second],
            film=[{"roof_no": ""}, {"roof_no": "2"}],
            visits=[{"roof_no": "1"}, {"ref": "V2", "roof_no": "2"}],
        )

        commit(folder)

        first, later = Roof.objects.order_by("roof_no")
        assert [row.happened_on for row in later.filmreadings.all()] == [
            date(2026, 1, 3)
        ]
        assert [row.ref for row in later.visits.all()] == ["V2"]
        assert first.filmreadings.count() == 1
        assert Ownership.objects.get().from_on == first.completed_on
        assert commit(folder, now=LATER).facts == 0

    def test_a_roof_under_way_opens_without_coverage_days(self, tmp_path):
        commit(office(tmp_path, roofs=[{"completed_on": "", "registered_on": ""}]))

        assert Installation.objects.get().completed_on is None
        assert Ownership.objects.get().from_on == NOW.date()
        assert commit(tmp_path, now=LATER).facts == 0


class TestOwners:
    def test_a_fleet_is_one_owner_whatever_its_desks_write(self, tmp_path):
        fleet = {"owner": "Sandbar Coach Hire", "owner_kind": "rental_fleet"}
        coaches = [
            {**fleet, "owner_email": "desk1@example.org"},
            {**fleet, "unit_no": "HL-2", "owner_email": "desk2@example.org"},
        ]

        commit(office(tmp_path, coaches=coaches))

        assert Owner.objects.count() == 1

    def test_two_private_persons_of_one_name_stay_two(self, tmp_path):
        coaches = [{}, {"unit_no": "HL-2", "owner_email": "desk9@example.org"}]

        commit(office(tmp_path, coaches=coaches))

        assert Owner.objects.count() == 2


class TestOddSequences:
    @pytest.mark.parametrize(
        ("sheet", "row", "code"),
        [
            ("coaches", {"retired_on": "2025-01-01"}, "visit-after-retirement"),
            ("coaches", {"year": "2026"}, "model-year-after-coating"),
            ("coaches", {"vin": "1Z9ES8848DBR01002"}, "vin-check-digit"),
            ("coaches", {"retired_on": "2023-01-01"}, "retired-before-completion"),
            ("roofs", {"registered_on": "2024-01-01"}, "registered-before-completion"),
            ("penetrations", {"x_ft": "40"}, "off-the-plan"),
            ("climate", {"taken_at": "2024-06-01T09:00:00-04:00"}, "outside-the-work"),
            ("visits", {"happened_on": "2023-01-01"}, "visit-before-completion"),
            ("claims", {"noticed_on": "2023-01-01"}, "noticed-before-completion"),
            ("visits", {"happened_on": "2030-01-01"}, "in-the-future"),
        ],
    )
    def test_it_goes_in_with_a_warning(self, tmp_path, sheet, row, code):
        result = commit(office(tmp_path, **{sheet: [row]}))

        assert code in [warning.code for warning in result.warnings]
        assert counts(result, sheet) == {"new": 1}

    def test_a_lower_case_number_is_the_same_number(self, tmp_path):
        commit(office(tmp_path, coaches=[{"vin": "1z9es8848dbr01001"}]))

        assert Coach.objects.get().vin == "1Z9ES8848DBR01001"
        told = [{"vin": "1Z9ES8848DBR01001"}]
        assert commit(office(tmp_path, coaches=told), now=LATER).facts == 0


class TestInterruption:
    def test_an_import_cut_off_goes_on_where_it_was(self, tmp_path, monkeypatch):
        monkeypatch.setattr("warranty.actions.importing.run.BATCH_COACHES", 1)
        units = [{"unit_no": f"HL-{n}"} for n in range(3)]
        visits = [{**unit, "ref": f"V{n}"} for n, unit in enumerate(units)]
        folder = office(
            tmp_path, coaches=units, roofs=units, film=units, visits=visits, claims=[]
        )

        def cut(done: int, total: int) -> None:
            raise KeyboardInterrupt

        with pytest.raises(KeyboardInterrupt):
            commit_workbook(folder, by=register_user(), now=NOW, progress=cut)
        assert Coach.objects.count() == 1
        before = heads()

        result = commit(folder, now=LATER)

        assert counts(result, "coaches") == {"new": 2, "unchanged": 1}
        assert heads().items() >= before.items()
        assert commit(folder, now=LATER).facts == 0
