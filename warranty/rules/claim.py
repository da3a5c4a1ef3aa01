"""The moves a claim may make, in one table."""

from __future__ import annotations

from enum import StrEnum
from typing import Final


class ClaimStatus(StrEnum):
    """Where a claim stands."""

    REPORTED = "REPORTED"
    DECIDED = "DECIDED"
    REMEDIED = "REMEDIED"
    CLOSED = "CLOSED"
    WITHDRAWN = "WITHDRAWN"


# A reopened claim is a reported one again; its earlier decision stays on record.
ALLOWED: Final[dict[ClaimStatus, frozenset[ClaimStatus]]] = {
    ClaimStatus.REPORTED: frozenset({ClaimStatus.DECIDED, ClaimStatus.WITHDRAWN}),
    ClaimStatus.DECIDED: frozenset(
        {ClaimStatus.REMEDIED, ClaimStatus.CLOSED, ClaimStatus.REPORTED}
    ),
    ClaimStatus.REMEDIED: frozenset({ClaimStatus.CLOSED, ClaimStatus.REPORTED}),
    ClaimStatus.CLOSED: frozenset({ClaimStatus.REPORTED}),
    ClaimStatus.WITHDRAWN: frozenset({ClaimStatus.REPORTED}),
}


def is_allowed(source: ClaimStatus, target: ClaimStatus) -> bool:
    """Return whether a claim may go from ``source`` to ``target``."""
    return target in ALLOWED[source]
