"""Which part of a signed packet a byte belongs to."""

from __future__ import annotations

import re
from dataclasses import dataclass

ATTACHMENT = re.compile(
    rb"/Type /EmbeddedFile\b.*?\nstream\n(.*?)\nendstream", re.DOTALL
)
SIGNATURE = re.compile(rb"/Contents <([0-9A-Fa-f]*?)(0*)>\n/ByteRange (\[[0-9 ]+\] *)")
STEP_BYTES = 65536


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A stretch of the file, from its first byte up to but without its last place."""

    name: str
    start: int
    stop: int


def parts_of(packet: bytes, *, body_bytes: int) -> tuple[Part, ...]:
    """Return the parts of a whole packet that have a name of their own.

    Parameters
    ----------
    packet : bytes
        A signed packet as it was stored.
    body_bytes : int
        How many bytes of it are its pages. [B]
    """
    parts = [Part(name="pages", start=0, stop=body_bytes)]
    attached = ATTACHMENT.search(packet, body_bytes)
    if attached:
        start, stop = attached.span(1)
        parts.append(Part(name="attached manifest", start=start, stop=stop))
    signed = SIGNATURE.search(packet, body_bytes)
    if signed:
        names = ("signature", "padding of the signature", "range of signed bytes")
        for group, name in enumerate(names, start=1):
            start, stop = signed.span(group)
            parts.append(Part(name=name, start=start, stop=stop))
    return tuple(parts)


def part_at(parts: tuple[Part, ...], place: int) -> str:
    """Return the name of the part that holds a byte."""
    for part in parts:
        if part.start <= place < part.stop:
            return part.name
    return "signature field and closing tables"


def first_difference(one: bytes, other: bytes) -> int | None:
    """Return the first place at which two files differ, or None where none does."""
    for start in range(0, max(len(one), len(other)), STEP_BYTES):
        left, right = (each[start : start + STEP_BYTES] for each in (one, other))
        if left != right:
            pairs = enumerate(zip(left, right, strict=False))
            shorter = min(len(left), len(right))
            return start + next((at for at, (a, b) in pairs if a != b), shorter)
    return None
