"""Valid rows and refused ones for phones, bookings, photos and checkpoints."""

from __future__ import annotations

from datetime import timedelta
from itertools import count
from typing import Any
from uuid import UUID, uuid4

from fleet import models as fleet
from tests.builders import COMPLETED, NOON, office
from tests.models.rows import (
    RECORD_NAMES,
    VALID,
    Case,
    case,
    entry,
    of_every_record,
    roof,
    saved,
    valid,
    visit,
)

_numbers = count(1)


def hexadecimal(length: int) -> str:
    """Return so many hexadecimal digits that were not used before."""
    return f"{next(_numbers):0{length}x}"


def key() -> fleet.SigningKey:
    return saved(valid(fleet.SigningKey))


def device() -> fleet.FieldDevice:
    return saved(valid(fleet.FieldDevice))


def stored_file() -> fleet.StoredFile:
    return saved(valid(fleet.StoredFile))


def settled() -> dict[str, Any]:
    return {"settled_at": NOON, "settled_by": office()}


VALID.update(
    {
        fleet.Booking: lambda: {
            "roof": roof(),
            "kind": "INSPECTION",
            "planned_on": COMPLETED,
            "changed_at": NOON,
            "changed_by": office(),
        },
        fleet.Check: lambda: {
            "visit": visit(),
            "step": "hold.dry",
            "answer": "YES",
            "checked_at": NOON,
            "happened_on": COMPLETED,
        },
        fleet.SigningKey: lambda: {
            "public_key": hexadecimal(64),
            "added_at": NOON,
            "added_by": office(),
        },
        fleet.Checkpoint: lambda: {
            "number": next(_numbers),
            "size": 0,
            "root_sha256": hexadecimal(64),
            "note": "root",
            "signature": hexadecimal(128),
            "key": key(),
            "made_at": NOON,
        },
        fleet.FieldDevice: lambda: {
            "user": office(),
            "name": "the blue phone",
            "token_sha256": hexadecimal(64),
            "paired_at": NOON,
        },
        fleet.PairingCode: lambda: {
            "user": saved(valid(fleet.User)),
            "code_hmac": hexadecimal(64),
            "made_by": office(),
            "made_at": NOON,
            "expires_at": NOON + timedelta(minutes=10),
        },
        fleet.Exhibit: lambda: {
            "sha256": hexadecimal(64),
            "size_bytes": 1,
            "media_type": "image/jpeg",
            "kind": "PHOTO",
            "matched_by": "SENDER",
        },
        fleet.MetCoach: lambda: {
            "told_roof": uuid4(),
            "roof": roof(),
            "matched_at": NOON,
            "matched_by": office(),
        },
        fleet.StoredFile: lambda: {
            "sha256": hexadecimal(64),
            "size_bytes": 1,
            "media_type": "image/jpeg",
            "kept_at": NOON,
            "checked_at": NOON,
            "look": "PENDING",
        },
        fleet.Derivative: lambda: {
            "parent": stored_file(),
            "edge_px": 320,
            "sha256": hexadecimal(64),
            "size_bytes": 1,
            "width_px": 320,
            "height_px": 200,
        },
        fleet.LikenessBand: lambda: {
            "file": stored_file(),
            "position": 0,
            "bits": 0,
        },
        fleet.FieldOperation: lambda: {
            "device": device(),
            "op_id": uuid4(),
            "raw": b"{}",
            "sha256": hexadecimal(64),
            "received_at": NOON,
            "state": "KEPT_ASIDE",
            "stands": True,
        },
        fleet.FieldPhoto: lambda: {
            "device": device(),
            "photo": uuid4(),
            "sha256": hexadecimal(64),
            "size": 1,
            "media_type": "image/jpeg",
            "received_at": NOON,
            "stands": True,
        },
        fleet.TrayPhoto: lambda: {
            "file": stored_file(),
            "file_name": "vent.jpg",
            "reason": "no-visit-that-day",
            "state": "WAITING",
            "added_at": NOON,
        },
    }
)
RECORD_NAMES.update({"check": fleet.Check, "exhibit": fleet.Exhibit})

EVIDENCE_CASES: list[Case] = [
    *of_every_record("check", fleet.Check),
    *of_every_record("exhibit", fleet.Exhibit),
    case(
        "booking_kind_known",
        fleet.Booking,
        takes={"kind": "REPAIR"},
        refuses={"kind": "PARTY"},
    ),
    case(
        "booking_state_known",
        fleet.Booking,
        takes={"state": "DONE"},
        refuses={"state": "LOST"},
    ),
    case("check_step_given", fleet.Check, takes={"step": "a"}, refuses={"step": ""}),
    case(
        "check_answer_known",
        fleet.Check,
        takes={"answer": "NOT_APPLICABLE"},
        refuses={"answer": "PERHAPS"},
    ),
    case(
        "signing_key_well_formed",
        fleet.SigningKey,
        takes={"public_key": "0123456789abcdef" * 4},
        refuses={"public_key": "0123456789ABCDEF" * 4},
    ),
    case(
        "signing_key_endorsed_by_previous",
        fleet.SigningKey,
        takes=lambda first: {"previous": first, "endorsement": "a" * 128},
        refuses=lambda first: {"previous": first},
    ),
    case(
        "checkpoint_number_from_one",
        fleet.Checkpoint,
        takes={"number": 900},
        refuses={"number": 0},
    ),
    case(
        "checkpoint_root_well_formed",
        fleet.Checkpoint,
        takes={"root_sha256": "a" * 64},
        refuses={"root_sha256": "g" * 64},
    ),
    case(
        "checkpoint_signature_well_formed",
        fleet.Checkpoint,
        takes={"signature": "b" * 128},
        refuses={"signature": "b" * 127},
    ),
    case(
        "checkpoint_entry_when_not_empty",
        fleet.Checkpoint,
        takes=lambda _: {"size": 1, "last_entry": entry()},
        refuses={"size": 1},
    ),
    case(
        "field_device_named",
        fleet.FieldDevice,
        takes={"name": "b"},
        refuses={"name": ""},
    ),
    case(
        "field_device_revocation_complete",
        fleet.FieldDevice,
        takes=lambda _: {"revoked_at": NOON, "revoked_by": office()},
        refuses={"revoked_at": NOON},
    ),
    case(
        "pairing_code_expires_after_made",
        fleet.PairingCode,
        takes={"expires_at": NOON + timedelta(microseconds=1)},
        refuses={"expires_at": NOON},
    ),
    case(
        "exhibit_sha256_well_formed",
        fleet.Exhibit,
        takes={"sha256": "a" * 64},
        refuses={"sha256": "a" * 63},
    ),
    case(
        "exhibit_place_both_or_neither",
        fleet.Exhibit,
        takes={"x_m": "1.5", "y_m": 0},
        refuses={"x_m": "1.5"},
    ),
    case(
        "exhibit_not_its_own_before",
        fleet.Exhibit,
        takes={"uuid": UUID(int=71), "after_of": UUID(int=72)},
        refuses={"uuid": UUID(int=73), "after_of": UUID(int=73)},
    ),
    case(
        "exhibit_signer_role_on_sign_off",
        fleet.Exhibit,
        takes={"kind": "SIGN_OFF", "signer_role": "OWNER"},
        refuses={"kind": "PHOTO", "signer_role": "OWNER"},
    ),
    case(
        "exhibit_has_bytes",
        fleet.Exhibit,
        takes={"size_bytes": 1},
        refuses={"size_bytes": 0},
    ),
    case(
        "exhibit_media_type_known",
        fleet.Exhibit,
        takes={"media_type": "application/pdf"},
        refuses={"media_type": "text/html"},
    ),
    case(
        "exhibit_kind_known",
        fleet.Exhibit,
        takes={"kind": "SIGN_OFF"},
        refuses={"kind": "FILM"},
    ),
    case(
        "exhibit_matched_by_known",
        fleet.Exhibit,
        takes={"matched_by": "DAY"},
        refuses={"matched_by": "LUCK"},
    ),
    case(
        "exhibit_instant_goes_with_offset",
        fleet.Exhibit,
        takes={
            "taken_local": "2026-05-05T10:00:00",
            "taken_offset_min": -240,
            "taken_at": NOON,
        },
        refuses={"taken_local": "2026-05-05T10:00:00", "taken_at": NOON},
    ),
    case(
        "exhibit_device_time_both_or_neither",
        fleet.Exhibit,
        takes={"device_at": NOON, "device_offset_min": 0},
        refuses={"device_at": NOON},
    ),
    case(
        "exhibit_claim_holder_needs_claim",
        fleet.Exhibit,
        takes=lambda _: {
            "claim": uuid4(),
            "claim_holder": saved(valid(fleet.Owner)),
        },
        refuses=lambda _: {"claim_holder": saved(valid(fleet.Owner))},
    ),
    case(
        "stored_file_sha256_well_formed",
        fleet.StoredFile,
        takes={"sha256": "a" * 64},
        refuses={"sha256": "A" * 64},
    ),
    case(
        "stored_file_damage_known",
        fleet.StoredFile,
        takes={"damage": "GONE"},
        refuses={"damage": "WET"},
    ),
    case(
        "stored_file_look_known",
        fleet.StoredFile,
        takes={"look": "UNREADABLE"},
        refuses={"look": "PRETTY"},
    ),
    case(
        "stored_file_likeness_when_developed",
        fleet.StoredFile,
        takes={"look": "DEVELOPED", "likeness": 1},
        refuses={"likeness": 1},
    ),
    case(
        "derivative_edge_once_per_parent",
        fleet.Derivative,
        takes=lambda first: {"parent": first.parent, "edge_px": 1600},
        refuses=lambda first: {"parent": first.parent},
    ),
    case(
        "derivative_within_edge",
        fleet.Derivative,
        takes={"height_px": 1},
        refuses={"width_px": 321},
    ),
    case(
        "likeness_band_once",
        fleet.LikenessBand,
        takes=lambda first: {"file": first.file, "position": 1},
        refuses=lambda first: {"file": first.file},
    ),
    case(
        "likeness_band_in_range",
        fleet.LikenessBand,
        takes={"position": 3, "bits": 65535},
        refuses={"position": 4},
    ),
    case(
        "field_operation_body_once",
        fleet.FieldOperation,
        takes=lambda first: {
            "device": first.device,
            "op_id": first.op_id,
            "stands": False,
        },
        refuses=lambda first: {
            "device": first.device,
            "op_id": first.op_id,
            "sha256": first.sha256,
            "stands": False,
        },
    ),
    case(
        "field_operation_one_body_stands",
        fleet.FieldOperation,
        takes=lambda first: {"device": first.device},
        refuses=lambda first: {"device": first.device, "op_id": first.op_id},
    ),
    case(
        "field_operation_state_known",
        fleet.FieldOperation,
        takes={"state": "CONFLICT"},
        refuses={"state": "ODD"},
    ),
    case(
        "field_operation_applied_has_its_entry",
        fleet.FieldOperation,
        takes=lambda _: {"state": "APPLIED", "entry": entry()},
        refuses={"state": "APPLIED"},
    ),
    case(
        "field_operation_waits_for_something",
        fleet.FieldOperation,
        takes={"state": "WAITING", "waits_for": uuid4()},
        refuses={"state": "WAITING"},
    ),
    case(
        "field_operation_settlement_complete",
        fleet.FieldOperation,
        takes=lambda _: {"settlement": settlement(), **settled()},
        refuses=lambda _: {"settlement": settlement()},
    ),
    case(
        "field_photo_bytes_once",
        fleet.FieldPhoto,
        takes=lambda first: {
            "device": first.device,
            "photo": first.photo,
            "stands": False,
        },
        refuses=lambda first: {
            "device": first.device,
            "photo": first.photo,
            "sha256": first.sha256,
            "stands": False,
        },
    ),
    case(
        "field_photo_one_stands",
        fleet.FieldPhoto,
        takes=lambda first: {"device": first.device},
        refuses=lambda first: {"device": first.device, "photo": first.photo},
    ),
    case(
        "field_photo_size_positive",
        fleet.FieldPhoto,
        takes={"size": 1},
        refuses={"size": 0},
    ),
    case(
        "tray_photo_state_known",
        fleet.TrayPhoto,
        takes=lambda _: {"state": "LEFT_OUT", **settled()},
        refuses=lambda _: {"state": "LOST", **settled()},
    ),
    case(
        "tray_photo_settled_together",
        fleet.TrayPhoto,
        takes=lambda _: {"state": "LEFT_OUT", **settled()},
        refuses={"state": "LEFT_OUT"},
    ),
    case(
        "tray_photo_exhibit_when_assigned",
        fleet.TrayPhoto,
        takes=lambda _: {
            "state": "ASSIGNED",
            "exhibit": saved(valid(fleet.Exhibit)),
            **settled(),
        },
        refuses=lambda _: {"state": "ASSIGNED", **settled()},
    ),
]


def settlement() -> str:
    """Return one of the office's answers to what a phone sent."""
    field = fleet.FieldOperation._meta.get_field("settlement")
    return next(key for key, _ in field.choices if key != field.default)
