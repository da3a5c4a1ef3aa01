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


class EditionKnown(DomainError):
    """The edition's code is taken."""

    code = "edition-known"
    http_status = 409


class DraftMovedOn(DomainError):
    """Somebody else changed or published the draft first."""

    code = "draft-moved-on"
    http_status = 409


class LawNotMet(DomainError):
    """The edition breaks rules of the law's checklist; ``errors`` names each."""

    code = "law-not-met"


class ClaimKnown(DomainError):
    """The claim's reference is taken."""

    code = "claim-known"
    http_status = 409


class NoPromise(DomainError):
    """The roof has no terms assigned, so there is nothing to claim against."""

    code = "no-promise"
    http_status = 409


class ClaimMovedOn(DomainError):
    """The claim is no longer where this move starts."""

    code = "claim-moved-on"
    http_status = 409


class DecisionNotCarried(DomainError):
    """The clauses do not carry the decision; ``field`` names what is wrong."""

    code = "decision-not-carried"
    http_status = 409

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message, field=field)


class RecordsChanged(DomainError):
    """The records say something else than what was looked at."""

    code = "records-changed"
    http_status = 409


class NothingProposed(DomainError):
    """No answer waits for a second person."""

    code = "nothing-proposed"
    http_status = 409


class SamePerson(DomainError):
    """The second person has to be another one."""

    code = "same-person"
    http_status = 409


class MoreThanApproved(DomainError):
    """The remedies would cost more than was approved."""

    code = "more-than-approved"
    http_status = 409


class ClockNotSo(DomainError):
    """The claim's clock stands, or runs, already."""

    code = "clock-not-so"
    http_status = 409
