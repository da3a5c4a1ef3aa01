"""Which function does the runs of which kind. A new kind is one line here.

A handler takes a :class:`jobs.work.Work`, may commit batches inside
``work.writing()``, says how far it is with ``work.progress``, and returns its effect:
a function without arguments that writes the last rows and returns the ids to show. It
must be safe to run again from the start after any interruption.
"""

from __future__ import annotations

from jobs.imports import KIND as IMPORT_WORKBOOK
from jobs.imports import import_workbook
from jobs.packets import KIND as CLAIM_PACKET
from jobs.packets import render_packet
from jobs.standings import reassess_due_standings
from jobs.work import Handler

HANDLERS: dict[str, Handler] = {
    CLAIM_PACKET: render_packet,
    IMPORT_WORKBOOK: import_workbook,
    "reassess_due": reassess_due_standings,
}
