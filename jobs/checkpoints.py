"""The nightly checkpoint."""

from __future__ import annotations

from collections.abc import Mapping

from fleet.actions.checkpoints import make_checkpoint
from fleet.selectors.checkpoints import current_key
from jobs.work import Effect, Work

KIND = "checkpoint"


def sign_checkpoint(work: Work) -> Effect:
    """Sign a checkpoint. Run twice, there are two: each tells the truth of its time.

    Signed before the effect: the reading must not hold the row's transaction. A
    register whose key was never made is not set up to sign, and its run says so.
    """
    if current_key() is None:
        return lambda: {"checkpoint": None, "why": "no signing key was made"}
    row = make_checkpoint(
        now=work.clock(), tick=lambda: work.progress.step("reading the ledgers")
    )

    def effect() -> Mapping[str, object]:
        return {"checkpoint": row.number, "root": row.root_sha256}

    return effect
