"""A roof's chain: each entry names the one before, so nothing can be slipped in."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fleet.ledger.canonical import canonical_json, sha256_hex


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """One entry as it is stored."""

    seq: int
    kind: str
    payload: str
    payload_sha256: str
    previous_sha256: str
    entry_sha256: str
    recorded_at: str  # UTC, ISO 8601 with microseconds


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """The first thing wrong with a chain."""

    seq: int
    reason: str


def entry_sha256(
    *,
    roof: str,
    seq: int,
    kind: str,
    payload_sha256: str,
    previous_sha256: str,
    recorded_at: str,
) -> str:
    """Return the hash of one entry over its place, its payload and its predecessor.

    Parameters
    ----------
    roof : str
        The roof's UUID.
    seq : int
        Position in the roof's chain, from 1 and without gaps.
    kind : str
        What was recorded.
    payload_sha256, previous_sha256 : str
        Hexadecimal; the first entry's predecessor is the empty text.
    recorded_at : str
        UTC, ISO 8601 with microseconds.

    Notes
    -----
    Project convention: SHA-256 of the canonical JSON of these six values.
    """
    return sha256_hex(
        canonical_json(
            {
                "kind": kind,
                "payload": payload_sha256,
                "previous": previous_sha256,
                "recorded_at": recorded_at,
                "roof": roof,
                "seq": seq,
            }
        )
    )


def first_fault(roof: str, links: Iterable[Link]) -> Fault | None:
    """Return the first fault of a chain given in ``seq`` order, or None."""
    expected_seq, previous = 1, ""
    for link in links:
        reason = _fault_of(roof, link, expected_seq, previous)
        if reason:
            return Fault(seq=link.seq, reason=reason)
        expected_seq, previous = expected_seq + 1, link.entry_sha256
    return None


def _fault_of(roof: str, link: Link, expected_seq: int, previous: str) -> str:
    if link.seq != expected_seq:
        return f"entry {expected_seq} is missing"
    if link.previous_sha256 != previous:
        return "it does not name the entry before it"
    if link.payload_sha256 != sha256_hex(link.payload):
        return "its payload was changed"
    recomputed = entry_sha256(
        roof=roof,
        seq=link.seq,
        kind=link.kind,
        payload_sha256=link.payload_sha256,
        previous_sha256=link.previous_sha256,
        recorded_at=link.recorded_at,
    )
    if link.entry_sha256 != recomputed:
        return "its own hash does not fit its content"
    return ""
