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
from jobs.day_turn import turn_the_day
from jobs.exhibits import CHECK as CHECK_FILES
from jobs.exhibits import DEVELOP as DEVELOP_PICTURE
from jobs.exhibits import MATCH as MATCH_PHOTOS
from jobs.exhibits import check_files, develop_picture, match_folder
from jobs.imports import KIND as IMPORT_WORKBOOK
from jobs.imports import import_workbook
from jobs.notices.kinds import SEND_MESSAGE, SWEEP_NOTICES, TELL_OFFICE
from jobs.notices.sending import send_message, write_to_office
from jobs.notices.sweep import sweep_notices
from jobs.notices.tidying import KIND as FORGET_ERASED
from jobs.notices.tidying import forget_erased
from jobs.packet_rendering import render_packet
from jobs.packets import KIND as CLAIM_PACKET
from jobs.pruning import KIND as PRUNE_RUNS
from jobs.pruning import prune_runs
from jobs.reports import KIND as INSPECTION_REPORT
from jobs.reports import render_report
from jobs.standings import reassess_due_standings
from jobs.what_if import KIND as WHAT_IF
from jobs.what_if import replay_edition
from jobs.work import Handler

HANDLERS: dict[str, Handler] = {
    CERTIFICATE: render_certificate,
    CHECKPOINT: sign_checkpoint,
    CHECK_FILES: check_files,
    CLAIM_PACKET: render_packet,
    DEVELOP_PICTURE: develop_picture,
    IMPORT_WORKBOOK: import_workbook,
    INSPECTION_REPORT: render_report,
    MATCH_PHOTOS: match_folder,
    PRUNE_RUNS: prune_runs,
    FORGET_ERASED: forget_erased,
    SEND_MESSAGE: send_message,
    SWEEP_NOTICES: sweep_notices,
    TELL_OFFICE: write_to_office,
    WHAT_IF: replay_edition,
    "reassess_due": reassess_due_standings,
    "turn_the_day": turn_the_day,
}
