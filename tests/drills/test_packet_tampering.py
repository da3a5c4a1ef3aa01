"""Signed packets with one byte changed, removed, inserted or appended, and untouched.

Every one that was touched is found by both verifiers, and none of the others accused:
the command that has the ledger, and the stand-alone program that has the file alone.
"""

from __future__ import annotations

import os
import random
from dataclasses import dataclass

import pytest

from fleet import store
from fleet.actions.checkpoints import make_checkpoint
from jobs.packet_check import check_packet
from jobs.packet_layout import Part, parts_of
from tests.builders import NOON, make_claim, make_promised_roof
from tests.packets.signing import offline, rendered

PACKETS = int(os.environ.get("TAMPERED_PACKETS", "48"))
# So many different packets are made; the turns take copies of them.
MADE = 3 if PACKETS < 500 else 20
pytestmark = [pytest.mark.django_db, pytest.mark.slow]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A stored packet and the parts that a byte is touched in."""

    content: bytes
    parts: tuple[Part, ...]


@pytest.fixture
def kept(signing_key) -> list[Kept]:
    """Packets of several roofs, made before and after a checkpoint was signed."""
    claims = [make_claim(make_promised_roof()) for _ in range(MADE)]
    found = [rendered(claim) for claim in claims[: MADE // 2]]
    make_checkpoint(now=NOON)
    found += [rendered(claim) for claim in claims[MADE // 2 :]]
    return [_kept(store.fetch(each.sha256)) for each in found]


def _kept(content: bytes) -> Kept:
    body_bytes = content.index(b"%%EOF\n") + 6
    tables = content.index(b"\nxref\n", body_bytes)
    trailer = Part(name="trailer", start=tables, stop=len(content))
    return Kept(
        content=content, parts=(*parts_of(content, body_bytes=body_bytes), trailer)
    )


def touched(rng: random.Random, content: bytes, part: Part, deed: str) -> bytes:
    """Return the content with one byte touched, often in a way that readers forgive."""
    at = rng.randrange(part.start, part.stop)
    forgiven = [*b" \n0", content[at] ^ 32, content[at]]
    byte = bytes([rng.choice([rng.randrange(256), *forgiven])])
    if deed == "changed":
        other = bytes([content[at] ^ rng.choice([1, 32])])
        new = byte if byte[0] != content[at] else other
        return content[:at] + new + content[at + 1 :]
    if deed == "removed":
        return content[:at] + content[at + 1 :]
    return content[:at] + byte + content[at:]


def test_every_touched_packet_is_found_by_both(kept, signing_key, tmp_path):
    rng, missed, seen = random.Random(20260601), [], set()  # noqa: S311 - no secret
    path = tmp_path / "packet.pdf"
    for turn in range(PACKETS):
        whole = kept[turn % len(kept)]
        part = whole.parts[turn % len(whole.parts)]
        deed = rng.choice(["changed", "removed", "inserted", "appended"])
        content = (
            whole.content + bytes([rng.choice(b"\n\0 %A")])
            if deed == "appended"
            else touched(rng, whole.content, part, deed)
        )
        path.write_bytes(content)
        seen.add((part.name, deed))
        code, said = offline(path, signing_key.public_key)
        if check_packet(content).is_whole or code != 1:
            missed.append((turn, part.name, deed, code, said))

    assert missed == []
    assert {name for name, _ in seen} == {
        "pages",
        "attached manifest",
        "signature",
        "padding of the signature",
        "range of signed bytes",
        "trailer",
    }


def test_no_untouched_packet_is_accused(kept, signing_key, tmp_path):
    accused = []
    for turn in range(PACKETS):
        path = tmp_path / f"{turn % 50}.pdf"
        path.write_bytes(kept[turn % len(kept)].content)
        verdict = check_packet(path.read_bytes())
        code, said = offline(path, signing_key.public_key)
        if not verdict.is_whole or code != 0:
            accused.append((turn, verdict, said))

    assert accused == []
