"""The recurring look at standings whose day has come."""

from __future__ import annotations

from collections.abc import Mapping

from jobs.work import Effect, Work
from warranty.actions.reassess import reassess_due

BATCH = 500


def reassess_due_standings(work: Work) -> Effect:
    """Reassess, a batch a transaction, every standing that no longer holds."""
    reassessed = 0
    while True:
        with work.writing():
            done = reassess_due(now=work.clock(), limit=BATCH)
        reassessed += done
        work.progress.step(f"{reassessed} standings looked at", steps=done)
        if done < BATCH:
            break

    def count() -> Mapping[str, object]:
        return {"reassessed": reassessed}

    return count
