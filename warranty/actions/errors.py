"""What the actions of this room refuse."""

from __future__ import annotations

from fleet.errors import DomainError


class TermsNotValid(DomainError):
    """The edition cannot be promised as written."""

    code = "terms-not-valid"


class EditionPublished(DomainError):
    """A published edition never changes."""

    code = "edition-published"
    http_status = 409


class ClaimKnown(DomainError):
    """The claim's reference is taken."""

    code = "claim-known"
    http_status = 409


class NoPromise(DomainError):
    """The roof has no terms assigned, so there is nothing to claim against."""

    code = "no-promise"
    http_status = 409
