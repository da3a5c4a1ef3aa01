"""One or more threads a lane, so that slow work in one lane holds up no other."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final

from django.db import Error as DatabaseError
from django.db import close_old_connections, connection

from jobs import relay
from jobs.models import Lane

logger = logging.getLogger(__name__)

# Notices and webhooks wait for other people's servers; the rest works by itself.
THREADS: Final[Mapping[str, int]] = {
    Lane.DEFAULT: 1,
    Lane.NOTICES: 2,
    Lane.WEBHOOKS: 4,
    Lane.HEAVY: 1,
}


@dataclass(slots=True, kw_only=True)
class Lanes:
    """The threads of one runner. When one breaks, all stop: the service starts anew."""

    around: relay.Surroundings
    every_s: float
    stop: threading.Event
    threads: Mapping[str, int] = field(default_factory=lambda: THREADS)
    broken: threading.Event = field(default_factory=threading.Event)
    _started: list[threading.Thread] = field(default_factory=list)

    def start(self) -> None:
        """Start every lane's threads."""
        for lane, count in self.threads.items():
            for number in range(count):
                thread = threading.Thread(
                    target=self._keep,
                    args=(lambda lane=lane: relay.sweep(self.around, lanes=(lane,)),),
                    name=f"{lane.lower()}-{number + 1}",
                    daemon=True,
                )
                self._started.append(thread)
                thread.start()

    def join(self, within_s: float) -> bool:
        """Wait for the steps under way; return whether every thread has ended."""
        share_s = within_s / max(1, len(self._started))
        for thread in self._started:
            thread.join(share_s)
        return not any(thread.is_alive() for thread in self._started)

    def _keep(self, sweep: Callable[[], int]) -> None:
        try:
            while not self.stop.is_set() and not self.around.is_stopping():
                try:
                    close_old_connections()
                    sweep()
                except DatabaseError:
                    # Away or busy: whatever was held comes back by lease.
                    logger.exception("The database did not answer; trying again.")
                    connection.close()
                self.stop.wait(self.every_s)
        except Exception:
            logger.exception("A lane's thread broke; the runner stops.")
            self.broken.set()
            self.stop.set()
        finally:
            connection.close()
