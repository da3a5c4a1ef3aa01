"""Certificates, rendered later and kept for good."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID, uuid4

from fleet.actions.users import user_or_register
from fleet.models import Roof, User
from fleet.selectors.scopes import roof_by_id
from fleet.store import keep
from jobs.models import Lane, Run
from jobs.packets import NothingPromised
from jobs.runs import start
from jobs.work import Effect, Work
from warranty.actions.certificates import (
    issue_certificate,
    new_number,
    refuse_unlawful,
)
from warranty.documents.certificate import certificate_pdf
from warranty.selectors.certificates import certificate_facts, last_told_seq
from warranty.selectors.terms import edition_promised

KIND = "certificate"


def request_certificate(*, roof: Roof, by: User, now: datetime) -> Run:
    """Ask for a roof's certificate; asked again with nothing new, it is the same run.

    What it knows and its number are fixed here.

    Raises:
        NothingPromised: the roof has no terms or no completed work.
        CertificateNotLawful: the edition leaves out what the law asks.
    """
    edition = edition_promised(roof.pk)
    if edition is None or roof.completed_on is None:
        raise NothingPromised(
            "This roof has no terms or no completed work. Record both first."
        )
    refuse_unlawful(edition)
    return start(
        kind=KIND,
        payload={
            "roof": roof.pk,
            "certificate": str(uuid4()),
            "number": new_number(),
            "known_at": now.isoformat(),
        },
        by=by,
        now=now,
        lane=Lane.DEFAULT,
        dedupe_key=f"{KIND}:{roof.uuid}:{last_told_seq(roof.pk)}",
        owner=roof.coach.holder,
    )


def render_certificate(work: Work) -> Effect:
    """Render a certificate and keep it. Safe to run again: equal facts, equal bytes.

    Raises:
        NothingPromised: the roof has no terms or no completed work.
    """
    roof_id = int(str(work.payload["roof"]))
    certificate_id = UUID(str(work.payload["certificate"]))
    known_at = datetime.fromisoformat(str(work.payload["known_at"]))
    work.progress.total(3)
    facts = certificate_facts(
        roof_id, number=str(work.payload["number"]), known_at=known_at
    )
    edition = edition_promised(roof_id)
    if facts is None or edition is None or edition.code != facts.edition.code:
        raise NothingPromised(
            "The roof's terms changed since. Ask for the certificate again."
        )
    work.progress.step("facts gathered")
    pdf = certificate_pdf(facts)
    work.progress.step("pages drawn")
    digest = keep(pdf)
    work.progress.step("kept")

    def effect() -> Mapping[str, object]:
        issue_certificate(
            roof=roof_by_id(roof_id),
            edition=edition,
            uuid=certificate_id,
            facts=facts,
            sha256=digest,
            size_bytes=len(pdf),
            by=user_or_register(work.requested_by_id),
            now=work.clock(),
        )
        return {"certificate": str(certificate_id), "sha256": digest}

    return effect
