"""Send files to the API as a program does, and do the later work."""

from __future__ import annotations

from datetime import timedelta
from uuid import UUID, uuid4

from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart
from django.utils import timezone

from fleet.models import Roof
from jobs.registry import HANDLERS
from jobs.relay import Surroundings, sweep
from tests.jobs.later import HandClock


def body_of(roof: Roof, content: bytes, name: str = "IMG_1.jpg", **facts) -> bytes:
    file = SimpleUploadedFile(name, content, "application/x-something")
    return encode_multipart(BOUNDARY, {"roof": str(roof.uuid), "file": file, **facts})


def send(
    client: Client, roof: Roof, content: bytes, uuid: UUID | None = None, **facts
) -> HttpResponse:
    """Put one file; its name and declared type say nothing true."""
    return client.put(
        f"/api/v1/exhibits/{uuid or uuid4()}",
        body_of(roof, content, **facts),
        content_type=MULTIPART_CONTENT,
    )


def do_later_work(clock: HandClock | None = None) -> int:
    """Do everything that waits."""
    # The API notes its runs by the real clock.
    soon = clock or HandClock(timezone.now() + timedelta(minutes=1))
    return sweep(Surroundings(handlers=HANDLERS, clock=soon, jitter=lambda: 0.0))


def status_of(client: Client, address: str) -> int:
    """Return the status of an answer and let go of its file.

    Read to its end, which closes it and keeps the test's own transaction open.
    """
    answer = client.get(address)
    if answer.streaming:
        for _ in answer.streaming_content:
            pass
    return answer.status_code
