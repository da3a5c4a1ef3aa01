"""Fill an exhibit from the bytes that a phone sent for it."""

from __future__ import annotations

from fleet import store
from fleet.actions.exhibits import LOCAL_FORMAT, NotAnExhibit, captured_place
from fleet.exhibits.carrier import read_header
from fleet.exhibits.exif import Capture, capture_of
from fleet.exhibits.sniff import MediaType
from fleet.models import Exhibit, FieldPhoto


def fill(exhibit: Exhibit, photo: FieldPhoto) -> None:
    """Tell an exhibit what its bytes are and say of themselves.

    Raises:
        NotAnExhibit: the bytes are of no kind that is taken; they are kept.
        FileGone: the bytes are not in the store.
        FileDamaged: they have changed there.
    """
    if not photo.media_type:
        raise NotAnExhibit(
            "The bytes are no JPEG, PNG, WebP, HEIC or PDF file. They are kept for the "
            "office to look at."
        )
    capture = _capture(photo)
    local = capture.taken_local
    exhibit.size_bytes, exhibit.media_type = photo.size, photo.media_type
    exhibit.taken_local = local.strftime(LOCAL_FORMAT) if local else ""
    exhibit.taken_offset_min = capture.offset_min if local else None
    exhibit.taken_at = capture.taken_at
    exhibit.place = captured_place(capture)


def _capture(photo: FieldPhoto) -> Capture:
    with store.opened(photo.sha256) as file:

        def read_at(offset: int, length: int) -> bytes:
            file.seek(max(0, offset))
            return file.read(max(0, length))

        header = read_header(read_at, MediaType(photo.media_type))
    return capture_of(header.exif)
