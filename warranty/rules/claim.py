"""The moves a claim may make, in one table."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class ClaimStatus(StrEnum):
    """Where a claim stands."""

    REPORTED = "REPORTED"
    DECIDED = "DECIDED"
    REMEDIED = "REMEDIED"
    CLOSED = "CLOSED"
    WITHDRAWN = "WITHDRAWN"


class Move(StrEnum):
    """What can be done with a claim once it is reported."""

    DECIDE = "DECIDE"
    REMEDY = "REMEDY"
    CLOSE = "CLOSE"
    WITHDRAW = "WITHDRAW"
    REOPEN = "REOPEN"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """From where a move may start, and where it leads."""

    sources: frozenset[ClaimStatus]
    target: ClaimStatus


def _step(target: ClaimStatus, *sources: ClaimStatus) -> Step:
    return Step(sources=frozenset(sources), target=target)


_S = ClaimStatus
# A reopened claim is a reported one again; its earlier decision stays on record. A
# claim is remedied in as many parts as the work takes.
MOVES: Final[dict[Move, Step]] = {
    Move.DECIDE: _step(_S.DECIDED, _S.REPORTED),
    Move.REMEDY: _step(_S.REMEDIED, _S.DECIDED, _S.REMEDIED),
    Move.CLOSE: _step(_S.CLOSED, _S.DECIDED, _S.REMEDIED),
    Move.WITHDRAW: _step(_S.WITHDRAWN, _S.REPORTED),
    Move.REOPEN: _step(_S.REPORTED, _S.DECIDED, _S.REMEDIED, _S.CLOSED, _S.WITHDRAWN),
}
ALLOWED: Final[dict[ClaimStatus, frozenset[ClaimStatus]]] = {
    status: frozenset(
        step.target
        for step in MOVES.values()
        if status in step.sources and step.target is not status
    )
    for status in ClaimStatus
}


def is_allowed(source: ClaimStatus, target: ClaimStatus) -> bool:
    """Return whether a claim may go from ``source`` to ``target``."""
    return target in ALLOWED[source]


def moves_from(status: ClaimStatus) -> tuple[Move, ...]:
    """Return what may be done with a claim of this status, in the table's order."""
    return tuple(move for move, step in MOVES.items() if status in step.sources)
