"""Run the program that decodes a picture, in a process under limits of its own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

from fleet.exhibits.limits import DECODER_WALL_S
from fleet.exhibits.sniff import MediaType


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """One copy that was written."""

    edge_px: int
    width_px: int
    height_px: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Developed:
    """What the program made of a picture."""

    outcome: str  # DEVELOPED, UNREADABLE or NO_DECODER
    reason: str = ""
    likeness: int | None = None
    sizes: tuple[Size, ...] = ()
    peak_bytes: int = 0


def develop_apart(source: Path, media_type: MediaType, folder: Path) -> Developed:
    """Have a picture's copies written into a folder by a process of its own.

    Whatever the picture does to that process, this one only reads its answer. The
    program gets no environment: it needs no secret, so it is given none.
    """
    command = [
        sys.executable,
        "-m",
        "fleet.exhibits.develop",
        str(source),
        media_type.value,
        str(folder),
    ]
    try:
        done = subprocess.run(  # noqa: S603 - our own program, on a file we named
            command,
            cwd=settings.BASE_DIR,
            env={"PATH": os.environ.get("PATH", os.defpath), "LC_ALL": "C.UTF-8"},
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=DECODER_WALL_S,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return Developed(outcome="UNREADABLE", reason="It took too long to decode.")
    if done.returncode != 0:
        return Developed(
            outcome="UNREADABLE",
            reason=f"Its decoder was stopped or failed (code {done.returncode}).",
        )
    return _answer(done.stdout)


def _answer(line: bytes) -> Developed:
    answer = json.loads(line)
    return Developed(
        outcome=answer["outcome"],
        reason=answer.get("reason", ""),
        likeness=answer.get("likeness"),
        sizes=tuple(
            Size(
                edge_px=copy["edge_px"],
                width_px=copy["width"],
                height_px=copy["height"],
            )
            for copy in answer.get("copies", ())
        ),
        peak_bytes=answer["peak_bytes"],
    )
