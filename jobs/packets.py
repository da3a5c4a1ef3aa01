"""Claim packets, rendered later."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID, uuid4

from fleet.actions.users import user_or_register
from fleet.errors import DomainError
from fleet.models import User
from fleet.selectors.ledger import head_seq_of
from fleet.store import keep
from jobs.models import Lane, Run
from jobs.runs import start
from jobs.work import Effect, Work
from warranty.actions.documents import add_packet
from warranty.documents.packet import claim_packet_pdf
from warranty.models import Claim
from warranty.selectors.claims import claim_by_id
from warranty.selectors.packet.facts import packet_facts

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
        dedupe_key=f"{KIND}:{claim.uuid}:{head_seq_of(claim.roof_id)}",
        owner=claim.holder,
    )


def render_packet(work: Work) -> Effect:
    """Render a claim packet and keep it. Safe to run again: equal facts, equal bytes.

    Raises:
        NothingPromised: the roof has no terms or no completed work.
    """
    claim_id = int(str(work.payload["claim"]))
    packet_id = UUID(str(work.payload["packet"]))
    known_at = datetime.fromisoformat(str(work.payload["known_at"]))
    work.progress.total(3)
    facts = packet_facts(claim_id, packet_id=packet_id, known_at=known_at)
    if facts is None:
        raise NothingPromised(
            "This roof has no terms or no completed work. Record both first."
        )
    work.progress.step("facts gathered")
    pdf = claim_packet_pdf(facts)
    work.progress.step("pages drawn")
    digest = keep(pdf)
    work.progress.step("kept")

    def effect() -> Mapping[str, object]:
        add_packet(
            claim=claim_by_id(claim_id),
            packet_id=packet_id,
            sha256=digest,
            size_bytes=len(pdf),
            known_at=known_at,
            by=user_or_register(work.requested_by_id),
            now=work.clock(),
        )
        return {"packet": str(packet_id), "sha256": digest}

    return effect
