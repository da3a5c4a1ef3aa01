"""Commands behave as a shell expects."""

from __future__ import annotations

import subprocess
import sys

from django.conf import settings


def test_a_reader_who_has_seen_enough_ends_a_command_quietly():
    command = [sys.executable, "manage.py", "help"]
    with subprocess.Popen(  # noqa: S603 - our own program
        command,
        cwd=settings.BASE_DIR,
        env={"ROOFREG_DEBUG": "1", "PATH": ""},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as started:
        started.stdout.close()
        complaint = started.stderr.read()

    assert (started.returncode, complaint) == (141, "")
