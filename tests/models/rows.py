"""One valid unsaved row of every table, and for each constraint what it refuses."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal
from itertools import count
from typing import Any
from uuid import uuid4

from django.db import models

from fleet import models as fleet
from tests.builders import COMPLETED, NOON, office
from warranty import models as warranty

_numbers = count(1)
Row = models.Model
Fields = Mapping[str, Any] | Callable[[Row], Mapping[str, Any]]
D = Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A constraint, fields it takes and fields only it refuses.

    A function of the first saved row makes the fields that clash with it.
    """

    name: str
    table: type[Row]
    takes: Fields = field(default_factory=dict)
    refuses: Fields
    # Another constraint that the refused row cannot but break too.
    breaks_too: str = ""


def number() -> int:
    """Return a number that was not used before."""
    return next(_numbers)


def roof() -> fleet.Roof:
    """The roof that valid facts are about; made without any action."""
    coach, _ = fleet.Coach.objects.get_or_create(
        unit_no="T-1", defaults={"length_m": 8, "width_m": 2}
    )
    return fleet.Roof.objects.get_or_create(
        coach=coach, roof_no=1, defaults={"opened_at": NOON}
    )[0]


def entry() -> fleet.LedgerEntry:
    """The entry that valid facts name."""
    return fleet.LedgerEntry.objects.get_or_create(
        roof=roof(), seq=1, defaults={"recorded_at": NOON}
    )[0]


def private_text() -> fleet.PrivateText:
    return fleet.PrivateText.objects.create(body="said once")


def system() -> fleet.System:
    return fleet.System.objects.get_or_create(code="S-1")[0]


def owner() -> fleet.Owner:
    return fleet.Owner.objects.get_or_create(name="A", kind="private")[0]


def edition() -> warranty.Edition:
    known = warranty.Edition.objects.filter(code="E-0").first()
    return known or saved(valid(warranty.Edition, code="E-0"))


def claim() -> warranty.Claim:
    known = warranty.Claim.objects.filter(ref="C-0").first()
    return known or saved(valid(warranty.Claim, ref="C-0"))


def finding() -> fleet.Finding:
    return saved(valid(fleet.Finding))


def visit() -> fleet.Visit:
    return saved(valid(fleet.Visit))


def saved(row: Any) -> Any:
    row.save(force_insert=True)
    return row


VALID: dict[type[Row], Callable[[], dict[str, Any]]] = {
    fleet.Owner: lambda: {"name": "A", "kind": "private"},
    fleet.Coach: lambda: {"unit_no": f"N-{number()}", "length_m": 8, "width_m": 2},
    fleet.CoachDescription: lambda: {
        "length": 8,
        "width": 2,
        "length_unit": "m",
        "length_m": 8,
        "width_m": 2,
    },
    fleet.Ownership: lambda: {"owner": owner(), "from_on": COMPLETED},
    fleet.Retirement: lambda: {"retired_on": COMPLETED},
    fleet.Merge: lambda: {
        "kind": "COACH",
        "kept": uuid4(),
        "dropped": uuid4(),
        "why": private_text(),
        "recorded_at": NOON,
        "recorded_by": office(),
    },
    fleet.PrivateText: lambda: {"body": "said"},
    fleet.System: lambda: {"code": f"S-{number()}", "title": "A build"},
    fleet.SystemSubstrate: lambda: {"system": system(), "substrate": "EPDM"},
    fleet.SystemCoat: lambda: {
        "system": system(),
        "position": 1,
        "role": "base",
        "wet_target_um": 500,
        "volume_solids_ratio": D("0.5"),
    },
    fleet.User: lambda: {"username": f"u-{number()}", "role": "OFFICE"},
    fleet.Technician: lambda: {"name": f"T-{number()}"},
    fleet.Roof: lambda: {
        "coach": roof().coach,
        "roof_no": 1 + number(),
        "opened_at": NOON,
    },
    fleet.LedgerEntry: lambda: {
        "roof": roof(),
        "seq": 1 + number(),
        "recorded_at": NOON,
    },
    fleet.Installation: lambda: {
        "system": system(),
        "substrate": "EPDM",
        "started_on": COMPLETED,
        "completed_on": COMPLETED,
    },
    fleet.Penetration: lambda: {
        "label": "vent",
        "kind": "VENT",
        "x_m": 1,
        "y_m": 1,
        "width_m": D("0.3"),
        "length_m": D("0.3"),
        "is_detailed": True,
        "happened_on": COMPLETED,
    },
    fleet.Alteration: lambda: {"happened_on": COMPLETED, "note": private_text()},
    fleet.Visit: lambda: {
        "ref": f"V-{number()}",
        "kind": "INSPECTION",
        "happened_on": COMPLETED,
    },
    fleet.Finding: lambda: {"happened_on": COMPLETED, "severity": "MINOR"},
    fleet.Cure: lambda: {
        "finding": finding(),
        "visit": visit(),
        "happened_on": COMPLETED,
    },
    fleet.FilmReading: lambda: {
        "coat": "base",
        "area_no": 1,
        "spot_no": 1,
        "shot_no": 1,
        "method": "NOTCH",
        "unit": "um",
        "last_wet_um": 400,
        "first_dry_um": 450,
        "happened_on": COMPLETED,
    },
    fleet.ClimateReading: lambda: {
        "taken_at": NOON,
        "offset_minutes": -240,
        "happened_on": COMPLETED,
        "temperature_unit": "C",
    },
    fleet.MoistureReading: lambda: {
        "moisture_ratio": D("0.12"),
        "mode": "PIN",
        "happened_on": COMPLETED,
    },
    fleet.AdhesionReading: lambda: {
        "method": "TAPE_X",
        "grade": 5,
        "happened_on": COMPLETED,
    },
    fleet.CoatLog: lambda: {"coat": "base", "happened_on": COMPLETED},
    warranty.Edition: lambda: {
        "code": f"E-{number()}",
        "title": "An edition",
        "owner_kind": "private",
        "anchor": "anniversary",
        "interval_months": 12,
        "window_days": 60,
        "grace_days": 60,
        "reinstatement_days": 180,
        "registration_days": 30,
        "serious_cure_days": 30,
    },
    warranty.Coverage: lambda: {"roof": roof(), "edition": edition()},
    warranty.TermsAssignment: lambda: {
        "edition": edition(),
        "happened_on": COMPLETED,
    },
    warranty.Registration: lambda: {"registered_on": COMPLETED},
    warranty.Waiver: lambda: {
        "clause": "film",
        "from_on": COMPLETED,
        "why": private_text(),
    },
    warranty.Standing: lambda: {
        "roof": roof(),
        "word": "PENDING",
        "as_of": COMPLETED,
        "assessed_at": NOON,
    },
    warranty.Claim: lambda: {
        "ref": f"C-{number()}",
        "roof": roof(),
        "noticed_on": COMPLETED,
        "reported_on": COMPLETED,
    },
    warranty.ClaimReport: lambda: {
        "claim": claim(),
        "noticed_on": COMPLETED,
        "reported_on": COMPLETED,
        "description": private_text(),
    },
    warranty.Transfer: lambda: {
        "holder": owner(),
        "sold_on": COMPLETED,
        "told_on": COMPLETED,
    },
    warranty.Certificate: lambda: {
        "number": f"{number():05}-AAAAA-BBBBB-CCCCC",
        "edition": edition(),
        "issued_on": COMPLETED,
        "content_sha256": "0" * 64,
    },
    warranty.Document: lambda: {
        "claim": claim(),
        "sha256": "0" * 64,
        "size_bytes": 1,
        "known_at": NOON,
        "rendered_at": NOON,
    },
}


def valid(table: type[Row], **over: Any) -> Any:
    """Return an unsaved row that every constraint takes, with some fields replaced."""
    fields = VALID[table]()
    if issubclass(table, fleet.Record):
        fields |= {"recorded_at": NOON, "recorded_by": office()}
    if issubclass(table, fleet.RoofFact):
        fields |= {"roof": roof(), "entry": entry()}
    if issubclass(table, fleet.CoachFact):
        fields |= {"coach": roof().coach}
    return table(**{**fields, **over})


def of_every_record(name: str, table: type[Row]) -> list[Case]:
    """The three constraints that every table of facts has, under its name."""
    own = uuid4()
    return [
        Case(
            name=f"{name}_uuid_once_per_scope",
            table=table,
            takes=lambda first: {"uuid": first.uuid, "scope": "owner:1"},
            refuses=lambda first: {"uuid": first.uuid},
        ),
        Case(
            name=f"{name}_not_its_own_correction",
            table=table,
            takes={"supersedes": uuid4()},
            refuses={"uuid": own, "supersedes": own},
        ),
        Case(
            name=f"{name}_void_names_a_row",
            table=table,
            takes={"supersedes": uuid4(), "is_void": True},
            refuses={"is_void": True},
        ),
    ]


RECORD_NAMES: dict[str, type[Row]] = {
    "coach_description": fleet.CoachDescription,
    "ownership": fleet.Ownership,
    "retirement": fleet.Retirement,
    "installation": fleet.Installation,
    "penetration": fleet.Penetration,
    "alteration": fleet.Alteration,
    "visit": fleet.Visit,
    "finding": fleet.Finding,
    "cure": fleet.Cure,
    "film_reading": fleet.FilmReading,
    "climate_reading": fleet.ClimateReading,
    "moisture_reading": fleet.MoistureReading,
    "adhesion_reading": fleet.AdhesionReading,
    "coat_log": fleet.CoatLog,
    "terms_assignment": warranty.TermsAssignment,
    "registration": warranty.Registration,
    "waiver": warranty.Waiver,
    "claim_report": warranty.ClaimReport,
    "certificate": warranty.Certificate,
    "transfer": warranty.Transfer,
}

EARLIER = COMPLETED - timedelta(days=1)
LATER = COMPLETED + timedelta(days=1)
DRY = {"last_wet_um": None, "first_dry_um": None}
HALF_A_PLACE = {"x_m": 1}
PLACE = {"x_m": 1, "y_m": 2}


def case(
    name: str,
    table: type[Row],
    *,
    takes: Fields,
    refuses: Fields,
    breaks_too: str = "",
) -> Case:
    return Case(
        name=name, table=table, takes=takes, refuses=refuses, breaks_too=breaks_too
    )


CASES: list[Case] = [
    *(
        each
        for name, table in RECORD_NAMES.items()
        for each in of_every_record(name, table)
    ),
    case(
        "owner_kind_known",
        fleet.Owner,
        takes={"kind": "rental_fleet"},
        refuses={"kind": "club"},
    ),
    case(
        "owner_not_merged_into_itself",
        fleet.Owner,
        takes=lambda first: {"merged_into": first},
        refuses={"id": 900, "merged_into_id": 900},
    ),
    case("owner_name_given", fleet.Owner, takes={"name": "B"}, refuses={"name": ""}),
    case(
        "coach_unit_no_given",
        fleet.Coach,
        takes={"unit_no": "1"},
        refuses={"unit_no": ""},
    ),
    case(
        "coach_size_positive",
        fleet.Coach,
        takes={"width_m": D("0.0001")},
        refuses={"width_m": 0},
    ),
    case(
        "coach_not_merged_into_itself",
        fleet.Coach,
        takes=lambda first: {"merged_into": first},
        refuses={"id": 900, "merged_into_id": 900},
    ),
    case(
        "coach_description_size_plausible",
        fleet.CoachDescription,
        takes={"length_m": 30, "width_m": 5},
        refuses={"length_m": D("30.0001")},
    ),
    case(
        "coach_description_unit_known",
        fleet.CoachDescription,
        takes={"length_unit": "ft"},
        refuses={"length_unit": "in"},
    ),
    case(
        "merge_kind_known",
        fleet.Merge,
        takes={"kind": "OWNER"},
        refuses={"kind": "ROOF"},
    ),
    case(
        "merge_two_different",
        fleet.Merge,
        takes={},
        refuses=(lambda same: {"kept": same, "dropped": same})(uuid4()),
    ),
    case(
        "private_text_erased_is_empty",
        fleet.PrivateText,
        takes={"erased_at": NOON, "body": "", "salt": ""},
        refuses={"erased_at": NOON, "body": ""},
    ),
    case(
        "system_air_limits_ordered",
        fleet.System,
        takes={"air_min_c": 10, "air_max_c": 10},
        refuses={"air_min_c": 11, "air_max_c": 10},
    ),
    case(
        "system_rh_is_a_share",
        fleet.System,
        takes={"rh_max_ratio": 1},
        refuses={"rh_max_ratio": D("1.0001")},
    ),
    case(
        "system_substrate_once",
        fleet.SystemSubstrate,
        takes={"substrate": "TPO"},
        refuses={},
    ),
    case(
        "system_substrate_known",
        fleet.SystemSubstrate,
        takes={"substrate": "TPO"},
        refuses={"substrate": "SLATE"},
    ),
    case(
        "system_coat_position_once",
        fleet.SystemCoat,
        takes={"position": 2, "role": "finish"},
        refuses={"role": "finish"},
    ),
    case(
        "system_coat_role_once",
        fleet.SystemCoat,
        takes={"position": 2, "role": "finish"},
        refuses={"position": 2},
    ),
    case(
        "system_coat_role_known",
        fleet.SystemCoat,
        takes={"position": 2, "role": "detail"},
        refuses={"position": 2, "role": "glaze"},
    ),
    case(
        "system_coat_solids_is_a_share",
        fleet.SystemCoat,
        takes={"position": 2, "role": "finish", "volume_solids_ratio": 1},
        refuses={"position": 2, "role": "finish", "volume_solids_ratio": 0},
    ),
    case(
        "system_coat_dry_limits_ordered",
        fleet.SystemCoat,
        takes={"position": 2, "role": "finish", "dry_min_um": 5, "dry_max_um": 5},
        refuses={"position": 2, "role": "finish", "dry_min_um": 6, "dry_max_um": 5},
    ),
    case(
        "system_coat_wet_target_positive",
        fleet.SystemCoat,
        takes={"position": 2, "role": "finish", "wet_target_um": D("0.0001")},
        refuses={"position": 2, "role": "finish", "wet_target_um": 0},
    ),
    case(
        "user_role_known",
        fleet.User,
        takes={"role": "TECHNICIAN"},
        refuses={"role": "GUEST"},
    ),
    case(
        "user_owner_goes_with_fleet_manager",
        fleet.User,
        takes=lambda _: {"role": "FLEET_MANAGER", "owner": owner()},
        refuses={"role": "FLEET_MANAGER"},
    ),
    case(
        "technician_name_given",
        fleet.Technician,
        takes={"name": "B"},
        refuses={"name": ""},
    ),
    case(
        "roof_no_once_per_coach",
        fleet.Roof,
        takes={"roof_no": 900},
        refuses=lambda first: {"roof_no": first.roof_no},
    ),
    case("roof_no_from_one", fleet.Roof, takes={}, refuses={"roof_no": 0}),
    case(
        "ledger_entry_seq_once_per_roof",
        fleet.LedgerEntry,
        takes={"seq": 900},
        refuses=lambda first: {"seq": first.seq},
    ),
    case("ledger_entry_seq_from_one", fleet.LedgerEntry, takes={}, refuses={"seq": 0}),
    case(
        "installation_substrate_known",
        fleet.Installation,
        takes={"substrate": "ALUMINIUM"},
        refuses={"substrate": "SLATE"},
    ),
    case(
        "installation_completed_after_start",
        fleet.Installation,
        takes={"completed_on": COMPLETED},
        refuses={"completed_on": EARLIER},
    ),
    case(
        "penetration_kind_known",
        fleet.Penetration,
        takes={"kind": "OTHER"},
        refuses={"kind": "CHIMNEY"},
    ),
    case(
        "penetration_size_positive",
        fleet.Penetration,
        takes={"width_m": D("0.0001")},
        refuses={"width_m": 0},
    ),
    case(
        "penetration_place_not_negative",
        fleet.Penetration,
        takes={"x_m": 0, "y_m": 0},
        refuses={"y_m": D("-0.0001")},
    ),
    case(
        "visit_kind_known", fleet.Visit, takes={"kind": "REPAIR"}, refuses={"kind": "X"}
    ),
    case(
        "visit_result_known",
        fleet.Visit,
        takes={"result": "PASS"},
        refuses={"result": "GOOD"},
    ),
    case(
        "visit_ref_once",
        fleet.Visit,
        takes=lambda first: {"ref": first.ref, "supersedes": first.uuid},
        refuses=lambda first: {"ref": first.ref},
    ),
    case(
        "finding_severity_known",
        fleet.Finding,
        takes={"severity": "SERIOUS"},
        refuses={"severity": "DIRE"},
    ),
    case(
        "finding_place_both_or_neither",
        fleet.Finding,
        takes=PLACE,
        refuses=HALF_A_PLACE,
    ),
    case(
        "film_reading_coat_known",
        fleet.FilmReading,
        takes={"coat": "primer"},
        refuses={"coat": "glaze"},
    ),
    case(
        "film_reading_unit_known",
        fleet.FilmReading,
        takes={"unit": "mil"},
        refuses={"unit": "mm"},
    ),
    case(
        "film_reading_wet_or_dry",
        fleet.FilmReading,
        takes={"method": "EDDY_CURRENT", "dry_um": 0, **DRY},
        refuses={"dry_um": 200},
    ),
    case(
        "film_reading_numbers_from_one",
        fleet.FilmReading,
        takes={"area_no": 1, "spot_no": 1, "shot_no": 1},
        refuses={"spot_no": 0},
    ),
    case(
        "film_reading_place_both_or_neither",
        fleet.FilmReading,
        takes=PLACE,
        refuses=HALF_A_PLACE,
    ),
    case(
        "climate_reading_unit_known",
        fleet.ClimateReading,
        takes={"temperature_unit": "F"},
        refuses={"temperature_unit": "K"},
    ),
    case(
        "climate_reading_rh_is_a_share",
        fleet.ClimateReading,
        takes={"rh_ratio": 1},
        refuses={"rh_ratio": 0},
    ),
    case(
        "climate_reading_offset_within_a_day",
        fleet.ClimateReading,
        takes={"offset_minutes": -900},
        refuses={"offset_minutes": 901},
    ),
    case(
        "moisture_reading_is_a_share",
        fleet.MoistureReading,
        takes={"moisture_ratio": 0},
        refuses={"moisture_ratio": D("1.0001")},
    ),
    case(
        "moisture_reading_place_both_or_neither",
        fleet.MoistureReading,
        takes=PLACE,
        refuses=HALF_A_PLACE,
    ),
    case(
        "adhesion_reading_grade_or_value",
        fleet.AdhesionReading,
        takes={"method": "PEEL", "grade": None, "value": 0, "unit": "N/m"},
        refuses={"grade": 6},
    ),
    case(
        "adhesion_reading_place_both_or_neither",
        fleet.AdhesionReading,
        takes=PLACE,
        refuses=HALF_A_PLACE,
    ),
    case(
        "coat_log_coat_known",
        fleet.CoatLog,
        takes={"coat": "detail"},
        refuses={"coat": "glaze"},
    ),
    case(
        "coat_log_volume_with_its_unit",
        fleet.CoatLog,
        takes={"volume": 1, "volume_ml": 1000, "volume_unit": "l"},
        refuses={"volume": 1, "volume_ml": 1000},
    ),
    case(
        "coat_log_thinner_not_negative",
        fleet.CoatLog,
        takes={"thinner_ratio": 0},
        refuses={"thinner_ratio": D("-0.0001")},
    ),
    case(
        "edition_anchor_known",
        warranty.Edition,
        takes={"anchor": "last_inspection"},
        refuses={"anchor": "easter"},
    ),
    case(
        "edition_owner_kind_known",
        warranty.Edition,
        takes={"owner_kind": "rental_fleet"},
        refuses={"owner_kind": "club"},
    ),
    case(
        "edition_interval_positive",
        warranty.Edition,
        takes={"interval_months": 1, "window_days": 0, "grace_days": 0},
        refuses={"interval_months": 0, "window_days": 0, "grace_days": 0},
        breaks_too="edition_windows_apart",
    ),
    case(
        "edition_windows_apart",
        warranty.Edition,
        takes={"interval_months": 4},
        refuses={"interval_months": 3},
    ),
    case(
        "edition_designation_known",
        warranty.Edition,
        takes={"designation": "full"},
        refuses={"designation": "golden"},
    ),
    case(
        "edition_term_positive",
        warranty.Edition,
        takes={"term_months": 1},
        refuses={"term_months": 0},
    ),
    case(
        "edition_transfer_fields_together",
        warranty.Edition,
        takes={"transfer_notice_days": 30, "transfer_needs_inspection": True},
        refuses={"is_transferable": False, "transfer_needs_inspection": True},
    ),
    case(
        "waiver_never_of_coach_or_term",
        warranty.Waiver,
        takes={"clause": "climate"},
        refuses={"clause": "term"},
    ),
    case(
        "waiver_ends_after_it_starts",
        warranty.Waiver,
        takes={"until_on": COMPLETED},
        refuses={"until_on": EARLIER},
    ),
    case(
        "waiver_seconded_by_another_person",
        warranty.Waiver,
        takes=lambda _: {"seconded_by": saved(valid(fleet.User))},
        refuses=lambda _: {"seconded_by": office()},
    ),
    case(
        "standing_word_known",
        warranty.Standing,
        takes=lambda _: {"roof": saved(valid(fleet.Roof)), "word": "ENDED"},
        refuses=lambda _: {"roof": saved(valid(fleet.Roof)), "word": "FINE"},
    ),
    case(
        "claim_status_known",
        warranty.Claim,
        takes={"status": "CLOSED"},
        refuses={"status": "LOST"},
    ),
    case(
        "claim_noticed_before_reported",
        warranty.Claim,
        takes={"reported_on": COMPLETED},
        refuses={"reported_on": EARLIER},
    ),
    case(
        "claim_report_noticed_before_reported",
        warranty.ClaimReport,
        takes={"reported_on": LATER},
        refuses={"reported_on": EARLIER},
    ),
    case(
        "claim_report_estimate_not_negative",
        warranty.ClaimReport,
        takes={"estimate_cents": 0},
        refuses={"estimate_cents": -1},
    ),
    case(
        "document_kind_known",
        warranty.Document,
        takes={"kind": "CLAIM_PACKET"},
        refuses={"kind": "MEMO"},
        breaks_too="document_about_what_its_kind_says",
    ),
    case(
        "document_about_what_its_kind_says",
        warranty.Document,
        takes=lambda _: {
            "kind": "CERTIFICATE",
            "claim": None,
            "certificate": saved(valid(warranty.Certificate)),
        },
        refuses={"kind": "CERTIFICATE"},
    ),
    case(
        "transfer_between_two_holders",
        warranty.Transfer,
        takes=lambda _: {"former": saved(valid(fleet.Owner, name="B"))},
        refuses=lambda _: {"former": owner()},
    ),
    case(
        "transfer_deadline_after_sale",
        warranty.Transfer,
        takes={"deadline_on": COMPLETED},
        refuses={"deadline_on": EARLIER},
    ),
    case(
        "certificate_number_given",
        warranty.Certificate,
        takes={"number": "00000-AAAAA-BBBBB-DDDDD"},
        refuses={"number": ""},
    ),
    case(
        "document_has_bytes",
        warranty.Document,
        takes={"size_bytes": 1},
        refuses={"size_bytes": 0},
    ),
]
