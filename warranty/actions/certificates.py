"""Issue certificates: a fact in the roof's ledger, and the bytes that go with it."""

from __future__ import annotations

import secrets
from datetime import datetime
from typing import Final
from uuid import UUID

from fleet.actions.recording import recording
from fleet.actions.roofs import record
from fleet.errors import DomainError
from fleet.models import Roof, User
from warranty.documents.certificate_facts import CertificateFacts
from warranty.models import Certificate, Document, DocumentKind, Edition
from warranty.selectors.editions import edition_checks

# Crockford's base 32: no I, L, O or U, so that a number can be read out. 100 bits.
_LETTERS: Final = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_GROUPS, _GROUP_LETTERS = 4, 5


class CertificateNotLawful(DomainError):
    """The edition leaves out what a certificate has to say; ``errors`` names each."""

    code = "certificate-not-lawful"
    http_status = 409


def new_number() -> str:
    """Return a certificate's number, drawn so that nobody can guess it."""
    return "-".join(
        "".join(secrets.choice(_LETTERS) for _ in range(_GROUP_LETTERS))
        for _ in range(_GROUPS)
    )


def refuse_unlawful(edition: Edition) -> None:
    """Refuse to certify under an edition that leaves out what the law asks.

    Raises:
        CertificateNotLawful: the checklist finds errors.
    """
    errors = [result for result in edition_checks(edition) if result.is_error]
    if errors:
        missing = "; ".join(f"{r.rule.title} ({r.rule.citation})" for r in errors)
        raise CertificateNotLawful(
            f"Edition {edition.code} lacks what a certificate must say: {missing}."
            " Draft and publish an edition that says it, then assign it to the roof."
        )


def issue_certificate(
    *,
    roof: Roof,
    edition: Edition,
    uuid: UUID,
    facts: CertificateFacts,
    sha256: str,
    size_bytes: int,
    by: User,
    now: datetime,
) -> Document:
    """Record a certificate whose bytes are in the store; the same one once."""
    with recording(by=by, now=now) as made:
        made.lock([roof.pk])
        known = Document.objects.filter(uuid=uuid).first()
        if known is not None:
            return known
        fact = Certificate(
            uuid=uuid,
            number=facts.number,
            edition=edition,
            holder=roof.coach.holder,
            issued_on=facts.issued_on,
            content_sha256=facts.content_sha256,
        )
        record(roof=roof, kind="certificate", facts=[fact], by=by, now=now)
        made.flush()
        document = Document.objects.create(
            uuid=uuid,
            kind=DocumentKind.CERTIFICATE,
            certificate=fact,
            sha256=sha256,
            size_bytes=size_bytes,
            known_at=facts.known_at,
            rendered_at=now,
        )
        kept: dict[str, object] = {
            "type": "document",
            "uuid": str(uuid),
            "kind": document.kind,
            "sha256": sha256,
        }
        made.note(roof.pk, "document", [kept])
    return document
