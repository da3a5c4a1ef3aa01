"""Rows of later work."""

from __future__ import annotations

from jobs.models.notice import (
    NEEDS_A_LOOK,
    Channel,
    Language,
    Message,
    MessageState,
    Notice,
    NoticeWatch,
    StopCause,
    StoppedAddress,
    Wish,
)
from jobs.models.run import FINISHED, UNFINISHED, Lane, Run, RunState
from jobs.models.runner_beat import RunnerBeat

__all__ = [
    "FINISHED",
    "NEEDS_A_LOOK",
    "UNFINISHED",
    "Channel",
    "Lane",
    "Language",
    "Message",
    "MessageState",
    "Notice",
    "NoticeWatch",
    "Run",
    "RunState",
    "RunnerBeat",
    "StopCause",
    "StoppedAddress",
    "Wish",
]
