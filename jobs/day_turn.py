"""The recurring look at what a new day changes, and at what is old enough to go."""

from __future__ import annotations

from collections.abc import Mapping

from fleet.actions.day_turn import follow_new_holders
from fleet.actions.kept_answers import forget_old_answers
from jobs.work import Effect, Work


def turn_the_day(work: Work) -> Effect:
    """Give coaches the holder whose day has come. Safe to run at any time."""

    def effect() -> Mapping[str, object]:
        now = work.clock()
        return {
            "coaches": follow_new_holders(now=now),
            "forgotten_answers": forget_old_answers(now=now),
        }

    return effect
