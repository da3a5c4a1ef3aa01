"""Exhibits, later: small copies, checks of what is stored, folders of old photos."""

from __future__ import annotations

import logging
import tempfile
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path
from uuid import UUID

from django.db import transaction

from fleet import store
from fleet.actions.erased_files import remove_erased
from fleet.actions.exhibits import (
    Copy,
    Examined,
    NotAnExhibit,
    PictureRefused,
    Showing,
    add_exhibit,
    examine,
    note_check,
    note_kept,
    note_look,
    receive_file,
)
from fleet.actions.tray import settle_match
from fleet.actions.users import user_or_register
from fleet.errors import DomainError, RecordConflict
from fleet.exhibits.limits import MAX_FILE_BYTES
from fleet.exhibits.matching import match_photo
from fleet.exhibits.sniff import MediaType
from fleet.models import (
    OFFICE_SCOPE,
    Damage,
    Exhibit,
    Roof,
    StoredFile,
    TrayPhoto,
    User,
)
from fleet.selectors.exhibits import (
    exhibit_under,
    file_of,
    files_due,
    visit_days,
)
from fleet.store import Incoming
from jobs import runs
from jobs.darkroom import Developed, develop_apart
from jobs.models import Lane, Run
from jobs.work import Effect, Work
from warranty.selectors.documents import documents_kept

logger = logging.getLogger(__name__)

DEVELOP, CHECK, MATCH = "develop_picture", "check_files", "match_photos"
CHECK_EVERY = timedelta(days=30)
CHECK_BATCH = 20
TOKEN_LENGTH = 12


class FolderMissing(DomainError):
    """The folder of photos is not there for the runner."""

    code = "folder-missing"
    http_status = 409


def take_in(
    file: Incoming,
    *,
    roof: Roof,
    by: User,
    now: datetime,
    uuid: UUID,
    scope: str = OFFICE_SCOPE,
    expected_sha256: str = "",
    showing: Showing,
) -> tuple[Exhibit, bool]:
    """Keep a received file and record it; return the exhibit and whether it is new.

    First the bytes are on disk, then the row and the run that makes its copies, and
    only then the caller hears of it.

    Raises:
        NotAnExhibit, PictureRefused, HashMismatch: see :func:`examine`.
        NotKept: the disk failed; nothing is recorded.
        InvalidValue, RecordConflict: see :func:`add_exhibit`.
    """
    known = exhibit_under(uuid, scope)
    if known is not None and known.sha256 != file.sha256:
        raise RecordConflict(
            "This id was used before for another file. Send it under a new id.",
            uuid=str(uuid),
        )
    examined = examine(file, expected_sha256=expected_sha256)
    file.keep()
    with transaction.atomic():
        exhibit, created = add_exhibit(
            roof=roof,
            file=examined,
            by=by,
            now=now,
            uuid=uuid,
            scope=scope,
            showing=showing,
        )
        request_copies(examined, by=by, now=now)
    return exhibit, created


def request_copies(file: Examined, *, by: User | None, now: datetime) -> Run | None:
    """Ask for a picture's small copies; the same picture is developed once."""
    if not file.media_type.is_picture:
        return None
    return runs.start(
        kind=DEVELOP,
        payload={"sha256": file.sha256},
        by=by,
        now=now,
        lane=Lane.HEAVY,
        dedupe_key=f"{DEVELOP}:{file.sha256}",
    )


def develop_picture(work: Work) -> Effect:
    """Make a picture's small copies. Safe to run again: equal bytes, equal copies.

    Raises:
        FileGone, FileDamaged: the original is not what it was.
    """
    digest = str(work.payload["sha256"])
    row = file_of(digest)
    if row is None:
        raise store.FileGone(digest)
    with tempfile.TemporaryDirectory(prefix="roofreg-") as name:
        folder = Path(name)
        source = folder / "source"
        _copy_out(digest, source)
        made = develop_apart(source, MediaType(row.media_type), folder)
        copies = [_kept_copy(made, folder, place) for place in range(len(made.sizes))]

    def effect() -> Mapping[str, object]:
        note_look(
            row,
            look=made.outcome,
            reason=made.reason,
            likeness=made.likeness,
            copies=copies,
            now=work.clock(),
        )
        return {"sha256": digest, "look": made.outcome}

    return effect


def check_files(work: Work) -> Effect:
    """Read back every file that was not read for thirty days, and note what is wrong.

    Files of documents and copies are taken up first, so that nothing that is kept goes
    unread.
    """
    with work.writing():
        note_kept(
            (
                (row.sha256, row.size_bytes, MediaType.PDF.value)
                for row in documents_kept().iterator()
            ),
            now=work.clock(),
        )
    store.sweep_unfinished()
    remove_erased()
    checked = damaged = 0
    started_at = work.clock()
    while due := files_due(checked_before=started_at - CHECK_EVERY, limit=CHECK_BATCH):
        for row in due:
            damage = _damage_of(row)
            with work.writing():
                note_check(row, damage=damage, now=work.clock())
            checked, damaged = checked + 1, damaged + (damage != Damage.NONE)
            work.progress.step(f"{checked} files read, {damaged} damaged")

    def effect() -> Mapping[str, object]:
        return {"checked": checked, "damaged": damaged}

    return effect


def request_matching(
    *, folder: Path, technician: str, by: User | None, now: datetime
) -> Run:
    """Ask for a folder of old photos to be matched to visits."""
    return runs.start(
        kind=MATCH,
        payload={"folder": str(folder), "technician": technician},
        by=by,
        now=now,
        lane=Lane.HEAVY,
    )


def match_folder(work: Work) -> Effect:
    """Match a folder's photos to visits; what cannot be matched waits in the tray.

    Safe to run again: a file that is recorded or waits already is left where it is.

    Raises:
        FolderMissing: the runner sees no such folder.
    """
    folder = Path(str(work.payload["folder"]))
    technician = str(work.payload["technician"])
    if not folder.is_dir():
        raise FolderMissing(f"There is no folder {folder} where the runner works.")
    paths = sorted(path for path in folder.rglob("*") if path.is_file())
    work.progress.total(len(paths))
    counts = {"matched": 0, "waiting": 0, "skipped": 0}
    for path in paths:
        counts[_match_file(work, path, folder, technician)] += 1
        work.progress.step(path.name)

    def effect() -> Mapping[str, object]:
        return counts

    return effect


def _match_file(work: Work, path: Path, folder: Path, technician: str) -> str:
    now = work.clock()
    with store.incoming(max_bytes=MAX_FILE_BYTES) as file:
        try:
            receive_file(path, file)
            examined = examine(file)
        except (NotAnExhibit, PictureRefused, store.TooLarge) as refusal:
            logger.info("%s is left out: %s", path.name, refusal.message)
            return "skipped"
        if not examined.media_type.is_picture:
            return "skipped"
        file.keep()
    capture = examined.capture
    day = capture.taken_local.date() if capture.taken_local else None
    has_place = capture.latitude is not None and capture.longitude is not None
    match = match_photo(
        taken_on=day,
        place=(capture.latitude, capture.longitude) if has_place else None,
        visits=visit_days([day], technician=technician) if day else (),
    )
    by = user_or_register(work.requested_by_id)
    with work.writing():
        settled = settle_match(
            file=examined,
            file_name=str(path.relative_to(folder)),
            match=match,
            by=by,
            now=now,
        )
        request_copies(examined, by=by, now=now)
    return "waiting" if isinstance(settled, TrayPhoto) else "matched"


def _copy_out(digest: str, target: Path) -> None:
    with store.opened(digest) as kept, target.open("wb") as copy:
        while chunk := kept.read(store.CHUNK_BYTES):
            copy.write(chunk)


def _kept_copy(made: Developed, folder: Path, place: int) -> Copy:
    size = made.sizes[place]
    content = (folder / f"{size.edge_px}.jpg").read_bytes()
    return Copy(
        edge_px=size.edge_px,
        sha256=store.keep(content),
        size_bytes=len(content),
        width_px=size.width_px,
        height_px=size.height_px,
    )


def _damage_of(row: StoredFile) -> str:
    try:
        store.check(row.sha256)
    except store.FileGone:
        damage = Damage.GONE
    except store.FileDamaged:
        damage = Damage.DAMAGED
    else:
        return Damage.NONE
    logger.error("File %s is %s in the store.", row.sha256[:TOKEN_LENGTH], damage.label)
    return damage
