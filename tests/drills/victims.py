"""Processes that are killed and started again, and what is known of each kill."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from django.conf import settings

PATIENCE_S = 120


@dataclass(slots=True, kw_only=True)
class Victim:
    """One process in a group of its own, started again after each kill."""

    name: str
    command: Sequence[str]
    environment: Mapping[str, str] = field(default_factory=dict)
    kills: int = 0
    process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it; its words go where the drill's do."""
        self.process = subprocess.Popen(  # noqa: S603 - our own programs
            list(self.command),
            cwd=settings.BASE_DIR,
            env={**os.environ, **self.environment},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )

    def kill(self) -> None:
        """Kill the whole group at once, as a power cut would."""
        assert self.process is not None
        if self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait(timeout=PATIENCE_S)
        self.kills += 1

    def stop(self) -> None:
        """End it for good."""
        if self.process is not None and self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait(timeout=PATIENCE_S)

    def freeze(self) -> None:
        """Stop it where it stands."""
        assert self.process is not None
        os.killpg(self.process.pid, signal.SIGSTOP)

    @property
    def is_up(self) -> bool:
        """Whether it runs."""
        return self.process is not None and self.process.poll() is None


def later(name: str, *arguments: str, **environment: str) -> Victim:
    """Return a process of later work."""
    return Victim(
        name=name,
        command=(sys.executable, "-m", "tests.drills.later_process", *arguments),
        environment=environment,
    )


def web(port: int, **environment: str) -> Victim:
    """Return a web process."""
    bind = f"127.0.0.1:{port}"
    return Victim(
        name="web",
        command=(
            *(sys.executable, "-m", "gunicorn", "config.wsgi:application"),
            *(f"--bind={bind}", "--workers=1", "--log-level=error"),
        ),
        environment={**environment, "ROOFREG_SITE_URL": f"http://{bind}"},
    )


def redis(port: int, folder: str) -> Victim:
    """Return a Redis that keeps nothing: killed, it has forgotten everything."""
    return Victim(
        name="redis",
        command=(
            shutil.which("redis-server") or "redis-server",
            *("--bind", "127.0.0.1", "--port", str(port), "--dir", folder),
            *("--save", "", "--appendonly", "no"),
        ),
    )


def percentile(values: Sequence[float], share: float) -> float:
    """Return the value that so large a share lies at or below; 0 for none."""
    if not values:
        return 0.0
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def monotonic_s() -> float:
    """Return a clock that only runs forward. [s]"""
    return time.monotonic()
