"""Rows of later work."""

from __future__ import annotations

from jobs.models.run import FINISHED, UNFINISHED, Lane, Run, RunState
from jobs.models.runner_beat import RunnerBeat

__all__ = ["FINISHED", "UNFINISHED", "Lane", "Run", "RunState", "RunnerBeat"]
