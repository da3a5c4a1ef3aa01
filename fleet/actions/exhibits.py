"""Exhibits: look at what came in, record it, and keep track of its bytes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from uuid import UUID, uuid4

from django.conf import settings
from django.utils.module_loading import import_string

from fleet import store
from fleet.actions.errors import InvalidValue
from fleet.actions.recording import already_recorded, recording
from fleet.actions.roofs import text
from fleet.errors import DomainError
from fleet.exhibits.carrier import read_header
from fleet.exhibits.exif import Capture, capture_of
from fleet.exhibits.likeness import bands_of
from fleet.exhibits.limits import why_refused
from fleet.exhibits.matching import place_text
from fleet.exhibits.sniff import SNIFF_BYTES, MediaType, media_type_of
from fleet.models import (
    OFFICE_SCOPE,
    Damage,
    Derivative,
    Exhibit,
    ExhibitKind,
    Finding,
    LikenessBand,
    Look,
    MatchedBy,
    PrivateText,
    Roof,
    StoredFile,
    User,
    Visit,
)
from fleet.selectors.exhibits import SIGNED_BITS, ClaimPlace
from fleet.store import Incoming

SIGN_BIT = 1 << 63
REASON_LENGTH = 200
LOCAL_FORMAT = "%Y-%m-%dT%H:%M:%S"


class NotAnExhibit(DomainError):
    """The bytes are no photo or file that can be an exhibit."""

    code = "unsupported-file"
    http_status = 415


class PictureRefused(DomainError):
    """The picture declares more than may be decoded."""

    code = "picture-refused"
    http_status = 422


class HashMismatch(DomainError):
    """What arrived is not what was sent."""

    code = "hash-mismatch"
    http_status = 422


@dataclass(frozen=True, slots=True, kw_only=True)
class Examined:
    """What a file is and says of itself, read from its headers alone."""

    sha256: str
    size_bytes: int
    media_type: MediaType
    capture: Capture


@dataclass(frozen=True, slots=True, kw_only=True)
class Copy:
    """One small copy of a picture, kept under its own hash."""

    edge_px: int
    sha256: str
    size_bytes: int
    width_px: int
    height_px: int


def examine(file: Incoming, *, expected_sha256: str = "") -> Examined:
    """Return what a received file is; its name and declared type have no say.

    Raises:
        NotAnExhibit: its first bytes are of no kind that is taken.
        PictureRefused: it declares more pixels than may be decoded.
        HashMismatch: it is not the file that its sender meant.
    """
    if expected_sha256 and file.sha256 != expected_sha256.lower():
        raise HashMismatch(
            "The file did not arrive as it was sent. Send it again.",
            received=file.sha256,
        )
    media_type = media_type_of(file.read_at(0, SNIFF_BYTES))
    if media_type is None:
        raise NotAnExhibit(
            "This is no JPEG, PNG, WebP, HEIC or PDF file. Send one of these."
        )
    header = read_header(file.read_at, media_type)
    # A header that is cut off declares nothing: the file is kept, and called
    # unreadable when its copies are made.
    if header.width_px or header.height_px:
        why = why_refused(
            width_px=header.width_px,
            height_px=header.height_px,
            size_bytes=file.size_bytes,
        )
        if why:
            raise PictureRefused(f"{why} Send a smaller picture.")
    return Examined(
        sha256=file.sha256,
        size_bytes=file.size_bytes,
        media_type=media_type,
        capture=capture_of(header.exif),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Showing:
    """What a sender says that a file shows."""

    kind: str = ""
    visit: Visit | None = None
    finding: Finding | None = None
    claim: UUID | None = None
    penetration_label: str = ""
    caption: str = ""
    device_at: datetime | None = None
    matched_by: str = MatchedBy.SENDER
    x_m: Decimal | None = None
    y_m: Decimal | None = None
    after_of: UUID | None = None
    signer_role: str = ""


def add_exhibit(
    *,
    roof: Roof,
    file: Examined,
    by: User,
    now: datetime,
    showing: Showing,
    uuid: UUID | None = None,
    scope: str = OFFICE_SCOPE,
) -> tuple[Exhibit, bool]:
    """Record an exhibit whose bytes are in the store; return it, and whether it is new.

    Raises:
        InvalidValue: visit, finding or claim are about another roof; half a place; a
            signer of what is no sign-off; the *after* of itself.
        RecordConflict: the uuid was used before for something else.
    """
    _refuse_misfits(showing, roof, uuid)
    place = _claim_place(showing.claim, roof)
    capture = file.capture
    local = capture.taken_local
    exhibit = Exhibit(
        roof=roof,
        uuid=uuid or uuid4(),
        scope=scope,
        sha256=file.sha256,
        size_bytes=file.size_bytes,
        media_type=file.media_type.value,
        kind=showing.kind or _usual_kind(file.media_type),
        visit=showing.visit,
        finding=showing.finding,
        claim=showing.claim,
        claim_holder_id=place.holder_id if place else None,
        penetration_label=showing.penetration_label,
        caption=text(showing.caption),
        taken_local=local.strftime(LOCAL_FORMAT) if local else "",
        taken_offset_min=capture.offset_min if local else None,
        taken_at=capture.taken_at,
        place=captured_place(capture),
        device_at=showing.device_at,
        device_offset_min=_offset_min(showing.device_at),
        matched_by=showing.matched_by,
        x_m=showing.x_m,
        y_m=showing.y_m,
        after_of=showing.after_of,
        signer_role=showing.signer_role,
    )
    with recording(by=by, now=now, scope=scope) as made:
        made.lock([roof.pk])
        known = already_recorded(exhibit)
        note_file(file, now=now, is_known=known is not None)
        if known is not None:
            return known, False
        made.append(roof, "exhibit", [exhibit])
    return exhibit, True


def _refuse_misfits(showing: Showing, roof: Roof, uuid: UUID | None) -> None:
    for field, fact in (("visit", showing.visit), ("finding", showing.finding)):
        if fact is not None and fact.roof_id != roof.pk:
            raise InvalidValue(field, f"This {field} is about another roof.")
    if (showing.x_m is None) is not (showing.y_m is None):
        missing = "x_m" if showing.x_m is None else "y_m"
        raise InvalidValue(missing, "A place has x and y.")
    if showing.signer_role and showing.kind != ExhibitKind.SIGN_OFF:
        raise InvalidValue("signer_role", "Only a sign-off has a signer.")
    if showing.after_of is not None and showing.after_of == uuid:
        raise InvalidValue("after_of", "Name the exhibit that shows the place before.")


def note_file(file: Examined, *, now: datetime, is_known: bool = False) -> StoredFile:
    """Keep track of bytes that were just put into the store, whole.

    What was erased stays erased when a sender that did not hear of it sends it again.
    """
    row, created = StoredFile.objects.get_or_create(
        sha256=file.sha256,
        defaults={
            "size_bytes": file.size_bytes,
            "media_type": file.media_type.value,
            "kept_at": now,
            "checked_at": now,
            "look": Look.PENDING if file.media_type.is_picture else Look.NOT_A_PICTURE,
        },
    )
    if is_known and row.damage == Damage.ERASED:
        return row
    if not created:
        # Writing them again has put damaged bytes right.
        note_check(row, damage=Damage.NONE, now=now)
    if row.look == Look.NOT_A_PICTURE and file.media_type.is_picture:
        # Known as the copy of another picture so far.
        row.look = Look.PENDING
        row.save(update_fields=["look"])
    return row


def note_kept(files: Iterable[tuple[str, int, str]], *, now: datetime) -> int:
    """Keep track of files that are no exhibits: their hash, size and media type."""
    rows = [
        StoredFile(
            sha256=digest,
            size_bytes=size_bytes,
            media_type=media_type,
            kept_at=now,
            # Never read back so far.
            checked_at=now.replace(year=2000, month=1, day=1),
            look=Look.NOT_A_PICTURE,
        )
        for digest, size_bytes, media_type in files
    ]
    StoredFile.objects.bulk_create(rows, ignore_conflicts=True, batch_size=500)
    return len(rows)


def note_check(row: StoredFile, *, damage: str, now: datetime) -> None:
    """Write down how a file was found in the store."""
    row.damage, row.checked_at = damage, now
    # Read while it was being erased: it is not lost, it is erased.
    rows = StoredFile.objects.filter(pk=row.pk)
    if damage != Damage.NONE:
        rows = rows.exclude(damage=Damage.ERASED)
    rows.update(damage=damage, checked_at=now)


def note_look(
    row: StoredFile,
    *,
    look: str,
    reason: str = "",
    likeness: int | None = None,
    copies: Sequence[Copy] = (),
    now: datetime,
) -> None:
    """Write down what came of making a picture's small copies. Twice is once."""
    row.look, row.look_reason = look, reason[:REASON_LENGTH]
    row.likeness = None if likeness is None else _signed(likeness)
    row.save(update_fields=["look", "look_reason", "likeness"])
    for copy in copies:
        Derivative.objects.update_or_create(
            parent=row,
            edge_px=copy.edge_px,
            defaults={
                "sha256": copy.sha256,
                "size_bytes": copy.size_bytes,
                "width_px": copy.width_px,
                "height_px": copy.height_px,
            },
        )
    note_kept([(c.sha256, c.size_bytes, "image/jpeg") for c in copies], now=now)
    if likeness is not None:
        bands = [
            LikenessBand(file=row, position=position, bits=bits)
            for position, bits in enumerate(bands_of(likeness))
        ]
        LikenessBand.objects.bulk_create(bands, ignore_conflicts=True)


def captured_place(capture: Capture) -> PrivateText | None:
    """Return the place of a capture as a text that can be erased."""
    if capture.latitude is None or capture.longitude is None:
        return None
    return text(place_text((capture.latitude, capture.longitude)))


def receive_file(path: Path, file: Incoming) -> None:
    """Copy a file from a folder of this machine into the store's way in."""
    with path.open("rb") as source:
        while chunk := source.read(store.CHUNK_BYTES):
            file.write(chunk)


def _usual_kind(media_type: MediaType) -> str:
    return ExhibitKind.PHOTO if media_type.is_picture else ExhibitKind.DOCUMENT


def _claim_place(claim: UUID | None, roof: Roof) -> ClaimPlace | None:
    if claim is None:
        return None
    place: ClaimPlace | None = import_string(settings.CLAIM_PLACE)(claim)
    if place is None or place.roof_id != roof.pk:
        raise InvalidValue("claim", "There is no such claim on this roof.")
    return place


def _offset_min(moment: datetime | None) -> int | None:
    offset = moment.utcoffset() if moment else None
    return None if offset is None else int(offset.total_seconds() // 60)


def _signed(likeness: int) -> int:
    """Return 64 bits as the signed number that databases have."""
    return likeness - SIGNED_BITS if likeness & SIGN_BIT else likeness
