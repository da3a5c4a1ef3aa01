"""The recurring look at what a new day changes."""

from __future__ import annotations

from collections.abc import Mapping

from fleet.actions.day_turn import follow_new_holders
from jobs.work import Effect, Work


def turn_the_day(work: Work) -> Effect:
    """Give coaches the holder whose day has come. Safe to run at any time."""

    def effect() -> Mapping[str, object]:
        return {"coaches": follow_new_holders(now=work.clock())}

    return effect
