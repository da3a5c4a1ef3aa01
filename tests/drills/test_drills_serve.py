"""One command serves pages and does later work, and stops both."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from django.conf import settings

from tests.drills.processes import PATIENCE_S, wait_until
from tests.services import free_port

pytestmark = pytest.mark.slow


@contextmanager
def serving(database: str, port: int) -> Iterator[subprocess.Popen[str]]:
    bind = f"127.0.0.1:{port}"
    process = subprocess.Popen(  # noqa: S603 - our own program
        [sys.executable, "manage.py", "serve", f"--bind={bind}"],
        cwd=settings.BASE_DIR,
        env={
            **os.environ,
            "ROOFREG_DATABASE_URL": database,
            "ROOFREG_SITE_URL": f"http://{bind}",
        },
        stdout=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    try:
        yield process
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
        process.wait(timeout=PATIENCE_S)
        process.stdout.close()


def children_of(pid: int) -> list[tuple[int, str]]:
    """Return the processes started by ``pid`` with their command lines."""
    listed = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    return [
        (int(child), Path(f"/proc/{child}/cmdline").read_text().replace("\0", " "))
        for child in listed
    ]


def runner_of(pid: int) -> int | None:
    """Return the process id of the runner that serves beside the web process."""
    found = [child for child, line in children_of(pid) if "manage.py runner" in line]
    return found[0] if found else None


def later_work(port: int) -> dict[str, object] | None:
    """Return what the service says about its later work, once it answers."""
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/readyz") as answer:
            return json.load(answer)["later_work"]
    except (urllib.error.URLError, ConnectionError):
        return None


def test_web_and_runner_start_and_stop_together(shared_database):
    port = free_port()
    with serving(shared_database, port) as service:
        wait_until(
            lambda: later_work(port) is not None, within_s=PATIENCE_S, what="ready"
        )
        children = [child for child, _ in children_of(service.pid)]

        service.terminate()

        assert service.wait(timeout=PATIENCE_S) == 0
        assert f"http://127.0.0.1:{port}/" in service.stdout.read()
    assert len(children) == 2
    assert not any(Path(f"/proc/{child}").exists() for child in children)


def test_a_runner_that_died_is_started_again(shared_database):
    port = free_port()
    with serving(shared_database, port) as service:
        wait_until(
            lambda: runner_of(service.pid), within_s=PATIENCE_S, what="the runner"
        )
        first = runner_of(service.pid)

        os.kill(first, signal.SIGKILL)

        wait_until(
            lambda: runner_of(service.pid) not in {None, first},
            within_s=PATIENCE_S,
            what="another runner",
        )


def test_a_web_process_that_cannot_start_ends_the_service(shared_database):
    port = free_port()
    with serving(shared_database, port):
        wait_until(
            lambda: later_work(port) is not None, within_s=PATIENCE_S, what="ready"
        )

        with serving(shared_database, port) as second:
            assert second.wait(timeout=PATIENCE_S) == 1
