"""Photos that wait: put them into the tray, and take them out again."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID, uuid5

from django.db import transaction

from fleet.actions.exhibits import (
    LOCAL_FORMAT,
    Examined,
    Showing,
    add_exhibit,
    captured_place,
    note_file,
)
from fleet.errors import DomainError
from fleet.exhibits.exif import Capture, parsed_time
from fleet.exhibits.matching import Match, Unmatched, parsed_place
from fleet.exhibits.sniff import MediaType
from fleet.models import Exhibit, MatchedBy, TrayPhoto, TrayState, User, Visit

# Names the exhibit that a file of an old folder becomes: the same file, the same one.
FOLDER_NAMES = UUID("7d3f4c52-3a0e-4b8e-9a47-1f0c9a6f2f11")
FOLDER_SCOPE = "folder"
NAME_LENGTH = 200


class TrayPhotoSettled(DomainError):
    """The photo no longer waits: somebody was first."""

    code = "tray-photo-settled"
    http_status = 409


def settle_match(
    *, file: Examined, file_name: str, match: Match, by: User, now: datetime
) -> Exhibit | TrayPhoto:
    """Record a matched photo as an exhibit of its visit, or put it into the tray.

    A file that is recorded or waits already stays where it is.
    """
    if match.visit is not None and match.basis is not None:
        visit = Visit.objects.select_related("roof").get(pk=match.visit)
        return _exhibit_of(file, visit, match.basis.value, by, now)
    with transaction.atomic():
        row, _ = TrayPhoto.objects.get_or_create(
            file=note_file(file, now=now),
            defaults=_waiting(file, file_name, match.unmatched, now),
        )
    return row


def assign_from_tray(
    *, photo: TrayPhoto, visit: Visit, by: User, now: datetime
) -> Exhibit:
    """Record a waiting photo as an exhibit of the visit that the office names.

    Raises:
        TrayPhotoSettled: it no longer waits.
    """
    with transaction.atomic():
        held = _held(photo)
        taken = parsed_time(held.taken_local.replace("-", ":").replace("T", " "))
        place = parsed_place(held.place.body) if held.place else None
        file = Examined(
            sha256=held.file.sha256,
            size_bytes=held.file.size_bytes,
            media_type=MediaType(held.file.media_type),
            capture=Capture(
                taken_local=taken,
                offset_min=held.taken_offset_min,
                latitude=place[0] if place else None,
                longitude=place[1] if place else None,
            ),
        )
        exhibit = _exhibit_of(file, visit, MatchedBy.OFFICE.value, by, now)
        _settle(held, TrayState.ASSIGNED, exhibit, by, now)
    return exhibit


def leave_out_of_tray(*, photo: TrayPhoto, by: User, now: datetime) -> TrayPhoto:
    """Set a waiting photo aside as belonging to no visit.

    Raises:
        TrayPhotoSettled: it no longer waits.
    """
    with transaction.atomic():
        held = _held(photo)
        _settle(held, TrayState.LEFT_OUT, None, by, now)
    return held


def _exhibit_of(
    file: Examined, visit: Visit, matched_by: str, by: User, now: datetime
) -> Exhibit:
    uuid = uuid5(FOLDER_NAMES, file.sha256)
    known = Exhibit.objects.filter(scope=FOLDER_SCOPE, uuid=uuid).first()
    if known is not None:
        return known
    exhibit, _ = add_exhibit(
        roof=visit.roof,
        file=file,
        showing=Showing(visit=visit, matched_by=matched_by),
        uuid=uuid,
        scope=FOLDER_SCOPE,
        by=by,
        now=now,
    )
    return exhibit


def _waiting(
    file: Examined, file_name: str, unmatched: Unmatched | None, now: datetime
) -> dict[str, object]:
    local = file.capture.taken_local
    place = captured_place(file.capture)
    if place is not None:
        place.save()
    return {
        "file_name": file_name[-NAME_LENGTH:],
        "reason": (unmatched or Unmatched.NO_VISIT_THAT_DAY).value,
        "taken_local": local.strftime(LOCAL_FORMAT) if local else "",
        "taken_offset_min": file.capture.offset_min if local else None,
        "place": place,
        "added_at": now,
    }


def _held(photo: TrayPhoto) -> TrayPhoto:
    rows = TrayPhoto.objects.select_for_update(of=("self",))
    held = rows.select_related("file", "place").get(pk=photo.pk)
    if held.state != TrayState.WAITING:
        raise TrayPhotoSettled("This photo no longer waits. Load the tray again.")
    return held


def _settle(
    held: TrayPhoto,
    state: TrayState,
    exhibit: Exhibit | None,
    by: User,
    now: datetime,
) -> None:
    held.state, held.exhibit = state, exhibit
    held.settled_at, held.settled_by = now, by
    held.save(update_fields=["state", "exhibit", "settled_at", "settled_by"])
