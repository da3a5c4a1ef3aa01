"""Serve pages and do later work on one machine, with one command."""

from __future__ import annotations

import signal
import subprocess
import sys
import threading
import time
from collections import deque
from pathlib import Path
from types import FrameType

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

STOP_WITHIN_S = 30
LOOK_EVERY_S = 0.5
# A runner that dies this often in a minute is not brought back any more.
DEATHS_A_MINUTE = 5


class Command(BaseCommand):
    """Start web and runner together; when one is gone for good, stop the other."""

    help = "Serve the pages and do later work; stops on Ctrl-C or SIGTERM."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--bind", default="127.0.0.1:8000")
        parser.add_argument("--workers", type=int, default=2)

    def handle(self, *, bind: str, workers: int, **_options: object) -> None:
        self.stop = threading.Event()
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._ask_to_stop)
        web = _start(
            "-m",
            "gunicorn",
            "config.wsgi:application",
            f"--bind={bind}",
            f"--workers={workers}",
            f"--graceful-timeout={STOP_WITHIN_S}",
            "--log-level=warning",
        )
        self.children = [web, _start_runner()]
        self.stdout.write(f"Roof Register answers at http://{bind}/ (Ctrl-C stops it).")
        self.stdout.flush()
        try:
            reason = self._watch()
        finally:
            _stop_all(self.children)
        if reason:
            raise CommandError(reason)

    def _watch(self) -> str:
        """Wait until asked to stop; return why it cannot go on, or an empty text."""
        deaths: deque[float] = deque(maxlen=DEATHS_A_MINUTE)
        while not self.stop.wait(LOOK_EVERY_S):
            web, runner = self.children
            if web.poll() is not None:
                return f"The web process ended with code {web.returncode}."
            if runner.poll() is None:
                continue
            now_s = time.monotonic()
            deaths.append(now_s)
            if len(deaths) == DEATHS_A_MINUTE and now_s - deaths[0] < 60:
                return f"The runner ended {DEATHS_A_MINUTE} times within a minute."
            self.stderr.write(f"The runner ended with code {runner.returncode}; again.")
            self.children[1] = _start_runner()
        return ""

    def _ask_to_stop(self, _number: int, _frame: FrameType | None) -> None:
        self.stop.set()


def _start(*arguments: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(  # noqa: S603 - this very Python, fixed arguments
        [sys.executable, *arguments], cwd=settings.BASE_DIR
    )


def _start_runner() -> subprocess.Popen[bytes]:
    return _start(str(Path("manage.py")), "runner", "--with-parent")


def _stop_all(children: list[subprocess.Popen[bytes]]) -> None:
    for child in children:
        if child.poll() is None:
            child.terminate()
    deadline_s = time.monotonic() + STOP_WITHIN_S
    for child in children:
        try:
            child.wait(timeout=max(0.1, deadline_s - time.monotonic()))
        except subprocess.TimeoutExpired:
            child.kill()
            child.wait()
