"""Do the later work of one machine, without a broker."""

from __future__ import annotations

import logging
import os
import signal
import socket
import threading
from types import FrameType

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import Error as DatabaseError
from django.db import close_old_connections, connection

from jobs import tasks
from jobs.lanes import Lanes

logger = logging.getLogger(__name__)

# Shorter than what `serve` and the compose file give before they kill.
FINISH_WITHIN_S = 25.0


class Command(BaseCommand):
    """Sweep the rows of each lane twice a second until asked to stop."""

    help = "Do later work in place, beside the web process; stops on SIGTERM."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--every", type=float, default=0.5, help="seconds between two sweeps"
        )
        parser.add_argument(
            "--with-parent",
            action="store_true",
            help="stop when the process that started this one is gone",
        )

    def handle(self, *, every: float, with_parent: bool, **_options: object) -> None:
        stop = threading.Event()
        parent = os.getppid()

        def ask_to_stop(signum: int, _frame: FrameType | None) -> None:
            stop.set()

        def is_stopping() -> bool:
            return stop.is_set() or (with_parent and os.getppid() != parent)

        signal.signal(signal.SIGTERM, ask_to_stop)
        signal.signal(signal.SIGINT, ask_to_stop)
        name = f"{socket.gethostname()}:{os.getpid()}"
        around = tasks.surroundings(is_stopping)
        lanes = Lanes(around=around, every_s=every, stop=stop)
        logger.info("Runner %s looks for later work every %s s.", name, every)
        lanes.start()
        while not is_stopping():
            try:
                close_old_connections()
                tasks.keep_time(name=name, around=around)
            except DatabaseError:
                # The database is away or busy: whatever was held comes back by lease.
                logger.exception("The database did not answer; trying again.")
                connection.close()
            stop.wait(every)
        stop.set()
        if not lanes.join(FINISH_WITHIN_S):
            logger.warning("Runner %s left work under way; its lease runs out.", name)
        if lanes.broken.is_set():
            raise CommandError("A lane's thread broke; see the log above.")
        logger.info("Runner %s has stopped.", name)
