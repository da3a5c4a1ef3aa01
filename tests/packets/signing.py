"""A register that signs: make packets as the runner does, and check them offline."""

from __future__ import annotations

import contextlib
import io
from pathlib import Path

from jobs import packets, relay
from jobs.models import RunState
from jobs.registry import HANDLERS
from tests.builders import NOON, office
from tests.checkpoints.bundle_case import verifier
from warranty.models import Claim, Document


def rendered(claim: Claim) -> Document:
    """Ask for a claim's packet and have it made."""
    run = packets.request_packet(claim=claim, by=office(), now=NOON)
    relay.sweep(
        relay.Surroundings(handlers=HANDLERS, clock=lambda: NOON, jitter=lambda: 0.0)
    )
    run.refresh_from_db()
    assert run.state == RunState.DONE, run.last_error
    return Document.objects.get(uuid=run.result["packet"])


def offline(path: Path, key: str) -> tuple[int, str]:
    """Return the exit code of the stand-alone program and what it printed."""
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        code = verifier.main([str(path), "--key", key])
    return code, said.getvalue()
