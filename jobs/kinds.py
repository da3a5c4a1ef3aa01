"""The kinds of later work by name, for pages that must not import what does it."""

from __future__ import annotations

from typing import Final

KINDS: Final = (
    "certificate",
    "check_files",
    "checkpoint",
    "claim_packet",
    "develop_picture",
    "forget_erased",
    "import_workbook",
    "inspection_report",
    "match_photos",
    "prune_runs",
    "reassess_due",
    "send_message",
    "sweep_notices",
    "tell_office",
    "turn_the_day",
    "what_if",
)
