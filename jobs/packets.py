"""Claim packets, asked for now and rendered later."""

from __future__ import annotations

from datetime import datetime
from uuid import uuid4

from fleet.errors import DomainError
from fleet.models import User
from jobs.models import Lane, Run
from jobs.runs import start
from warranty.models import Claim
from warranty.selectors.certificates import last_told_seq

KIND = "claim_packet"


class NothingPromised(DomainError):
    """The roof has no terms or no completed work: there is nothing to print."""

    code = "nothing-promised"
    http_status = 409


def request_packet(*, claim: Claim, by: User, now: datetime) -> Run:
    """Ask for a claim's packet; asked again with nothing new recorded, it is the same.

    What the packet knows is fixed here: a record that comes later is not in it.
    """
    return start(
        kind=KIND,
        payload={
            "claim": claim.pk,
            "packet": str(uuid4()),
            "known_at": now.isoformat(),
        },
        by=by,
        now=now,
        lane=Lane.HEAVY,
        dedupe_key=f"{KIND}:{claim.uuid}:{last_told_seq(claim.roof_id)}",
        owner=claim.holder,
    )
