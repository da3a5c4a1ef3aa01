"""Which function does the runs of which kind. A new kind is one line here.

A handler takes a :class:`jobs.work.Work`, may commit batches inside
``work.writing()``, says how far it is with ``work.progress``, and returns its effect:
a function without arguments that writes the last rows and returns the ids to show. It
must be safe to run again from the start after any interruption.
"""

from __future__ import annotations

from jobs.certificates import KIND as CERTIFICATE
from jobs.certificates import render_certificate
from jobs.checkpoints import KIND as CHECKPOINT
from jobs.checkpoints import sign_checkpoint
from jobs.collecting import KIND as COLLECT_FILES
from jobs.collecting import collect_files
from jobs.day_turn import turn_the_day
from jobs.exhibits import CHECK as CHECK_FILES
from jobs.exhibits import DEVELOP as DEVELOP_PICTURE
from jobs.exhibits import MATCH as MATCH_PHOTOS
from jobs.exhibits import check_files, develop_picture, match_folder
from jobs.imports import KIND as IMPORT_WORKBOOK
from jobs.imports import import_workbook
from jobs.packets import KIND as CLAIM_PACKET
from jobs.packets import render_packet
from jobs.standings import reassess_due_standings
from jobs.what_if import KIND as WHAT_IF
from jobs.what_if import replay_edition
from jobs.work import Handler

HANDLERS: dict[str, Handler] = {
    CERTIFICATE: render_certificate,
    CHECKPOINT: sign_checkpoint,
    CHECK_FILES: check_files,
    CLAIM_PACKET: render_packet,
    COLLECT_FILES: collect_files,
    DEVELOP_PICTURE: develop_picture,
    IMPORT_WORKBOOK: import_workbook,
    MATCH_PHOTOS: match_folder,
    WHAT_IF: replay_edition,
    "reassess_due": reassess_due_standings,
    "turn_the_day": turn_the_day,
}
