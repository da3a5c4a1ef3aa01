"""Exhibits for a packet: their clocks, and the small copies that the page shows."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta, timezone
from uuid import UUID

from fleet.exhibits.clocks import ClockDoubt
from fleet.exhibits.limits import THUMBNAIL_EDGE_PX
from fleet.exhibits.sniff import MediaType
from fleet.models import Damage, Exhibit, ExhibitKind, Look, StoredFile
from fleet.selectors.exhibits import exhibits_that_count, files_of
from fleet.store import FileDamaged, FileGone, fetch
from warranty.documents.facts import ExhibitFacts, PictureFacts

_CLOCK_WORDS = {
    ClockDoubt.NO_TAKEN_TIME: "the camera told no time",
    ClockDoubt.NO_OFFSET: "the camera told no offset from UTC",
    ClockDoubt.TAKEN_AFTER_RECEIPT: "the camera's time is later than the receipt",
    ClockDoubt.DEVICE_AHEAD: "the device's clock was ahead of the receipt",
    ClockDoubt.TAKEN_AND_DEVICE_DISAGREE: "camera and device tell different times",
}
_WHY_NONE = {
    Look.UNREADABLE.value: "its picture cannot be decoded",
    Look.NO_DECODER.value: "there is no decoder for its kind of picture here",
    Look.NOT_A_PICTURE.value: "it is a file and no picture",
}
_WHY_DAMAGED = {
    Damage.GONE.value: "its bytes are not in the store any more",
    Damage.DAMAGED.value: "its bytes in the store are not what they were",
}


def exhibits_shown(
    roof_id: int, *, known_at: datetime, claim: UUID | None = None
) -> list[Exhibit]:
    """Return the exhibits about a roof that a document may show, in order of receipt.

    What belongs to a claim is shown with that claim alone: another holder's photos of
    their rooms are nobody else's to see.
    """
    rows = exhibits_that_count(roof_id, known_at=known_at)
    return [row for row in rows if row.claim is None or row.claim == claim]


def undeveloped(rows: Iterable[Exhibit]) -> tuple[str, ...]:
    """Return the hashes of pictures whose small copies are not made yet."""
    pictures = {
        row.sha256: None for row in rows if MediaType(row.media_type).is_picture
    }
    files = files_of(pictures)
    return tuple(
        digest
        for digest in pictures
        if digest in files
        and files[digest].look == Look.PENDING
        and files[digest].damage == Damage.NONE
    )


def exhibit_facts(rows: list[Exhibit]) -> tuple[ExhibitFacts, ...]:
    """Return exhibits with their pictures, numbered in their order."""
    files = files_of(row.sha256 for row in rows)
    numbers = {row.uuid: f"E{order}" for order, row in enumerate(rows, start=1)}
    return tuple(
        _facts(row, numbers=numbers, file=files.get(row.sha256)) for row in rows
    )


def _facts(
    row: Exhibit, *, numbers: dict[UUID, str], file: StoredFile | None
) -> ExhibitFacts:
    picture = _picture(file)
    return ExhibitFacts(
        number=numbers[row.uuid],
        sha256=row.sha256,
        caption=str(row.caption) if row.caption else "",
        captured_at=_camera(row),
        device_at=_with_offset(row.device_at, row.device_offset_min),
        received_at=row.recorded_at,
        visit_ref=row.visit.ref if row.visit else "",
        kind=ExhibitKind(row.kind).label,
        media_type=row.media_type,
        size_bytes=row.size_bytes,
        place_label=row.penetration_label,
        x_m=None if row.x_m is None else float(row.x_m),
        y_m=None if row.y_m is None else float(row.y_m),
        after_of=numbers.get(row.after_of, "") if row.after_of else "",
        clock_doubts=tuple(_CLOCK_WORDS[each] for each in row.clock_doubts),
        picture=picture,
        no_picture="" if picture else _why_none(file),
    )


def _camera(row: Exhibit) -> str:
    if not row.taken_local:
        return ""
    shown = row.taken_local.replace("T", " ")
    if row.taken_offset_min is None:
        return f"{shown}, offset not told"
    zone = timezone(timedelta(minutes=row.taken_offset_min))
    return f"{shown} {datetime(2000, 1, 1, tzinfo=zone).isoformat()[-6:]}"


def _with_offset(moment: datetime | None, offset_min: int | None) -> str:
    if moment is None or offset_min is None:
        return ""
    zone = timezone(timedelta(minutes=offset_min))
    return moment.astimezone(zone).isoformat(" ", timespec="seconds")


def _picture(file: StoredFile | None) -> PictureFacts | None:
    if file is None or file.look != Look.DEVELOPED:
        return None
    copies = [c for c in file.derivatives.all() if c.edge_px == THUMBNAIL_EDGE_PX]
    if not copies:
        return None
    try:
        content = fetch(copies[0].sha256)
    except (FileGone, FileDamaged):
        return None
    return PictureFacts(
        content=content,
        width_px=copies[0].width_px,
        height_px=copies[0].height_px,
    )


def _why_none(file: StoredFile | None) -> str:
    if file is None:
        return "nothing is known of its bytes"
    if file.damage != Damage.NONE:
        return _WHY_DAMAGED[file.damage]
    return _WHY_NONE.get(file.look, "its small copy is not in the store")
